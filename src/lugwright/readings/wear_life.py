"""Hours left until a line meets a limit, with both ends of what is likely."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lugwright.readings.wear_fit import Line


@dataclass(frozen=True)
class Life:
    """Hours from now to the limit. high is None where the readings set no upper end."""

    hours: float | None
    low: float
    high: float | None


def crossing(line: Line, limit: float, half: float, new_reading: bool) -> tuple[float, float | None]:
    """First and last hour at which the limit lies within the interval of the line; None where there is no last one.

    half: quantile times standard deviation, in mm. Both ends come from one quadratic (Fieller), so that they are as
    lopsided as they should be. Raises ValueError where the limit lies within the interval everywhere.
    """
    aside = new_reading + 1 / line.n
    apart, square = limit - line.at(line.middle), half * half
    a = line.slope**2 - square / line.spread
    b, c = -2 * line.slope * apart, apart**2 - square * aside
    root = b * b - 4 * a * c
    if root < 0:
        raise ValueError("the limit lies within the interval everywhere")
    if abs(a) < 1e-18:
        return line.middle - c / b, None
    ends = sorted((-b + sign * math.sqrt(root)) / (2 * a) for sign in (-1, 1))
    return (line.middle + ends[0], line.middle + ends[1]) if a > 0 else (line.middle + ends[1], None)


def life_left(line: Line, limit: float, half: float, new_reading: bool, now: float) -> Life:
    """Hours left from now, never below zero; the first of them is zero where the interval holds the limit already."""
    point = (limit - line.intercept) / line.slope - now if line.slope < 0 else None
    if line.slope >= 0:
        return Life(None, 0.0 if line.at(now) - half <= limit else _earliest(line, limit, half, new_reading, now), None)
    left = max(0.0, point or 0.0)
    try:
        first, last = crossing(line, limit, half, new_reading)
    except ValueError:
        return Life(left, 0.0, None)
    high = None if last is None else max(left, last - now)
    reached = (
        line.at(now) - half * math.sqrt(new_reading + 1 / line.n + (now - line.middle) ** 2 / line.spread) <= limit
    )
    return Life(left, 0.0 if reached else min(left, max(0.0, first - now)), high)


def _earliest(line: Line, limit: float, half: float, new_reading: bool, now: float) -> float:
    """The first hour from now at which the lower end of the interval meets the limit, for a line that does not fall."""
    step, here = 1.0, now
    while line.at(here) - half * math.sqrt(new_reading + 1 / line.n + (here - line.middle) ** 2 / line.spread) > limit:
        here, step = here + step, step * 2
        if step > 1e7:
            return math.inf
    return here - now
