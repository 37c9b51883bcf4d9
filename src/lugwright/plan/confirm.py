"""The measurement to take before an adjuster is touched: the test that shows the first cause most directly."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.belief.ground import Ground
from lugwright.belief.judge import Judgement
from lugwright.places import Place, axle_of

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase

#: A sign that the cause shows less often than this does not confirm it.
TELLING = 0.6


def confirming(case: CaseRecord, rulebase: RuleBase, ground: Ground, judgement: Judgement) -> str:
    """The undone test that would show the first cause most directly, in words with place and minutes; or nothing.

    Only signs that are measured or driven count: a sign that can be seen was seen or looked for already. Where such a
    sign of the cause was seen, it is shown already and no further test is asked for.
    """
    row = judgement.leaders[0].row
    if any(_shows_directly(sign, row, rulebase, ground) for sign in judgement.evidence.seen):
        return ""
    known = {*judgement.evidence.seen, *judgement.evidence.absent}
    done = {(reading.check, reading.place) for reading in case.readings}
    found: list[tuple[float, float, str, str]] = []
    for sign in (int(at) for at in ground.shows[row].max(axis=0).argsort(kind="stable")[::-1]):
        weight = float(ground.shows[row, :, sign].max())
        if weight < TELLING:
            break
        symptom, place = ground.signs[sign]
        if sign in known or not _shows_directly(sign, row, rulebase, ground):
            continue
        for name, check in rulebase.checks.items():
            at = _at(place, check.where)
            if symptom in check.decides and (name, at) not in done:
                minutes = check.minutes + check.set_up_minutes
                found.append((-round(weight, 6), minutes, name, f"{check.name}, {at.words}: {minutes:.0f} min"))
    return min(found)[3] if found else ""


def _shows_directly(sign: int, row: int, rulebase: RuleBase, ground: Ground) -> bool:
    """Whether a sign is measured or driven and the cause shows it more often than not."""
    by = rulebase.symptoms[ground.signs[sign][0]].by
    return by in ("measure", "drive") and bool(ground.shows[row, :, sign].max() >= TELLING)


def _at(place: Place, where: str) -> Place:
    """Where a check is done for a sign at a place."""
    if where == "machine":
        return Place()
    if where == "axle":
        return Place(axle=place.axle or (axle_of(place.unit) if place.unit else ""))
    return Place(unit=place.unit, axle="" if place.unit else place.axle)
