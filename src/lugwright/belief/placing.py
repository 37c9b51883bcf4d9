"""Where causes act and signs show on a layout, and what a word is worth at one place."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from lugwright.places import AXLES, HANDS, SIDES, UNITS, Place, axle_of, partner, side_of, unit_hand, units_of

if TYPE_CHECKING:
    from lugwright.rulebase.schema import Cause, Shows, Symptom


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


def holds(show: Shows, layout: str, drive: str, context: Mapping[str, object]) -> bool:
    """Whether a link exists on this machine, with what is known of its work."""
    if (show.layout or layout) != layout or (show.drive or drive) != drive:
        return False
    return all(context.get(name) == answer for name, answer in show.given.items()) and not any(
        context.get(name) == answer for name, answer in show.unless.items()
    )
