"""How fast something wears, and how many hours are left to a limit, with both ends of what is likely."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lugwright.quantities import show
from lugwright.readings.student import normal_quantile, t_quantile
from lugwright.readings.uncertainty import ReadingRefused
from lugwright.readings.wear_change import ODD, TooFewReadings, change_of_rate, new_part
from lugwright.readings.wear_fit import Line, grubbs, least_squares, theil_sen
from lugwright.readings.wear_life import Life, life_left

#: Standard deviation of one height as read in a yard. judgement: each reading may be 1 mm out.
READING_SD_MM = 1.0
LEVEL = 0.90
MOST_MM = 500.0
#: Readings of one position beyond which a record is thinned by its owner: pairs are compared, so the work grows with
#: the square. judgement: one a week for 19 years.
MOST_READINGS = 1000


@dataclass(frozen=True)
class Forecast:
    """Wear at one position.

    rate:      loss in mm per hour by least squares; rate_sd: its standard error. robust_rate: by Theil-Sen.
    life:      prediction interval at `level`; robust_hours: hours left by the Theil-Sen line.
    sd, quantile, new_reading: what the interval was made with, for drawing it.
    outlier:   index of a reading that does not fit, or None. changed_at: hours at which the rate changed, or None.
    used:      indices of the readings the line rests on (those of the newest part, since the rate changed).
    now:       hours from which `life` counts.
    notes:     what must be known before the figures are used.
    """

    position: str
    hours: tuple[float, ...]
    heights: tuple[float, ...]
    limit: float
    level: float
    line: Line
    rate: float
    rate_sd: float
    robust_rate: float
    life: Life
    robust_hours: float | None
    sd: float
    quantile: float
    new_reading: bool
    outlier: int | None
    changed_at: float | None
    used: tuple[int, ...]
    now: float
    notes: tuple[str, ...]


def two_point_life(first: float, last: float, hours: float, limit: float, sd: float) -> tuple[float, float]:
    """Hours left after two readings, and the standard deviation of that, both in h.

    first, last: heights in mm, first above last; hours between them > 0; sd: of one reading in mm. The last reading
    is in the rate and in what is left: the two errors go together, and adding them as if they did not would be wrong.
    Source: first-order propagation (JCGM 100, clause 5.1).

    >>> [round(one, 1) for one in two_point_life(25.0, 18.0, 450.0, 10.0, 0.3)]
    [514.3, 46.8]
    """
    lost, left = first - last, last - limit
    if lost <= 0 or hours <= 0:
        raise ValueError("nothing was lost between the readings, so nothing can be said about what is left")
    return hours * left / lost, sd * hours / lost**2 * math.hypot(lost + left, left)


def forecast(
    hours: Sequence[float],
    heights: Sequence[float],
    limit: float,
    position: str = "",
    level: float = LEVEL,
    reading_sd: float = READING_SD_MM,
    now: float | None = None,
) -> Forecast:
    """Rate and hours left of one position.

    hours:   hour meter, not running backwards, two or more different, 1000 at most. heights: in mm, 0 to 500.
    limit:   in mm, >= 0.
    level:   of the interval, 0.5 to 0.999. reading_sd: standard deviation of one reading, in mm, > 0.
    now:     hours from which the hours left count, at or after the last reading, which is the default.
    After a rise far beyond reading error only the readings of the new part count, and after a change of rate only those
    since.
    With two readings the interval rests on the reading error alone. With three or more it is the prediction interval
    of the least-squares line (t with n - 2), and the scatter is taken as no smaller than the reading error.
    Raises ReadingRefused for hours or heights that cannot be, with the number of the reading counted from 1, and for a
    new part that was read once.
    Source: NIST/SEMATECH e-Handbook for the interval; linear wear as in rubber wear experiments (normal load, slow
    sliding); ISO 13381-1 for giving a range instead of a day.

    >>> one = forecast([0, 400], [52.0, 44.0], 13.0)
    >>> round(one.rate, 3), round(one.life.hours), round(one.life.low), round(one.life.high)
    (0.02, 1550, 1152, 2271)
    """
    _check(hours, heights, limit)
    if not 0.5 <= level <= 0.999 + 1e-9 or reading_sd <= 0:
        raise ValueError("the level lies between 0.5 and 0.999, and a reading has an error above zero")
    now = hours[-1] if now is None else now
    if now < hours[-1]:
        raise ReadingRefused("now", f"now is {now:g} h, before the last reading at {hours[-1]:g} h; hours only go up")
    fitted = new_part(hours, heights, reading_sd)
    start = fitted or 0
    notes = [] if fitted is None else [_fitted_words(fitted, hours, heights)]
    change = change_of_rate(hours[start:], heights[start:], reading_sd)
    changed = start + change.at if change and change.says == "proved" else None
    used = tuple(range(start if changed is None else changed, len(hours)))
    if changed is not None:
        notes.append(
            f"the rate changed at about {hours[changed]:g} h; only the readings from there on are used, so look for "
            "what changed then"
        )
    elif change is not None:
        notes.append(_suspected_words(hours[start + change.at], change.later, heights[-1] - limit, now - hours[-1]))
    x, y = [hours[n] for n in used], [heights[n] for n in used]
    line, robust = least_squares(x, y), theil_sen(x, y, level)
    outlier = _outlier(x, y, robust.slope, robust.intercept)
    if outlier is not None:
        outlier = used[outlier]
        notes.append(
            f"reading {outlier + 1} ({heights[outlier]:g} mm at {hours[outlier]:g} h) does not fit the others (Grubbs' "
            "test); take it again, and prefer the robust figure until then"
        )
    enough = len(x) >= 3
    sd = max(line.residual_sd, reading_sd) if enough else reading_sd
    quantile = t_quantile(level, len(x) - 2) if enough else normal_quantile(level)
    if not enough:
        notes.append(
            "two readings only: too few to see whether they lie on a line; the range counts reading error alone"
        )
    rate, rate_sd = 0.0 - line.slope, sd / math.sqrt(line.spread)
    last = heights[-1]
    life = life_left(line, limit, quantile * sd, enough, now)
    if rate <= 0 or rate < quantile * rate_sd:
        notes.append("wear cannot be told from reading error yet; no upper end can be given")
    if last <= limit:
        notes.append("the limit has been reached")
    rises = [n for n in range(start + 1, len(heights)) if heights[n] - heights[n - 1] > ODD * reading_sd]
    if rises:
        n = rises[0]
        risen = f"{heights[n] - heights[n - 1]:g} mm higher than the one before"
        notes.append(f"reading {n + 1} is {risen}: another spot, or a new part?")
    robust_hours = max(0.0, (limit - robust.intercept) / robust.slope - now) if robust.slope < 0 else None
    return Forecast(
        position, tuple(map(float, hours)), tuple(map(float, heights)), limit, level, line, rate, rate_sd,
        0.0 - robust.slope, life, robust_hours, sd, quantile, enough,
        outlier, None if changed is None else hours[changed], used, now,
        tuple(notes),
    )  # fmt: skip


def _fitted_words(at: int, hours: Sequence[float], heights: Sequence[float]) -> str:
    risen = f"{heights[at] - heights[at - 1]:g} mm higher than the one before"
    return (
        f"reading {at + 1} ({hours[at]:g} h) is {risen}, so a new part was taken from there on; only its readings count"
    )


def _suspected_words(since: float, rate: float, left_mm: float, passed: float) -> str:
    left = max(0.0, left_mm / rate - passed) if rate > 0 else None
    hours = (
        ""
        if left is None
        else f"; at the later rate ({rate * 100:.2f} mm in 100 h) about {show(round(left, -1), 'hours')} are left"
    )
    return f"the rate may have risen at about {since:g} h, which these readings do not prove{hours}. Read again soon"


def _check(hours: Sequence[float], heights: Sequence[float], limit: float) -> None:
    if len(hours) != len(heights):
        raise ReadingRefused("heights", "there are not as many heights as hours")
    if len(set(hours)) < 2:
        what = "one reading gives no rate" if len(hours) < 2 else "all readings stand at one hour, which gives no rate"
        raise TooFewReadings("hours", f"{what}; two at different hours are needed")
    if len(hours) > MOST_READINGS:
        what = f"{len(hours)} readings at one position; {MOST_READINGS} at most are compared"
        raise ReadingRefused("hours", what, "keep one a week or so; more of them do not make the rate surer")
    for n, (hour, height) in enumerate(zip(hours, heights, strict=True), 1):
        if hour < 0 or (n > 1 and hour < hours[n - 2]):
            before = "zero" if n == 1 or hour < 0 else f"{hours[n - 2]:g} h before it"
            raise ReadingRefused(f"reading {n}", f"reading {n} stands at {hour:g} h, after {before}; hours only go up")
        if not 0 <= height <= MOST_MM:
            raise ReadingRefused(f"reading {n}", f"reading {n} is {height:g} mm; it lies between 0 and {MOST_MM:g} mm")
    if not 0 <= limit <= MOST_MM:
        raise ReadingRefused("limit", f"the limit is {limit:g} mm; it lies between 0 and {MOST_MM:g} mm")


def _outlier(x: Sequence[float], y: Sequence[float], slope: float, intercept: float) -> int | None:
    """Index of a reading that Grubbs' test finds too far from the robust line; four or more readings are needed."""
    if len(x) < 4:
        return None
    far = grubbs([b - intercept - slope * a for a, b in zip(x, y, strict=True)])
    return far.index if far and far.outlier else None


def cost_per_hour(price: float, usable_mm: float, rate: float) -> float:
    """What an hour costs in wear: price over the hours that the usable height lasts at a rate in mm/h, all > 0.

    Source: ownership cost by hours of life, as in farm machinery cost guides.

    >>> cost_per_hour(24_000, 30.0, 0.01), cost_per_hour(24_000, 30.0, 0.02)
    (8.0, 16.0)
    """
    if price < 0 or usable_mm <= 0 or rate <= 0:
        raise ValueError("the usable height and the rate must be above zero")
    return price * rate / usable_mm
