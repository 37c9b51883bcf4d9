"""From the rule base to the network of one machine: every cause and every sign at every place it can stand.

Conventions (each a choice a trainer can check in `rules/scales.yaml`):

* *Prior.* The words for "how likely beforehand" are weights. They share out a fixed number of faults per visit over
  all causes that this machine can have, and a cause's share over the places it can act at. So a further cause or a
  further place never makes "no fault" less likely. A rate r becomes the probability 1 - exp(-r).
* *Leak.* A symptom's "sound" word is the probability of seeing it when no cause shows it.
* *Link.* A how-often word is P(sign | this cause alone), leak included, so the net weight is
  (word - sound) / (1 - sound).
* *Stages.* A growing cause is mild or advanced. While it is mild, signs that come later are rarer by whole words.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from lugwright.belief.network import Network
from lugwright.places import AXLES, HANDS, SIDES, UNITS, Place, axle_of, partner, side_of, unit_hand, units_of

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.scales import Frequency
    from lugwright.rulebase.schema import Cause, Shows, Symptom

HOW_OFTEN_DOWN = ("almost-always", "usually", "often", "sometimes", "rarely", "never")

Key = tuple[str, Place]


@dataclass(frozen=True)
class Shift:
    """A factor on the rate of a cause; empty place words mean every place the cause can act at."""

    cause: str
    factor: float
    place: Place = field(default_factory=Place)

    def reaches(self, cause: str, place: Place) -> bool:
        """Whether this shift (or exclusion) concerns a cause at a place."""
        return cause == self.cause and covers(self.place, place)


def covers(pattern: Place, place: Place) -> bool:
    """Whether every word the pattern names is the same in the place.

    >>> covers(Place(unit="left"), Place(unit="left", side="inboard")), covers(Place(hand="left"), Place(hand="right"))
    (True, False)
    """
    pairs = (
        (pattern.unit, place.unit),
        (pattern.axle, place.axle),
        (pattern.side, place.side),
        (pattern.hand, place.hand),
    )
    return all(not wanted or wanted == found for wanted, found in pairs)


@dataclass(frozen=True)
class Ground:
    """The network of one machine with the names of its rows and columns.

    causes: (cause id, place) per row; signs: (symptom id, place) per column; words: the how-often word and stage-free
    net weight of each link, for explanation only.
    """

    causes: tuple[Key, ...]
    signs: tuple[Key, ...]
    network: Network
    words: Mapping[tuple[int, int], str]

    @cached_property
    def sign_index(self) -> dict[Key, int]:
        """Column of each sign."""
        return {key: index for index, key in enumerate(self.signs)}

    @cached_property
    def cause_index(self) -> dict[Key, int]:
        """Row of each cause."""
        return {key: index for index, key in enumerate(self.causes)}

    def linked(self, sign: int) -> list[int]:
        """Rows of the causes that can show a sign."""
        return [int(row) for row in np.flatnonzero(self.network.link[:, :, sign].any(axis=1))]


def cause_places(cause: Cause, layout: str) -> tuple[Place, ...]:
    """Every place a cause can act at on a layout, in a fixed order."""
    if cause.acts_on == "unit":
        sides: tuple[str, ...] = SIDES if cause.oriented == "side" else ("",)
        return tuple(Place(unit=unit, side=side) for unit in UNITS[layout] for side in sides)
    if cause.acts_on == "axle":
        return tuple(Place(axle=axle) for axle in AXLES[layout])
    return tuple(Place(hand=hand) for hand in HANDS) if cause.oriented == "hand" else (Place(),)


def sign_places(symptom: Symptom, layout: str) -> tuple[Place, ...]:
    """Every place a symptom can be noted at on a layout, in a fixed order."""
    if symptom.where == "side":
        return tuple(Place(unit=unit, side=side) for unit in UNITS[layout] for side in SIDES)
    if symptom.where == "unit":
        return tuple(Place(unit=unit) for unit in UNITS[layout])
    if symptom.where == "axle":
        return tuple(Place(axle=axle) for axle in AXLES[layout])
    return (Place(),)


def sound_rate(symptom: Symptom, rates: Mapping[str, float]) -> float:
    """P(sign at one place | sound undercarriage). A per-side sign whose word counts the unit is halved in odds terms.

    `directed` signs (a difference between two sides) can show on one side only, so each side has half the rate;
    other per-side signs have 1 - sqrt(1 - rate), so that the unit shows one on either side as often as the word says.
    """
    rate = rates[symptom.sound]
    if symptom.where != "side" or symptom.sound_counts == "side":
        return rate
    return rate / 2 if symptom.directed else 1 - math.sqrt(1 - rate)


def net_weight(word_rate: float, sound: float, either_sound: float | None = None) -> float:
    """Net noisy-OR weight of a link: what the cause adds beyond the sound rate; zero when the word adds nothing.

    either_sound: for a sign that shows on one side or the other, the sound rate of the unit; the weight is then
    shared so that the *unit* shows the sign as often as the word says.

    >>> round(net_weight(0.75, 0.20), 4), net_weight(0.2, 0.2)
    (0.6875, 0.0)
    """
    if either_sound is not None:
        return 1 - math.sqrt(1 - max(0.0, (word_rate - either_sound) / (1 - either_sound)))
    return max(0.0, (word_rate - sound) / (1 - sound))


def show_places(show: Shows, symptom: Symptom, at: Place, layout: str) -> Iterator[Place]:
    """Where one sign of a cause that acts at `at` is seen."""
    if symptom.where == "machine":
        yield Place()
        return
    units = _units(show, at, layout)
    if symptom.where == "axle":
        yield from (Place(axle=axle) for axle in dict.fromkeys(axle_of(unit) for unit in units))
        return
    for unit in units:
        if symptom.where == "unit":
            yield Place(unit=unit)
        else:
            yield from (Place(unit=unit, side=side) for side in _sides(show, at, unit))


def _units(show: Shows, at: Place, layout: str) -> tuple[str, ...]:
    """The units a link reaches, seen from the place of the cause."""
    home = (at.unit,) if at.unit else units_of(at.axle) if at.axle else UNITS[layout]
    word = show.units
    if word in (None, "own"):
        return home
    if word == "partner":
        return tuple(partner(unit) for unit in home)
    if word == "all":
        return UNITS[layout]
    if word in ("front", "rear"):
        return tuple(unit for unit in home if axle_of(unit) == word)
    return tuple(unit for unit in home if (unit_hand(unit) == at.hand) == (word == "same-hand"))


def _sides(show: Shows, at: Place, unit: str) -> tuple[str, ...]:
    """The sides of a unit a link reaches, seen from the place of the cause."""
    if show.side in ("both", "either"):
        return SIDES
    if show.side in ("inboard", "outboard"):
        return (show.side,)
    same = at.side if at.side else side_of(unit, at.hand)
    return (same,) if show.side == "same" else tuple(side for side in SIDES if side != same)


def applies(entry: Cause | Symptom, layout: str, drive: str) -> bool:
    """Whether a cause or a symptom exists on a machine."""
    return layout in entry.layouts and drive in entry.drives


def _holds(show: Shows, layout: str, drive: str, context: Mapping[str, object]) -> bool:
    if (show.layout or layout) != layout or (show.drive or drive) != drive:
        return False
    return all(context.get(name) == answer for name, answer in show.given.items()) and not any(
        context.get(name) == answer for name, answer in show.unless.items()
    )


def ground_network(
    rulebase: RuleBase,
    layout: str,
    drive: str,
    *,
    context: Mapping[str, object] | None = None,
    shifts: Iterable[Shift] = (),
    excluded: Iterable[Shift] = (),
    extents: Mapping[Key, str] | None = None,
) -> Ground:
    """Build the network of one machine.

    context:  answered context facts; links with `given`/`unless` read them, `visit` picks the rate per visit.
    shifts:   factors on rates, concluded by chaining; excluded: causes ruled out (their factor is not read).
    extents:  extent word of each sign that was seen to an extent.
    Raises    ValueError from `Network` when a number is out of range.
    """
    context = context or {}
    scales = rulebase.scales
    sound_rates: Mapping[str, float] = dict(scales.sound.items())
    how_often: Mapping[str, Frequency] = dict(scales.how_often.items())
    causes = {name: cause for name, cause in sorted(rulebase.causes.items()) if applies(cause, layout, drive)}
    symptoms = {name: sign for name, sign in sorted(rulebase.symptoms.items()) if applies(sign, layout, drive)}
    rows = tuple((name, place) for name, cause in causes.items() for place in cause_places(cause, layout))
    columns = tuple((name, place) for name, sign in symptoms.items() for place in sign_places(sign, layout))
    column = {key: index for index, key in enumerate(columns)}
    stages = list(scales.stages.values())

    prior = np.zeros((len(rows), len(stages)))
    link = np.zeros((len(rows), len(stages), len(columns)))
    leak = np.array([sound_rate(symptoms[name], sound_rates) for name, _ in columns])
    words: dict[tuple[int, int], str] = {}
    against: list[tuple[int, int, float]] = []
    rates = _rates(causes, layout, context, rulebase, tuple(shifts), tuple(excluded))
    for row, (name, place) in enumerate(rows):
        cause = causes[name]
        probability = -math.expm1(-rates[name, place])
        shares = [stage.share for stage in stages] if cause.grows else [0.0] * (len(stages) - 1) + [1.0]
        prior[row] = [probability * share for share in shares]
        for show in (show for show in cause.shows if show.symptom in symptoms and _holds(show, layout, drive, context)):
            symptom = symptoms[show.symptom]
            sound = sound_rate(symptom, sound_rates)
            either = scales.sound[symptom.sound] if show.side == "either" and symptom.sound_counts == "unit" else None
            appears = show.appears or symptom.appears
            for target in show_places(show, symptom, place, layout):
                at = column[show.symptom, target]
                words.setdefault((row, at), show.how_often)
                for index, stage in enumerate(stages):
                    rate = _dropped(show.how_often, stage.drop.get(appears, 0), how_often)
                    weight = net_weight(rate, sound, either)
                    link[row, index, at] = 1 - (1 - link[row, index, at]) * (1 - weight)
        for show in (
            show for show in cause.never_shows if show.symptom in symptoms and _holds(show, layout, drive, context)
        ):
            symptom = symptoms[show.symptom]
            factor = scales.how_often[show.how_often].value / sound_rate(symptom, sound_rates)
            targets = show_places(show, symptom, place, layout)
            against += [(row, column[show.symptom, target], min(1.0, factor)) for target in targets]
    for key, extent in (extents or {}).items():
        if key in column:
            leak[column[key]] *= scales.extents[extent].sound
            link[:, :, column[key]] *= scales.extents[extent].fault
    units, axles = UNITS[layout], AXLES[layout]
    scopes = tuple(
        ("unit", units.index(place.unit))
        if place.unit
        else ("axle", axles.index(place.axle))
        if place.axle
        else ("machine", 0)
        for _, place in rows
    )
    network = Network(
        causes=tuple(f"{name}@{place.key}" for name, place in rows),
        scopes=scopes,
        axle_of_unit=tuple(axles.index(axle_of(unit)) for unit in units),
        signs=tuple(f"{name}@{place.key}" for name, place in columns),
        prior=prior,
        link=link,
        leak=leak,
        against=tuple(against),
    )
    return Ground(rows, columns, network, words)


def _dropped(word: str, by: int, scale: Mapping[str, Frequency]) -> float:
    """The rate of a how-often word after going down some words; below the last word it is zero."""
    index = HOW_OFTEN_DOWN.index(word) + by
    return scale[HOW_OFTEN_DOWN[index]].value if index < len(HOW_OFTEN_DOWN) else 0.0


def _rates(
    causes: Mapping[str, Cause],
    layout: str,
    context: Mapping[str, object],
    rulebase: RuleBase,
    shifts: tuple[Shift, ...],
    excluded: tuple[Shift, ...],
) -> dict[Key, float]:
    """Expected number of faults per visit for each cause at each place."""
    scales = rulebase.scales
    weight = {
        name: scales.beforehand[cause.rarer_on.get(layout, cause.beforehand)]  # type: ignore[call-overload]
        for name, cause in causes.items()
    }
    visit = str(context.get("visit", "complaint"))
    total = scales.rate_per_visit.get(visit, scales.rate_per_visit["complaint"])
    unit_rate = total / sum(weight.values())
    rates: dict[Key, float] = {}
    for name, cause in causes.items():
        places = cause_places(cause, layout)
        for place in places:
            rate = unit_rate * weight[name] / len(places)
            for shift in shifts:
                if shift.reaches(name, place):
                    rate *= shift.factor
            rates[name, place] = 0.0 if any(item.reaches(name, place) for item in excluded) else rate
    return rates
