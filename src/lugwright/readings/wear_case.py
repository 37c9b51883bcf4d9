"""Wear readings that stand in a case file: what was new and what is left now, with the hours of the belt."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.readings.lug_size import LIMIT_SHARE
from lugwright.readings.wear_table import Series

if TYPE_CHECKING:
    from lugwright.casefile.record import CaseRecord


def wear_of_case(case: CaseRecord) -> tuple[tuple[Series, ...], float]:
    """Lug widths of a case as two readings each (new at zero hours, now at the belt's hours), and the limit in mm.

    The limit is 60 % of the smallest new width (common practice), where the person names none.
    Raises UnusableInput where the case holds no `lug-size` reading or no `belt-hours`.
    """
    hours = case.context.get("belt-hours")
    sizes = [one for one in case.readings if one.check == "lug-size"]
    if not sizes:
        what = "no lug-size reading is written in this case"
        why, hint = "a rate needs what was new and what is left", "measure lug-size, or keep a CSV of heights and hours"
        raise UnusableInput([Issue(Spot(case.file), "no-wear-readings", what, why, hint)])
    if not isinstance(hours, float) or hours <= 0:
        what = "the hours of the belt are not known"
        raise UnusableInput(
            [Issue(Spot(case.file), "no-belt-hours", what, "a rate needs hours", "add belt-hours: under context:")]
        )
    series = []
    for one in sizes:
        new, now = float(one.fields["width-new"]), float(one.fields["width-now"])
        series.append(Series(one.place.words, [0.0, hours], [new, now], [one.spot.line, one.spot.line]))
    return tuple(series), LIMIT_SHARE * min(one.heights[0] for one in series)
