"""From the rule base to the network of one machine: every cause and every sign at every place it can stand.

Conventions (each a choice a trainer can check in `rules/scales.yaml`):

* *Prior.* The words for "how likely beforehand" are weights. They share out a fixed number of faults per visit over
  all causes that this machine can have, and a cause's share over the places it can act at. So a further cause or a
  further place never makes "no fault" less likely. A rate r becomes the probability 1 - exp(-r).
* *Leak.* A symptom's "sound" word is the probability of seeing it when no cause shows it.
* *Link.* A how-often word is P(sign | this cause alone), leak included, so the net weight is
  (word - sound) / (1 - sound).
* *Stages.* A growing cause has just begun, is mild or advanced. Before it is advanced, signs that come later are rarer
  by whole words.
* *Marks.* A cause that marks both faces of a unit alike either has marked them on this machine or has not, and where
  it has, each face shows it nearly always. The share of machines it has marked follows from its word, so that the word
  still holds for each face. Were each face drawn on its own, such a cause would explain wear on one face only.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from lugwright.belief.marks import marginal_link
from lugwright.belief.network import FloatArray, Mark, Network
from lugwright.belief.placing import (
    applies,
    cause_places,
    holds,
    net_weight,
    show_places,
    sign_places,
    sound_rate,
)
from lugwright.places import AXLES, UNITS, Place, axle_of, covers

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.scales import Frequency, Stage
    from lugwright.rulebase.schema import Cause, Shows, Symptom

__all__ = ["Ground", "Key", "Shift", "applies", "cause_places", "ground_network", "is_even", "net_weight",
           "show_places", "sign_places", "sound_rate"]  # fmt: skip

#: The word for a sign that is there as soon as the fault is.
BEFORE_WEAR = "before-wear"
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


@dataclass(frozen=True)
class Ground:
    """The network of one machine with the names of its rows and columns.

    harmless: rows of conditions that are normal on a sound machine.
    causes: (cause id, place) per row; signs: (symptom id, place) per column; words: the how-often word and stage-free
    net weight of each link, for explanation only.
    """

    causes: tuple[Key, ...]
    signs: tuple[Key, ...]
    network: Network
    words: Mapping[tuple[int, int], str]
    harmless: frozenset[int] = frozenset()

    @cached_property
    def sign_index(self) -> dict[Key, int]:
        """Column of each sign."""
        return {key: index for index, key in enumerate(self.signs)}

    @cached_property
    def cause_index(self) -> dict[Key, int]:
        """Row of each cause."""
        return {key: index for index, key in enumerate(self.causes)}

    @cached_property
    def shows(self) -> FloatArray:
        """P(cause at a stage shows a sign), marks summed over: (causes, stages, signs)."""
        return marginal_link(self.network)

    def linked(self, sign: int) -> list[int]:
        """Rows of the causes that can show a sign."""
        return [int(row) for row in np.flatnonzero(self.shows[:, :, sign].any(axis=1))]


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
    unlinked: list[tuple[int, int, int, float]] = []  # row, stage, column, 1 - weight
    leak = np.array([sound_rate(symptoms[name], sound_rates) for name, _ in columns])
    nearly_always = how_often["almost-always"].value
    words: dict[tuple[int, int], str] = {}
    against: list[tuple[int, int, float]] = []
    marks: list[Mark] = []
    rates = _rates(causes, layout, context, rulebase, tuple(shifts), tuple(excluded))
    for row, (name, place) in enumerate(rows):
        cause = causes[name]
        probability = -math.expm1(-rates[name, place])
        shows = [one for one in cause.shows if one.symptom in symptoms and holds(one, layout, drive, context)]
        early = any((one.appears or symptoms[one.symptom].appears) == BEFORE_WEAR for one in shows)
        prior[row] = [probability * share for share in _shares(stages, cause.grows, early)]
        for show in shows:
            symptom = symptoms[show.symptom]
            sound = sound_rate(symptom, sound_rates)
            appears = show.appears or symptom.appears
            by_stage = [_dropped(show.how_often, stage.drop.get(appears, 0), how_often) for stage in stages]
            targets = [column[show.symptom, target] for target in show_places(show, symptom, place, layout)]
            words |= {(row, at): words.get((row, at), show.how_often) for at in targets}
            if is_even(show, symptom) and targets:
                marked = np.clip([(rate - sound) / (nearly_always - sound) for rate in by_stage], 0.0, 1.0)
                weight = np.full(len(targets), net_weight(nearly_always, sound))
                marks.append(Mark(row, marked, tuple(targets), weight))
                continue
            halved = show.side == "either" and symptom.sound_counts == "unit"
            either = sound_rates[symptom.sound] if halved else None
            for index, rate in enumerate(by_stage):
                left = 1 - net_weight(rate, sound, either)
                unlinked += [(row, index, at, left) for at in targets]
        for show in (
            one for one in cause.never_shows if one.symptom in symptoms and holds(one, layout, drive, context)
        ):
            symptom = symptoms[show.symptom]
            factor = scales.how_often[show.how_often].value / sound_rate(symptom, sound_rates)
            speaking = show_places(show, symptom, place, layout)
            against += [(row, column[show.symptom, target], min(1.0, factor)) for target in speaking]
    link = _links((len(rows), len(stages), len(columns)), unlinked)
    for key, extent in (extents or {}).items():
        if key in column:
            leak[column[key]] *= scales.extents[extent].sound
            link[:, :, column[key]] *= scales.extents[extent].fault
            marks = [_to_extent(mark, column[key], scales.extents[extent].fault) for mark in marks]
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
        marks=tuple(marks),
    )
    harmless = frozenset(row for row, (name, _) in enumerate(rows) if causes[name].harmless)
    return Ground(rows, columns, network, words, harmless)


def is_even(show: Shows, symptom: Symptom) -> bool:
    """Whether a link marks both faces of a unit alike."""
    return show.side == "both" and symptom.where == "side"


def _links(shape: tuple[int, int, int], unlinked: Sequence[tuple[int, int, int, float]]) -> FloatArray:
    """The link array; two links of one cause to one place count as two chances."""
    stays = np.ones(shape)
    if unlinked:
        row, stage, at, left = zip(*unlinked, strict=True)
        np.multiply.at(stays, (row, stage, at), left)
    links: FloatArray = 1 - stays
    return links


def _to_extent(mark: Mark, sign: int, factor: float) -> Mark:
    """A mark whose weight on one sign is scaled to the extent that was seen."""
    if sign not in mark.signs:
        return mark
    scale = np.where(np.array(mark.signs) == sign, factor, 1.0)
    return Mark(mark.cause, mark.share, mark.signs, mark.weight * scale)


def _shares(stages: Sequence[Stage], grows: bool, early: bool) -> list[float]:
    """How a cause is shared over its stages.

    A stage in which all that wears is rarer is only for a cause of which something shows before any wear (`early`);
    its share otherwise goes to the other stages.
    """
    if not grows:
        return [0.0] * (len(stages) - 1) + [1.0]
    shares = [stage.share if early or not stage.drop.get("at-once", 0) else 0.0 for stage in stages]
    return [share / sum(shares) for share in shares]


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
    unit_rate = total / (sum(weight[name] for name, cause in causes.items() if not cause.harmless) or 1)
    rates: dict[Key, float] = {}
    for name, cause in causes.items():
        places = cause_places(cause, layout)
        whole = -math.log1p(-scales.normal[cause.beforehand]) if cause.harmless else unit_rate * weight[name]
        for place in places:
            rate = whole / len(places)
            for shift in shifts:
                if shift.reaches(name, place):
                    rate *= shift.factor
            rates[name, place] = 0.0 if any(item.reaches(name, place) for item in excluded) else rate
    return rates
