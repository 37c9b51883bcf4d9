"""Wear readings that stand in a case file: what was new and what is left now, with the hours of the belt."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.readings.lug_size import LIMIT_SHARE, lug_size
from lugwright.readings.uncertainty import ReadingRefused
from lugwright.readings.wear_table import Series

if TYPE_CHECKING:
    from lugwright.casefile.record import CaseRecord


def wear_of_case(case: CaseRecord) -> tuple[tuple[Series, ...], tuple[float, ...]]:
    """Lug widths of a case as two readings each (new at zero hours, now at the belt's hours), and the limit of each.

    A limit is 60 % of the width of that lug when new, in mm (common practice), where the person names none.
    Raises UnusableInput where the case holds no `lug-size` reading or no `belt-hours`, or for a reading that cannot be.
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
    series, limits, refused = [], [], []
    for one in sizes:
        try:
            lug_size(one.fields, {})
        except ReadingRefused as problem:
            why = "a rate from numbers that cannot be would be believed"
            what = f"{one.key}: {problem}"
            refused.append(Issue(one.spot, "reading-refused", what, why, problem.hint, text=one.line))
            continue
        new, now = float(one.fields["width-new"]), float(one.fields["width-now"])
        series.append(Series(one.place.words, [0.0, hours], [new, now], [one.spot.line, one.spot.line]))
        limits.append(LIMIT_SHARE * new)
    if refused:
        raise UnusableInput(refused)
    return tuple(series), tuple(limits)
