"""Signs that nobody has looked at yet, and what each would do to one cause: rules that would fire on it included."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from lugwright.belief.ground import Ground, Key
from lugwright.belief.judge import Judgement, evidence_of
from lugwright.belief.posterior import ImpossibleEvidence, TooWide, outcomes, posterior
from lugwright.casefile.record import Finding
from lugwright.chaining.conclude import Conclusions, conclude, engine_for
from lugwright.diagnosis import OpenSign
from lugwright.issues import Spot
from lugwright.plan.candidates import done_at
from lugwright.plan.confirm import not_now
from lugwright.plan.machine import known_signs, machine_network
from lugwright.rulebase.rules import Absent, Seen, Verdict

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.chaining.engine import Engine
    from lugwright.rulebase.load import RuleBase

#: Open signs tried; a sign that the cause shows less often than this is not tried.
MOST_OPEN, LEAST_LINK = 40, 0.02
#: Signs for which the whole answer is worked out anew because rules would conclude more from them.
MOST_CHAINED = 16


def open_signs(
    row: int,
    case: CaseRecord,
    ground: Ground,
    judgement: Judgement,
    rulebase: RuleBase,
    concluded: Conclusions,
) -> tuple[OpenSign, ...]:
    """Signs of the cause in a row that are not known, by how far seeing them would lift it.

    Where a rule would conclude more from a sign, the figure is that of the case with the sign written into it.
    """
    evidence = judgement.evidence
    known = {*evidence.seen, *evidence.absent}
    weight = ground.shows[row].max(axis=0)
    signs = [sign for sign in range(len(ground.signs)) if sign not in known and weight[sign] > LEAST_LINK]
    signs = sorted(signs, key=lambda sign: (-round(float(weight[sign]), 9), sign))[:MOST_OPEN]
    told = outcomes(ground.network, evidence, signs, tolerance=1e-7)
    if_seen = {ground.signs[one.sign]: float(one.if_seen[row]) for one in told}
    if_absent = {ground.signs[one.sign]: float(one.if_absent[row]) for one in told}
    anew = _Anew(case, rulebase, concluded, ground.causes[row])
    if_seen |= anew.figures("seen", sorted(if_seen, key=lambda key: (-if_seen[key], key)))
    if_absent |= anew.figures("absent", sorted(if_absent, key=lambda key: (if_absent[key], key)))
    found = []
    for one in told:
        key = ground.signs[one.sign]
        symptom, place = key
        check, minutes, waits = _check(key, case, rulebase, concluded)
        at = "" if place.key == "machine" else f", {place.words}"
        found.append(
            OpenSign(
                finding=f"{symptom}@{place.key}",
                words=f"{rulebase.symptoms[symptom].name}{at}",
                probability=round(float(one.probability), 6),
                if_seen=round(if_seen[key], 6),
                if_absent=round(if_absent[key], 6),
                check=check,
                check_name=rulebase.checks[check].name if check else "",
                minutes=minutes,
                not_now=waits,
            )
        )
    return tuple(sorted(found, key=lambda one: (-one.if_seen, one.finding)))


class _Anew:
    """A case with one sign more, chained and weighed again, for one cause."""

    def __init__(self, case: CaseRecord, rulebase: RuleBase, before: Conclusions, cause: Key) -> None:
        self.case, self.rulebase, self.before, self.cause = case, rulebase, before, cause

    @cached_property
    def engine(self) -> Engine:
        return engine_for(self.rulebase, self.case.sheet)

    @cached_property
    def asked_for(self) -> set[str]:
        """Signs that some rule asks for that says more than a verdict."""
        return {
            one.seen if isinstance(one, Seen) else one.absent
            for rule in self.rulebase.rules.values()
            if not all(isinstance(said, Verdict) for said in rule.then)
            for one in (*rule.when, *rule.unless)
            if isinstance(one, (Seen, Absent))
        }

    def figures(self, state: Literal["seen", "absent"], keys: list[Key]) -> dict[Key, float]:
        """The cause with each sign in a state, for those signs from which rules conclude more."""
        found: dict[Key, float] = {}
        for key in keys:
            if len(found) == MOST_CHAINED:
                break
            value = self._figure(key, state) if key[0] in self.asked_for else None
            if value is not None:
                found[key] = value
        return found

    def _figure(self, key: Key, state: Literal["seen", "absent"]) -> float | None:
        more = Finding(*key, state, "seen" if state == "seen" else "not_seen", Spot(self.case.file))
        findings = sorted((*self.case.findings, more), key=lambda one: (one.symptom, one.place))
        after = conclude(replace(self.case, findings=tuple(findings)), self.rulebase, self.engine)
        if _facts(after) == {*_facts(self.before), (*key, state)} and _rates(after) == _rates(self.before):
            return None
        ground = machine_network(self.case, self.rulebase, after)
        seen, absent = known_signs(after)
        try:
            weighed = posterior(ground.network, evidence_of(ground, seen, absent), tolerance=1e-7)
        except (ImpossibleEvidence, TooWide):
            return None
        return min(1.0, max(0.0, float(weighed.marginal[ground.causes.index(self.cause)])))


def _facts(one: Conclusions) -> set[tuple[str, object, str]]:
    return {(found.symptom, found.place, found.state) for found in one.findings}


def _rates(one: Conclusions) -> tuple[object, ...]:
    """What bears on the rates of causes."""
    return {*one.shifts}, {(cause, place) for cause, place, _ in one.excluded}, dict(one.context)


def _check(key: Key, case: CaseRecord, rulebase: RuleBase, concluded: Conclusions) -> tuple[str, float, str]:
    """The quickest check that settles a sign and would mean something there, its minutes, and why it has to wait.

    One that can be done now comes before any that has to wait; empty where there is none.
    """
    symptom, place = key
    void = set(concluded.void)
    choice = []
    for name, entry in rulebase.checks.items():
        if symptom in entry.decides and (name, place.unit) not in void:
            waits = [not_now(name, at, case, rulebase, concluded) for at in done_at(entry.where, place, case.layout)]
            why = next((one for one in waits if one), "")
            choice.append((bool(why), entry.minutes + entry.set_up_minutes, name, why))
    _, minutes, check, why = min(choice, default=(False, 0.0, "", ""))
    return check, minutes, why
