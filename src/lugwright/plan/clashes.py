"""Signs that are there and not there at one place, and where each of the two states comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.belief.ground import Key
from lugwright.chaining.conclude import Conclusions, place_of
from lugwright.diagnosis import NOTED, Clash
from lugwright.places import place_from_key
from lugwright.plan.said import said

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase


def clashes(case: CaseRecord, concluded: Conclusions, rulebase: RuleBase) -> tuple[Clash, ...]:
    """Every sign that counts neither way because it is there and not there, with where each state comes from."""
    rows = []
    for finding in concluded.contradictory:
        symptom, _, at = finding.partition("@")
        place = place_from_key(at)
        name = rulebase.symptoms[symptom].name
        rows.append(
            Clash(
                finding=finding,
                words=name if place.key == "machine" else f"{name}, {place.words}",
                seen_from=_sources((symptom, place), "seen", case, concluded, rulebase),
                absent_from=_sources((symptom, place), "absent", case, concluded, rulebase),
            )
        )
    return tuple(rows)


def _sources(key: Key, state: str, case: CaseRecord, concluded: Conclusions, rulebase: RuleBase) -> tuple[str, ...]:
    """That a state was noted, and the rules that concluded it with what each used.

    A part that was looked over says nothing of a sign that is named as seen, so that it is no source of a clash.
    """
    written = [one for one in case.findings if (one.symptom, one.place, one.state) == (*key, state)]
    found = [NOTED] if any(one.source != "looked_at" for one in written) else []
    for step in concluded.steps:
        told = [one for one in (*step.concluded, *step.confirmed) if one.kind == "finding"]
        if any((one.get("symptom"), place_of(one), one.get("state")) == (*key, state) for one in told):
            used = "; ".join(words for one in step.used if (words := said(one, rulebase)))
            found.append(f"rule {step.rule}, from {used}")
    return tuple(dict.fromkeys(found))
