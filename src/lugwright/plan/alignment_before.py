"""What the case already shows that must be put right before an adjuster is touched."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.places import Place, met_at, partner, place_from_key

if TYPE_CHECKING:
    from lugwright.diagnosis import Diagnosis, FindingShown
    from lugwright.rulebase.load import RuleBase

#: The work that the loop does, whose `not_while` says which signs speak against turning a screw.
WORK = "align-one-unit"
#: The check whose signs on the partner unit count as well. common practice: tension alike left and right.
BOTH_UNITS = "tension"


def unmet(answer: Diagnosis, rulebase: RuleBase, unit: str) -> tuple[str, ...]:
    """What was found at this unit or its axle that speaks against aligning, each with its place and its reading."""
    work, tension = rulebase.procedures.get(WORK), rulebase.checks.get(BOTH_UNITS)
    rows = []
    for symptom in work.not_while if work else ():
        units = (unit, partner(unit)) if tension and symptom in tension.decides else (unit,)
        for found in answer.findings:
            at = place_from_key(found.place)
            if found.state == "seen" and found.symptom == symptom and any(met_at(at, Place(unit=one)) for one in units):
                rows.append(f"{found.name}, {found.place_words}{_measured(answer, found)}.")
    return tuple(dict.fromkeys(rows))


def limits_of_use(answer: Diagnosis) -> tuple[str, ...]:
    """The limits of use that the verdict of the case sets, for a person who is about to drive."""
    reasons = [one for one in answer.verdict.reasons if one.action == "limit-use"]
    return tuple(dict.fromkeys(f"{one.heading}. {one.limit}".strip() for one in reasons))


def _measured(answer: Diagnosis, found: FindingShown) -> str:
    """The reading behind a finding, in brackets; empty where it was seen."""
    texts = [one.text for one in answer.readings if found.key in one.findings and not one.void]
    return f" ({'; '.join(texts)})" if texts else ""
