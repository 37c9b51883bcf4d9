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
    """Lug widths of a case as two readings each (new at zero hours, now at its belt hours), and the limit of each.

    A reading with `at:` was taken when the belt had run its hours now less what the machine has run since; the hours
    left count from now in any case.
    A limit is 60 % of the width of that lug when new, in mm (common practice), where the person names none.
    Raises UnusableInput where the case holds no `lug-size` reading or no `belt-hours`, or for a reading that cannot be:
    one taken before the belt was fitted, or with `at:` where the hours of the machine are not known.
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
            then = _belt_hours(hours, case.hours, one.at)
        except ReadingRefused as problem:
            why = "a rate from numbers that cannot be would be believed"
            what = f"{one.key}: {problem}"
            refused.append(Issue(one.spot, "reading-refused", what, why, problem.hint, text=one.line))
            continue
        new, now = float(one.fields["width-new"]), float(one.fields["width-now"])
        lines = [one.spot.line, one.spot.line]
        series.append(Series(one.place.words, [0.0, then], [new, now], lines, now=hours))
        limits.append(LIMIT_SHARE * new)
    if refused:
        raise UnusableInput(refused)
    return tuple(series), tuple(limits)


def _belt_hours(belt: float, machine: float | None, at: float | None) -> float:
    """Hours the belt had run when it was read, from its hours now and the machine's hours now and then (`at`).

    Raises ReadingRefused where that cannot be told, or the belt was not fitted yet.

    >>> _belt_hours(900.0, 3000.0, 2600.0), _belt_hours(900.0, None, None)
    (500.0, 900.0)
    """
    if at is None:
        return belt
    if machine is None:
        what = f"it was read at {at:g} h, and the hours of the machine now are not known"
        raise ReadingRefused("at", what, "add hours: under machine:, so that the hours of the belt can be told")
    then = belt - (machine - at)
    if then <= 0:
        what = (
            f"it was read at {at:g} h, but this belt was fitted at {machine - belt:g} h (machine {machine:g} h, belt "
            f"{belt:g} h)"
        )
        raise ReadingRefused("at", what, "keep readings of this belt only, or put at: or belt-hours: right")
    return then
