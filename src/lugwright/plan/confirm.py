"""The measurement to take before an adjuster is touched: the test that shows the first cause most directly."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.belief.ground import Ground
from lugwright.belief.judge import Judgement
from lugwright.plan.candidates import done_at

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
    proofs = [sign for sign in range(len(ground.signs)) if _shows_directly(sign, row, rulebase, ground)]
    seen, absent = set(judgement.evidence.seen), set(judgement.evidence.absent)
    if seen.intersection(proofs):
        return ""
    done = {(reading.check, reading.place) for reading in case.readings}
    found: list[tuple[float, float, str, str]] = []
    for sign in proofs:
        if sign in absent:
            continue
        symptom, place = ground.signs[sign]
        weight = round(float(ground.shows[row, :, sign].max()), 6)
        for name, check in rulebase.checks.items():
            if symptom not in check.decides:
                continue
            minutes = check.minutes + check.set_up_minutes
            for at in done_at(check.where, place, case.layout):
                if (name, at) not in done:
                    found.append((-weight, minutes, name, f"{check.name}, {at.words}: {minutes:.0f} min"))
    return min(found)[3] if found else ""


def _shows_directly(sign: int, row: int, rulebase: RuleBase, ground: Ground) -> bool:
    """Whether a sign is measured or driven and the cause shows it more often than not."""
    by = rulebase.symptoms[ground.signs[sign][0]].by
    return by in ("measure", "drive") and bool(ground.shows[row, :, sign].max() >= TELLING)
