"""What to look at next for one case: the checks in order, and the best set of them within some minutes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.belief.looks import bits
from lugwright.looking.insight import Insight, insight
from lugwright.looking.steady import steady
from lugwright.plan.budget import best_batch
from lugwright.plan.next_checks import weighed_checks
from lugwright.plan.waits import works_first
from lugwright.prospects import LeftOut, NextPlan
from lugwright.rulebase.words import SEVERITY, Action
from lugwright.summing_up import label, machine_words, readings_shown, refused, void_shown

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase

LISTED = 8


def next_plan(case: CaseRecord, rulebase: RuleBase, minutes: float | None = None) -> NextPlan:
    """The checks worth doing next, and with `minutes` the best set of them within that time.

    Raises UnusableInput when the findings cannot hold together.
    """
    return plan_of(insight(case, rulebase), minutes)


def plan_of(seen: Insight, minutes: float | None = None) -> NextPlan:
    """The same for a case that was worked out already."""
    case, rulebase = seen.case, seen.rulebase
    with refused(case, rulebase):
        weighed = weighed_checks(case, rulebase, seen.ground, seen.judgement, seen.concluded)
        batch = best_batch(weighed, minutes, seen.ground, rulebase) if minutes is not None else None
        steadiness = steady(seen)
    beyond = [row.check for row in weighed.rows[LISTED:]]
    skipped = [
        LeftOut(
            check=name,
            name=rulebase.checks[name].name,
            why="not weighed: promises less for each minute by a quick guess",
        )
        for name in weighed.skipped
    ] + [LeftOut(check=name, name=rulebase.checks[name].name, why="worth less than those listed") for name in beyond]
    notes = []
    if weighed.light:
        notes.append(
            f"The findings hang together too widely to weigh checks on all of them: {weighed.light} signs that are "
            "common on a sound machine were set aside for that. The ranking counts them all."
        )
    actions = {action for action, *_ in seen.concluded.verdicts}
    verdict: Action = next((one for one in SEVERITY if one in actions), "keep-running")
    return NextPlan(
        case=case.case,
        machine=machine_words(case),
        rulebase=label(rulebase),
        verdict=verdict,
        work_first=bool(works_first(seen.concluded, rulebase)),
        now=seen.standings(),
        uncertainty_bits=round(bits(seen.judgement.posterior.marginal[weighed.counted]), 6),
        settled=weighed.settled,
        undecided=weighed.undecided,
        void=void_shown(seen.concluded, rulebase),
        checks=weighed.rows[:LISTED],
        batch=batch,
        left_out=(*weighed.choice.left_out, *skipped),
        notes=tuple(notes),
        steadiness=steadiness,
        too_close=tuple(one for one in readings_shown(case, seen.concluded, rulebase) if one.too_close),
    )
