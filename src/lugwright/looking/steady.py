"""How steady the first place of a case is, as it is shown."""

from __future__ import annotations

from lugwright.belief.steadiness import DRAWS, steadiness
from lugwright.diagnosis import Steadiness
from lugwright.looking.insight import Insight
from lugwright.triage import extents_seen


def steady(seen: Insight, draws: int = DRAWS) -> Steadiness:
    """Redraw every frequency within what its word allows, and tell how often the first place stays first."""
    case = seen.case
    found = steadiness(
        seen.rulebase,
        seen.ground,
        seen.judgement.evidence,
        layout=case.layout,
        drive=case.drive,
        context=seen.concluded.context,
        extents=extents_seen(seen.concluded),
        draws=draws,
    )
    notes = []
    if found.draws < draws:
        notes.append(f"{found.draws} redraws only: the findings hang together widely")
    if found.set_aside:
        notes.append(f"{found.set_aside} signs that are common on a sound machine were set aside")
    return Steadiness(
        draws=found.draws,
        first=found.first,
        first_in=found.first_in,
        word=found.word,
        low=found.low,
        high=found.high,
        instead=tuple(name for name, _ in found.firsts if name != found.first)[:3],
        note="; ".join(notes),
    )
