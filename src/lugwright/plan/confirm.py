"""The measurement to take before an adjuster is touched: the test that shows the first cause most directly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lugwright.belief.ground import Ground
from lugwright.belief.judge import Judgement
from lugwright.chaining.conclude import Conclusions
from lugwright.places import Place
from lugwright.plan.candidates import Task, before, done_at, settled_by
from lugwright.plan.waits import why_it_waits

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase

#: A sign that the cause shows less often than this does not confirm it.
TELLING = 0.6


@dataclass(frozen=True)
class Proof:
    """The test that would show a cause, in words with place and minutes, and why it cannot be done now.

    check: empty where nothing is to be proved or no test proves it. not_now: empty where it can be done.
    """

    check: str = ""
    not_now: str = ""


def confirming(
    case: CaseRecord, rulebase: RuleBase, ground: Ground, judgement: Judgement, concluded: Conclusions
) -> Proof:
    """The undone test that would show the first cause most directly.

    Only signs that are measured or driven count: a sign that can be seen was seen or looked for already. Where such a
    sign of the cause was seen, it is shown already and no further test is asked for. A test that can be done as the
    machine stands comes before any that has to wait; where all of them have to wait, the best says why it does.
    """
    row = judgement.leaders[0].row
    proofs = [sign for sign in range(len(ground.signs)) if _shows_directly(sign, row, rulebase, ground)]
    seen, absent = set(judgement.evidence.seen), set(judgement.evidence.absent)
    if seen.intersection(proofs):
        return Proof()
    done = {(reading.check, reading.place) for reading in case.readings}
    found: list[tuple[bool, float, float, str, Place, Proof]] = []
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
                    waits = not_now(name, at, case, rulebase, concluded)
                    proof = Proof(f"{check.name}, {at.words}: {minutes:.0f} min", waits)
                    found.append((bool(waits), -weight, minutes, name, at, proof))
    return min(found)[-1] if found else Proof()


def not_now(check: str, at: Place, case: CaseRecord, rulebase: RuleBase, concluded: Conclusions) -> str:
    """Why a check cannot be done at a place as the machine stands; nothing where it can."""
    read = {(reading.check, reading.place) for reading in case.readings}
    known = {(one.symptom, one.place) for one in concluded.findings}

    def is_done(task: Task) -> bool:
        signs = settled_by(*task, case, rulebase)
        return task in read or (bool(signs) and known.issuperset(signs))

    first = [name for name, _ in before(check, at, rulebase, case.layout, is_done)]
    return why_it_waits(check, at, first, rulebase, concluded)


def _shows_directly(sign: int, row: int, rulebase: RuleBase, ground: Ground) -> bool:
    """Whether a sign is measured or driven and the cause shows it more often than not."""
    by = rulebase.symptoms[ground.signs[sign][0]].by
    return by in ("measure", "drive") and bool(ground.shows[row, :, sign].max() >= TELLING)
