"""How sure a reading is, and what follows for a limit: inside, outside, or too close to call.

Every reading is a value with a plus-or-minus: the half width that covers it about 19 times in 20 (two standard
uncertainties, as the GUM recommends for everyday work). A limit that lies within it decides nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

State = Literal["inside", "outside", "too-close"]
Bad = Literal["above", "below"]

#: Standard uncertainties in a plus-or-minus (coverage about 95 %). Source: JCGM 100 (GUM), clause 6.3, from memory.
COVERAGE = 2.0

#: Plus-or-minus of the usual tools. judgement, from what two careful people read differently.
SHIM_MM = 0.5
TAPE_MM = 1.0
CALLIPER_MM = 0.5
SAME_FACE_K = 1.0
HUB_K = 2.0
GAUGE_SHARE = 0.02
SCALE_SHARE = 0.01


class ReadingRefused(ValueError):
    """Numbers that cannot be a reading. `field` names the one at fault, `hint` says what to do."""

    def __init__(self, field: str, what: str, hint: str = "") -> None:
        super().__init__(what)
        self.field = field
        self.hint = hint


@dataclass(frozen=True)
class Reading:
    """A value with its plus-or-minus, in one unit.

    >>> Reading(9.0, 1.4).against(6.0), Reading(7.0, 1.4).against(6.0), Reading(3.0, 1.4).against(6.0)
    ('outside', 'too-close', 'inside')
    """

    value: float
    plus_minus: float = 0.0

    def against(self, limit: float, bad: Bad = "above") -> State:
        """Which side of a limit the reading lies on; `bad` says on which side of the limit it is outside."""
        return against(self.value, limit, self.plus_minus, bad)


def against(value: float, limit: float, plus_minus: float, bad: Bad = "above") -> State:
    """Three ways a reading can stand to a limit, all in one unit.

    plus_minus: half width of the reading, >= 0. A limit exactly at its end is still too close; with a half width of
                zero a value at the limit is inside.

    >>> against(5.0, 6.0, 0.5, "below"), against(6.4, 6.0, 0.5, "below"), against(8.0, 6.0, 0.5, "below")
    ('outside', 'too-close', 'inside')
    >>> against(6.0, 6.0, 0.0)
    'inside'
    """
    if plus_minus < 0 or not math.isfinite(value + limit + plus_minus):
        raise ValueError("a reading, its limit and its plus-or-minus must be plain numbers, the last not below zero")
    over = value - limit if bad == "above" else limit - value
    if over > plus_minus:
        return "outside"
    return "inside" if over < -plus_minus or plus_minus == 0 else "too-close"


def within(
    value: float, least: float, most: float, plus_minus: float
) -> Literal["inside", "below", "above", "too-close"]:
    """The same for a band. Raises ValueError where the band is upside down.

    >>> within(200, 190, 210, 4), within(180, 190, 210, 4), within(215, 190, 210, 4), within(209, 190, 210, 4)
    ('inside', 'below', 'above', 'too-close')
    """
    if least > most:
        raise ValueError(f"the band ends at {most:g} below its beginning {least:g}")
    low, high = against(value, least, plus_minus, "below"), against(value, most, plus_minus, "above")
    if low == "outside":
        return "below"
    if high == "outside":
        return "above"
    return "inside" if low == high == "inside" else "too-close"


def together(*plus_minus: float) -> float:
    """Half width of a sum or difference of independent readings: root of the sum of squares.

    Source: JCGM 100 (GUM), clause 5.1.2.

    >>> together(3.0, 4.0)
    5.0
    """
    return math.hypot(*plus_minus)


def within_reach(field: str, value: float, reach: tuple[float, float], unit: str, thing: str) -> float:
    """The value, unless it is one that the thing cannot have. Raises ReadingRefused."""
    if not reach[0] <= value <= reach[1]:
        what = f"'{field}' is {value:.3g} {unit}; {thing} lies between {reach[0]:g} and {reach[1]:g} {unit}"
        raise ReadingRefused(field, what, "look for a slipped digit or a wrong unit")
    return value


def not_negative(field: str, value: float, unit: str = "mm") -> float:
    """The value, unless it is below zero. Raises ReadingRefused."""
    if value < 0:
        raise ReadingRefused(
            field, f"'{field}' is {value:g} {unit}; it cannot be below zero", "write zero where they touch"
        )
    return value
