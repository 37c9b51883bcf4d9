"""The whole path on one page: a case and a rule base go in, one frozen `Diagnosis` comes out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import lugwright.report.notebook  # noqa: F401 - from here on a notebook shows a diagnosis as its page
from lugwright.belief.ground import Ground
from lugwright.belief.judge import Judgement, judge
from lugwright.chaining.conclude import Conclusions, bearings, conclude
from lugwright.diagnosis import CauseAccount, Diagnosis, Steadiness
from lugwright.plan.cause_account import cause_account
from lugwright.plan.clashes import clashes
from lugwright.plan.confirm import confirming
from lugwright.plan.machine import extents_seen, known_signs, machine_network
from lugwright.plan.next_checks import SHOWN, weighed_checks
from lugwright.plan.verdict import plain_names, verdict, works_of
from lugwright.plan.work import repairs_stop, work_for
from lugwright.summing_up import (
    answers_shown,
    cautions,
    edges,
    findings_shown,
    label,
    machine_words,
    normal_shown,
    not_counted,
    not_looked_at,
    not_noted,
    other_notes,
    ranked_causes,
    readings_shown,
    refused,
    ruled_out,
    sheet_shown,
    steps_shown,
    unexplained_shown,
    void_shown,
)  # fmt: skip

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase


def triage(case: CaseRecord, rulebase: RuleBase, *, steadiness: bool = False) -> Diagnosis:
    """Diagnose one case.

    case:       a checked case record (`lugwright.casefile.load.load_case`).
    rulebase:   a checked rule base (`lugwright.rulebase.load.load`).
    steadiness: also redraw every frequency within what its word allows, which takes some tenths of a second.
    Returns   the same `Diagnosis`, to the byte, for the same case and rule base.
    Raises    UnusableInput when the findings cannot hold together under the rule base, naming them.
    """
    concluded = conclude(case, rulebase)
    ground = machine_network(case, rulebase, concluded)
    with refused(case, rulebase):
        judgement = judge(ground, *known_signs(concluded))
        ranked = ranked_causes(judgement, rulebase, ground)
        weighed = weighed_checks(case, rulebase, ground, judgement, concluded)
    checks = weighed.rows[:SHOWN]
    bearing = bearings(*bearing_links(ground, judgement), first=len(concluded.steps) + 1)
    work = None
    if worth_working(ranked[0].probability, judgement.no_fault):
        proof = confirming(case, rulebase, ground, judgement, concluded)
        repairs = repairs_stop(concluded, ground, judgement.leaders[0].row)
        work = work_for(ranked[0], rulebase, case.sheet, proof, repairs_stop=repairs)
    steady = steadiness_of(case, rulebase, concluded, ground, judgement) if steadiness else None
    readings = readings_shown(case, concluded, rulebase)
    ruling = verdict(concluded, plain_names(concluded, rulebase), readings, works_of(concluded, rulebase))
    return Diagnosis(
        case=case.case,
        machine=machine_words(case),
        layout=case.layout,
        drive=case.drive,
        hours=case.hours,
        invented=case.invented,
        rulebase=label(rulebase),
        verdict=ruling,
        ranked=ranked,
        no_fault=judgement.no_fault,
        no_fault_word=rulebase.scales.word_for(judgement.no_fault),
        normal=normal_shown(judgement, rulebase),
        undecided=weighed.undecided,
        unexplained=unexplained_shown(judgement, concluded, rulebase),
        contradictory=concluded.contradictory,
        conflict_bits=judgement.conflict_bits,
        bound=judgement.bound,
        next_checks=checks,
        work=(work,) if work else (),
        cautions=cautions(ruling, work, checks, rulebase),
        void=void_shown(concluded, rulebase),
        ruled_out=ruled_out(concluded, rulebase),
        findings=findings_shown(concluded, rulebase, case),
        readings=readings,
        not_looked_at=not_looked_at(case, concluded, rulebase, readings),
        not_noted=not_noted(case, concluded, rulebase),
        not_counted=not_counted(case, concluded, rulebase, readings),
        steps=steps_shown((*concluded.steps, *bearing), rulebase),
        edges=edges(judgement, ground),
        steadiness=steady,
        machine_name=case.machine_name,
        note=case.note,
        other_notes=other_notes(case, concluded, rulebase),
        sheet=sheet_shown(case, rulebase),
        context=answers_shown(case, concluded, rulebase),
        clashes=clashes(case, concluded, rulebase),
    )


def account(case: CaseRecord, rulebase: RuleBase, wanted: str) -> CauseAccount:
    """Everything that bears on one cause: `cause`, or `cause@place`. Without a place, its likeliest one.

    Raises UnusableInput when there is no such cause or place on this machine, or as `triage` does.
    """
    concluded = conclude(case, rulebase)
    ground = machine_network(case, rulebase, concluded)
    with refused(case, rulebase):
        judgement = judge(ground, *known_signs(concluded), weigh=False)
        return cause_account(case, rulebase, ground, judgement, concluded, wanted, label(rulebase), machine_words(case))


def steadiness_of(
    case: CaseRecord, rulebase: RuleBase, concluded: Conclusions, ground: Ground, judgement: Judgement
) -> Steadiness:
    """How often the first place stays first when every frequency is redrawn within what its word allows."""
    from lugwright.belief.steadiness import DRAWS, steadiness
    from lugwright.plan.steady import steadiness_shown

    found = steadiness(
        rulebase,
        ground,
        judgement.evidence,
        layout=case.layout,
        drive=case.drive,
        context=concluded.context,
        extents=extents_seen(concluded),
    )
    return steadiness_shown(found, DRAWS)


def bearing_links(ground: Ground, judgement: Judgement) -> tuple[list[str], list[tuple[str, str, str]]]:
    """The seen signs and every link from one of them to a cause that is not ruled out."""
    network, words = ground.network, ground.words
    seen = judgement.evidence.seen
    links = [
        (network.signs[sign], network.causes[row], words[row, sign])
        for sign in seen
        for row in ground.linked(sign)
        if network.prior[row].sum() > 0
    ]
    return [network.signs[sign] for sign in seen], links


def worth_working(probability: float, no_fault: float) -> bool:
    """Whether a first cause is likely enough to print work for it: more likely than not, and than no fault."""
    return probability >= 0.5 and probability > no_fault
