"""Rest positions after turns as a case file holds them: does the belt come back to one place?"""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.readings.alignment import MOST_GAP_MM, after_turns
from lugwright.readings.uncertainty import ReadingRefused, not_negative

_NAMES = ("", "-again", "-third")


def turn_repeat(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Inboard gaps at rest after left and after right turns, each taken two or three times.

    fields: `left`, `left-again`, `right`, `right-again` in mm, each >= 0; if taken `left-third`, `right-third`.
    Adds    `between` (mm): distance of the two mean rest positions, and `says`: repeatable, play or too-close.
    Raises  ReadingRefused for a gap below zero or larger than the part.

    >>> one = turn_repeat({"left": 5.0, "left-again": 5.4, "right": 11.0, "right-again": 10.6}, {})
    >>> round(float(one["between"]), 3), one["says"]
    (5.6, 'play')
    """
    hands = {
        hand: [_gap(hand + name, float(fields[hand + name])) for name in _NAMES if hand + name in fields]
        for hand in ("left", "right")
    }
    found = after_turns(hands["left"], hands["right"])
    return {**fields, "between": found.between, "says": found.says}


def _gap(name: str, value: float) -> float:
    if value > MOST_GAP_MM:
        what = f"'{name}' is {value:g} mm; no lug has a gap of more than {MOST_GAP_MM:g} mm"
        raise ReadingRefused(name, what, "look for a slipped digit or a wrong unit")
    return not_negative(name, value)
