"""A wear forecast in words."""

from __future__ import annotations

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


def wear_lines(ones: Sequence[Forecast], costs: Sequence[float | None] = ()) -> Iterator[Line]:
    """The forecast of each position, shortest life first as given. costs: per hour, one for each, or none."""
    for number, one in enumerate(ones):
        if number:
            yield Line()
        yield Line(one.position or "all", tone="head")
        last = one.heights[-1]
        yield _row("now", f"{show(last, 'length', 'both')} at {one.hours[-1]:g} h, {len(one.hours)} readings")
        rate = f"{one.rate * 100:.2f} mm in 100 h (standard error {one.rate_sd * 100:.2f})"
        rate += f", Theil-Sen {one.robust_rate * 100:.2f}"
        yield _row("wears", rate)
        left = hours_words(one.life.hours) if one.life.hours is not None else "cannot be told"
        ends = f"{one.level:.0%}: {hours_words(one.life.low)} to {hours_words(one.life.high)}".replace("%", " %")
        robust = f"; Theil-Sen {hours_words(one.robust_hours)}" if one.robust_hours is not None else ""
        yield _row("left", f"{left} to {show(one.limit, 'length', 'both')} ({ends}{robust})", "strong")
        if one.life.hours is not None:
            meter = f"{hours_words(one.hours[-1] + one.life.low)} at the earliest"
            yield _row("look", f"again before {meter} on this meter")
        if costs and costs[number] is not None:
            yield _row("cost", f"{costs[number]:.2f} per hour at this rate")
        for note in one.notes:
            yield _row("note", note, "limit")


def _row(label: str, text: str, tone: str = "") -> Line:
    return Line(text, indent=2, label=label, label_width=7, tone=tone)
