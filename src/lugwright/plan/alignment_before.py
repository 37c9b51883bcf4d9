"""What the case already shows that must be put right before an adjuster is touched."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.places import Place, axle_of, partner, place_from_key

if TYPE_CHECKING:
    from lugwright.diagnosis import Diagnosis, FindingShown
    from lugwright.rulebase.load import RuleBase

#: Checks whose signs speak against turning a screw, and how such a sign is observed (empty: in any way).
#: common practice: clean, tight, without play, straight, toe and tension set; an adjuster otherwise moves the error.
BEFORE: tuple[tuple[str, str], ...] = (
    ("debris-look", ""),
    ("fastener-check", ""),
    ("tension", ""),
    ("toe", ""),
    ("pivot-play-check", ""),
    ("turn-repeat", ""),
    ("bearing-play", "measure"),
    ("wash-and-listen", "measure"),
    ("frame-straightness", ""),
)
#: The check whose signs on the partner unit count as well. common practice: tension alike left and right.
BOTH_UNITS = "tension"


def unmet(answer: Diagnosis, rulebase: RuleBase, unit: str) -> tuple[str, ...]:
    """What was found at this unit or its axle that speaks against aligning, each with its place and its reading."""
    rows = []
    for name, way in BEFORE:
        check = rulebase.checks.get(name)
        for found in answer.findings if check else ():
            if check is None or found.state != "seen" or found.symptom not in check.decides:
                continue
            observed = rulebase.symptoms[found.symptom].by
            units = (unit, partner(unit)) if name == BOTH_UNITS else (unit,)
            if way in ("", observed) and any(_touches(place_from_key(found.place), one) for one in units):
                rows.append(f"{found.name}, {found.place_words}{_measured(answer, found)}.")
    return tuple(dict.fromkeys(rows))


def limits_of_use(answer: Diagnosis) -> tuple[str, ...]:
    """The limits of use that the verdict of the case sets, for a person who is about to drive."""
    reasons = [one for one in answer.verdict.reasons if one.action == "limit-use"]
    return tuple(dict.fromkeys(f"{one.heading}. {one.limit}".strip() for one in reasons))


def _touches(place: Place, unit: str) -> bool:
    """Whether a sign at this place is one of the unit: on it, on its axle, or on the whole machine."""
    if place.unit:
        return place.unit == unit
    return place.axle in ("", axle_of(unit)) and not place.hand


def _measured(answer: Diagnosis, found: FindingShown) -> str:
    """The reading behind a finding, in brackets; empty where it was seen."""
    texts = [one.text for one in answer.readings if found.key in one.findings and not one.void]
    return f" ({'; '.join(texts)})" if texts else ""
