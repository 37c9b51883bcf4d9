"""A wear forecast in words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from lugwright.quantities import show
from lugwright.report.lines import Line

if TYPE_CHECKING:
    from lugwright.readings.wear_forecast import Forecast


def hours_words(hours: float | None) -> str:
    """Hours to the nearest ten from 200 up: no reading carries more.

    >>> hours_words(1553.2), hours_words(87.4), hours_words(None)
    ('1550 h', '87 h', 'no upper end')
    """
    if hours is None or hours > 1e6:
        return "no upper end"
    return f"{round(hours, -1) if hours >= 200 else round(hours):.0f} h"


def range_words(one: Forecast) -> str:
    """Both ends of the hours left, or that there are none."""
    if math.isinf(one.life.low):
        return "no end can be told"
    return f"{hours_words(one.life.low)} to {hours_words(one.life.high)}"


def before_words(hours: float) -> str:
    """An hour before which to look again, to the ten below: rounding up would come too late.

    >>> before_words(1557.0), before_words(87.9)
    ('1550 h', '87 h')
    """
    return f"{math.floor(hours / 10) * 10 if hours >= 200 else math.floor(hours)} h"


def level_words(level: float) -> str:
    """A level in percent; never rounded up to certainty.

    >>> level_words(0.9), level_words(0.999)
    ('90 %', '99.9 %')
    """
    return f"{level * 100:.4g} %"


def wear_lines(
    ones: Sequence[Forecast], costs: Sequence[float | None] = (), meter: str = "this meter"
) -> Iterator[Line]:
    """The forecast of each position, shortest life first as given.

    costs: per hour, one for each, or none. meter: what the hours are read on.
    """
    for number, one in enumerate(ones):
        if number:
            yield Line()
        yield Line(one.position or "all", tone="head")
        last = one.heights[-1]
        since = f"; the hours left count from {one.now:g} h, which is now" if one.now > one.hours[-1] else ""
        label = "read" if since else "now"
        yield _row(label, f"{show(last, 'length', 'both')} at {one.hours[-1]:g} h, {len(one.hours)} readings{since}")
        rate = f"{one.rate * 100:.2f} mm in 100 h (standard error {one.rate_sd * 100:.2f})"
        rate += f", Theil-Sen {one.robust_rate * 100:.2f}"
        yield _row("wears", rate)
        reached = last <= one.limit
        left = hours_words(one.life.hours) if one.life.hours is not None else "0 h" if reached else "cannot be told"
        ends = f"{level_words(one.level)}: {range_words(one)}"
        robust = f"; Theil-Sen {hours_words(one.robust_hours)}" if one.robust_hours is not None else ""
        yield _row("left", f"{left} to {show(one.limit, 'length', 'both')} ({ends}{robust})", "strong")
        if one.life.hours is not None or reached:
            sooner = "now: the limit has been reached" if reached else ""
            sooner = sooner or ("now: the limit may be there already" if one.life.low < 1 else "")
            yield _row("look", sooner or f"again before {before_words(one.now + one.life.low)} ({meter})")
        if costs and costs[number] is not None:
            yield _row("cost", f"{costs[number]:.2f} per hour at this rate")
        for note in one.notes:
            yield _row("note", note, "limit")


def _row(label: str, text: str, tone: str = "") -> Line:
    return Line(text, indent=2, label=label, label_width=7, tone=tone)
