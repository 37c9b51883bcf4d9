"""What breaks a wear record in two: a new part, or a rate that changed; and a rise that is only suspected."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from lugwright.readings.student import normal_quantile, t_quantile
from lugwright.readings.uncertainty import ReadingRefused
from lugwright.readings.wear_fit import least_squares

#: Standard deviations of a difference of two readings: a rise beyond 3 is remarked on, beyond 6 it is no error of
#: reading. judgement
ODD, FAR = 3 * math.sqrt(2), 6 * math.sqrt(2)
#: Chance, shared among the readings tried, at which a change counts as proved, and at which a rise is suspected.
PROVED, SUSPECTED = 0.01, 0.10


class TooFewReadings(ReadingRefused):
    """Sound readings of one position, but too few of one part for a rate: the other positions are not spoilt by it."""


@dataclass(frozen=True)
class Change:
    """A change of rate at the reading with this index. later: rate from there on, in mm per hour."""

    at: int
    says: Literal["proved", "rise-suspected"]
    later: float


def change_of_rate(hours: Sequence[float], heights: Sequence[float], reading_sd: float) -> Change | None:
    """Where the rate changed, or a rise of it is suspected, or None; five or more readings are needed.

    Two lines that meet at a reading are compared with one; every reading is tried, and the chance of a false alarm is
    shared among them. Where the scatter is no larger than the error of one reading (reading_sd, mm, > 0), that error
    is known and the normal quantile belongs to it; else the scatter is an estimate, with t of n - 3.
    Source: comparison of two slopes, as in NIST/SEMATECH e-Handbook, section 4.4; Bonferroni's inequality.

    >>> change_of_rate([0, 200, 400, 600, 800, 1000, 1200], [60, 59, 58, 57, 53, 49, 45], 1.0)
    Change(at=3, says='proved', later=0.02)
    >>> change_of_rate([0, 200, 400, 600, 800, 1000], [52, 48, 44, 40, 36, 32], 1.0) is None
    True
    """
    n = len(hours)
    best: tuple[float, int, float, float] | None = None
    for at in range(2, n - 2):
        if len(set(hours[: at + 1])) < 2 or len(set(hours[at:])) < 2:
            continue
        one, two = least_squares(hours[: at + 1], heights[: at + 1]), least_squares(hours[at:], heights[at:])
        left = math.fsum(
            (heights[k] - line.at(hours[k])) ** 2
            for line, part in ((one, range(at + 1)), (two, range(at, n)))
            for k in part
        )
        scatter = math.sqrt(left / (n - 3))
        sd = max(reading_sd, scatter)
        apart = abs(one.slope - two.slope) / (sd * math.sqrt(1 / one.spread + 1 / two.spread))
        if best is None or apart > best[0]:
            best = apart, at, scatter, one.slope - two.slope
    if best is None:
        return None
    apart, at, scatter, faster = best
    tried = n - 4
    later = round(0.0 - least_squares(hours[at:], heights[at:]).slope, 12)
    for chance, says in ((PROVED, "proved"), (SUSPECTED, "rise-suspected")):
        level = 1 - chance / tried
        needed = normal_quantile(level) if scatter <= reading_sd else t_quantile(level, n - 3)
        if apart > needed and (says == "proved" or faster > 0):
            return Change(at, "proved" if says == "proved" else "rise-suspected", later)
    return None


def new_part(hours: Sequence[float], heights: Sequence[float], reading_sd: float) -> int | None:
    """Index of the first reading of the newest part: the last rise far beyond reading error; None where there is none.

    A single reading that is too low or too high is no new part: without it the others lie on one line.
    Raises TooFewReadings where the new part was read at one hour only: a rate needs two.

    >>> new_part([0, 400, 800, 810, 1200], [50, 40, 30, 50, 40], 1.0)
    3
    >>> new_part([0, 400, 800, 1200, 1600], [52, 48, 23, 40, 36], 1.0) is None    # the third is a slip of the pen
    True
    >>> new_part([0, 400, 800, 1200, 1600], [52, 48, 94, 40, 36], 1.0) is None    # and so it is here
    True
    """
    found = None
    rises = [n for n in range(1, len(heights)) if heights[n] - heights[n - 1] > FAR * reading_sd]
    for here, n in enumerate(rises):
        end = rises[here + 1] if here + 1 < len(rises) else len(heights)
        part = range(found or 0, end)
        doubted = [n - 1, n] if n + 1 < end else [n - 1]
        if not any(_one_line(hours, heights, [k for k in part if k != one], reading_sd) for one in doubted):
            found = n
    if found is not None and len(set(hours[found:])) < 2:
        what = (
            f"reading {found + 1} ({heights[found]:g} mm at {hours[found]:g} h) is far higher than the one before, as "
            "on a new part, and nothing later was read; two readings of one part at different hours are needed"
        )
        raise TooFewReadings(
            f"reading {found + 1}", what, "read it again after some hours, or take out a wrong reading"
        )
    return found


def _one_line(hours: Sequence[float], heights: Sequence[float], these: Sequence[int], reading_sd: float) -> bool:
    """Whether three or more readings lie on one line within twice the error of a reading."""
    x, y = [hours[k] for k in these], [heights[k] for k in these]
    return len(these) >= 3 and len(set(x)) > 1 and least_squares(x, y).residual_sd <= 2 * reading_sd
