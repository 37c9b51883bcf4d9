"""What bears on one cause at one place: findings, rules, rivals, and the signs that nobody has looked at yet."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from lugwright.belief.ground import Ground, Key
from lugwright.belief.judge import LEADERS, Judgement
from lugwright.belief.posterior import without_each
from lugwright.chaining.conclude import Conclusions, place_of
from lugwright.diagnosis import CauseAccount, NormalShown, RulebaseLabel, RuleSaid, Without
from lugwright.issues import Issue, Spot, UnusableInput, did_you_mean
from lugwright.places import Place, covers, place_from_key
from lugwright.plan.open_signs import open_signs
from lugwright.plan.said import by_ids, said

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase

#: Findings left out one by one, and rivals named.
MOST_ABSENT, RIVALS = 40, 3
#: A change smaller than this is not told, unless the cause stands near 0 or 1, where a small change tells much.
NOTICEABLE, LEAST_TOLD = 0.005, 2e-5


def find_cause(wanted: str, ground: Ground, judgement: Judgement, rulebase: RuleBase) -> int:
    """The row of `cause` or `cause@place`; without a place, the likeliest one.

    Raises UnusableInput that says what is known: no such cause, not on this machine, or not at that place.
    """
    name, at, place_key = wanted.partition("@")
    if name not in rulebase.causes:
        hint = did_you_mean(name, rulebase.causes) or "lugwright rules list causes prints them all"
        if name == "no-fault":
            hint = (
                "no fault is what is left where every cause is absent; ask why of a cause: lugwright triage lists them"
            )
        raise _refused(wanted, "unknown-cause", f"no cause of this rule base is called '{name}'", hint)
    rows = [row for row, (cause, _) in enumerate(ground.causes) if cause == name]
    if not rows:
        entry = rulebase.causes[name]
        where = f"{', '.join(entry.layouts)}; drive {', '.join(entry.drives)}"
        what = f"'{entry.name}' cannot act on this machine: it belongs to {where}"
        raise _refused(wanted, "cause-of-another-machine", what, "look at another cause: lugwright triage")
    if at:
        try:
            place = place_from_key(place_key)
        except ValueError as problem:
            raise _refused(wanted, "unknown-place", str(problem), "") from None
        rows = [row for row in rows if covers(place, ground.causes[row][1])]
        if not rows:
            known = ", ".join(where.key for cause, where in ground.causes if cause == name)
            what = f"'{rulebase.causes[name].name}' does not act at {place_key}"
            raise _refused(wanted, "unknown-place", what, f"one of: {known}")
    now = judgement.posterior.marginal
    return min(rows, key=lambda row: (-round(float(now[row]), 9), ground.network.causes[row]))


def cause_account(
    case: CaseRecord,
    rulebase: RuleBase,
    ground: Ground,
    judgement: Judgement,
    concluded: Conclusions,
    wanted: str,
    label: RulebaseLabel,
    machine: str,
) -> CauseAccount:
    """Everything that bears on one cause. wanted: `cause` or `cause@place`. Raises UnusableInput as `find_cause` does.

    label, machine: how the answer names the rule base and the machine.
    """
    row = find_cause(wanted, ground, judgement, rulebase)
    cause, place = ground.causes[row]
    now = np.round(np.clip(judgement.posterior.marginal, 0.0, 1.0), 9)
    entry = rulebase.causes[cause]
    spot = rulebase.spots.get(f"causes/{cause}")
    faults = [at for at in range(len(now)) if at not in ground.harmless]
    ahead = sorted(
        (at for at in faults if at != row and now[at] > now[row]),
        key=lambda at: (-now[at], ground.network.causes[at]),
    )
    other = [at for at, (name, _) in enumerate(ground.causes) if name == cause and at != row]
    other.sort(key=lambda at: (-now[at], ground.network.causes[at]))
    shifted, excluded = _rules(cause, place, concluded, rulebase)
    return CauseAccount(
        case=case.case,
        machine=machine,
        rulebase=label,
        cause=cause,
        name=entry.name,
        place=place.key,
        place_words=place.words,
        because=entry.because,
        written=f"{spot.file}:{spot.line}" if spot else "",
        probability=round(float(now[row]), 6),
        word=rulebase.scales.word_for(float(now[row])),
        prior=round(float(ground.network.prior[row].sum()), 6),
        rank=len(ahead) + 1,
        of=len(faults),
        normal=row in ground.harmless,
        no_fault=judgement.no_fault,
        without=() if excluded else _without(row, ground, judgement, rulebase, float(now[row])),
        excluded_by=excluded,
        shifted_by=shifted,
        rivals=tuple(_rival(at, ground, rulebase, float(now[at])) for at in ahead[:RIVALS]),
        open_signs=() if excluded else open_signs(row, case, ground, judgement, rulebase, concluded),
        elsewhere=tuple((ground.causes[at][1].words, round(float(now[at]), 6)) for at in other),
    )


def _refused(wanted: str, code: str, what: str, hint: str) -> UnusableInput:
    return UnusableInput([Issue(Spot(wanted), code, what, hint=hint)])


def _rival(row: int, ground: Ground, rulebase: RuleBase, probability: float) -> NormalShown:
    cause, place = ground.causes[row]
    return NormalShown(
        cause=cause,
        name=rulebase.causes[cause].name,
        place_words=place.words,
        probability=round(probability, 6),
        word=rulebase.scales.word_for(probability),
    )


def _words(key: Key, rulebase: RuleBase) -> str:
    symptom, place = key
    at = "" if place.key == "machine" else f", {place.words}"
    return f"{rulebase.symptoms[symptom].name}{at}"


def _without(row: int, ground: Ground, judgement: Judgement, rulebase: RuleBase, now: float) -> tuple[Without, ...]:
    """What the cause would be without each finding; absent signs are tried where this cause or a leader shows them."""
    evidence = judgement.evidence
    rows = [row, *(leader.row for leader in judgement.leaders[:LEADERS])]
    weight = ground.shows[rows].max(axis=(0, 1))
    absent = sorted((sign for sign in evidence.absent if weight[sign] > 0.05), key=lambda sign: (-weight[sign], sign))
    tried = (*evidence.seen, *absent[:MOST_ABSENT])
    if not tried:
        return ()
    table = without_each(ground.network, evidence, tried)
    found = []
    for line, sign in enumerate(tried):
        value = round(float(np.clip(table[line, row], 0.0, 1.0)), 9)
        if abs(value - now) < min(NOTICEABLE, now / 4, max((1 - now) / 4, LEAST_TOLD)) or round(value, 6) == round(
            now, 6
        ):
            continue
        key = ground.signs[sign]
        state = "" if sign in evidence.seen else "not found: "
        found.append(
            Without(
                finding=f"{key[0]}@{key[1].key}",
                words=state + _words(key, rulebase),
                speaks="for" if value < now else "against",
                probability=round(value, 6),
            )
        )
    return tuple(sorted(found, key=lambda one: (-abs(one.probability - round(now, 6)), one.finding)))


def _rules(
    cause: str, place: Place, concluded: Conclusions, rulebase: RuleBase
) -> tuple[tuple[RuleSaid, ...], tuple[RuleSaid, ...]]:
    """The rules that made the cause more or less likely here, and those that excluded it."""
    shifted: list[RuleSaid] = []
    excluded: list[RuleSaid] = []
    for step in concluded.steps:
        for new in (*step.concluded, *step.confirmed):
            if new.kind not in ("shift", "excluded") or new.get("cause") != cause or not covers(place_of(new), place):
                continue
            entry = rulebase.rules.get(step.rule)
            told = RuleSaid(
                rule=step.rule,
                name=entry.name if entry else step.rule,
                says=str(new.get("becomes")) if new.kind == "shift" else "excluded",
                because=entry.because if entry else "",
                basis=entry.basis.words if entry else "",
                written=f"{step.file}:{step.line}",
                used=tuple(by_ids(one, rulebase) for one in step.used),
                used_words=tuple(said(one, rulebase) for one in step.used),
            )
            (shifted if new.kind == "shift" else excluded).append(told)
    return tuple(dict.fromkeys(shifted)), tuple(dict.fromkeys(excluded))
