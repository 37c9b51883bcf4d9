"""What if a finding had been otherwise: two answers side by side, and the steps that changed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from lugwright.diagnosis import Diagnosis, FindingShown, StepShown
from lugwright.looking.changes import change_shown, changed_case, read_changes, refuse_both_sides, states
from lugwright.looking.insight import SOUND_WORDS, insight
from lugwright.places import place_from_key
from lugwright.plan.undecided import NO_FAULT
from lugwright.prospects import Change, RankChange, StepChange, WhatIf
from lugwright.triage import triage

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase

#: Causes below this in both answers are not compared.
LISTED = 0.02


def what_if(case: CaseRecord, rulebase: RuleBase, asked: Sequence[str]) -> WhatIf:
    """Compare the answer for a case with the answer for the same case with some findings put otherwise.

    asked:  `SIGN@PLACE=seen`, `=absent` or `=unknown`.
    Raises  UnusableInput for a finding that cannot be asked about, or findings that cannot hold together.
    """
    wanted = read_changes(asked, case, rulebase)
    seen = insight(case, rulebase)
    now = states(seen.concluded)
    refuse_both_sides(wanted, now, rulebase)
    other, aside = changed_case(case, seen.concluded, wanted)
    before, after = triage(case, rulebase), triage(other, rulebase)
    notes = []
    for key in after.contradictory:
        notes.append(
            f"{key}: a rule concludes the contrary from the other findings, so it counts neither way. Change what that "
            "rule uses as well."
        )
    unmoved = [key for key, state in wanted.items() if now.get(key, "unknown") == state]
    notes += [f"{change_shown(key, '', '', rulebase).words} is {wanted[key]} in the case already." for key in unmoved]
    return WhatIf(
        case=case.case,
        machine=before.machine,
        rulebase=before.rulebase,
        asked=tuple(change_shown(key, now.get(key, "unknown"), state, rulebase) for key, state in wanted.items()),
        ranking=_ranking(before, after),
        verdict_before=before.verdict.action,
        verdict_after=after.verdict.action,
        findings=_findings(before, after, rulebase),
        set_aside=aside,
        steps=_steps(before, after),
        notes=tuple(notes),
    )


def _ranking(before: Diagnosis, after: Diagnosis) -> tuple[RankChange, ...]:
    """Every cause that is listed in one of the two answers, and "no fault", in the order of the second."""
    rows = {}
    for answer in (before, after):
        for one in answer.ranked:
            rows[one.key] = f"{one.name} ({one.place_words})"
    rows[NO_FAULT] = SOUND_WORDS
    first, second = _order(before), _order(after)
    found = [
        RankChange(
            cause=key,
            words=words,
            before=first.get(key, (None, 0.0))[1],
            after=second.get(key, (None, 0.0))[1],
            rank_before=first.get(key, (None, 0.0))[0],
            rank_after=second.get(key, (None, 0.0))[0],
        )
        for key, words in rows.items()
    ]
    found = [one for one in found if max(one.before, one.after) >= LISTED]
    found.sort(key=lambda one: (one.rank_after or 999, one.rank_before or 999, one.cause))
    return tuple(found)


def _order(answer: Diagnosis) -> dict[str, tuple[int | None, float]]:
    rows = [(one.key, one.probability) for one in answer.ranked] + [(NO_FAULT, answer.no_fault)]
    rows.sort(key=lambda one: (-one[1], one[0] != NO_FAULT, one[0]))
    return {key: (rank, probability) for rank, (key, probability) in enumerate(rows, 1)}


def _findings(before: Diagnosis, after: Diagnosis, rulebase: RuleBase) -> tuple[Change, ...]:
    one, other = _states(before.findings), _states(after.findings)
    changed = [key for key in sorted({*one, *other}) if one.get(key) != other.get(key)]
    return tuple(
        change_shown(
            (key.partition("@")[0], place_from_key(key.partition("@")[2])),
            one.get(key, "unknown"),
            other.get(key, "unknown"),
            rulebase,
        )
        for key in changed
    )


def _states(findings: Sequence[FindingShown]) -> dict[str, str]:
    return {one.key: one.state for one in findings}


def _steps(before: Diagnosis, after: Diagnosis) -> tuple[StepChange, ...]:
    """Firings of rules that are there on one side only; what merely says that a sign bears on a cause is left out."""

    def told(steps: Sequence[StepShown]) -> dict[tuple[str, tuple[str, ...], tuple[str, ...]], StepShown]:
        return {(one.rule, one.used, one.concluded): one for one in steps if one.because}

    one, other = told(before.steps), told(after.steps)
    return (
        *(StepChange(only="before", step=step) for key, step in one.items() if key not in other),
        *(StepChange(only="after", step=step) for key, step in other.items() if key not in one),
    )
