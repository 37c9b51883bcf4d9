"""How steady the first place of a case is, as it is shown."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from lugwright.belief.evidence import Evidence
from lugwright.belief.ground import Ground, Key
from lugwright.belief.steadiness import DRAWS, steadiness
from lugwright.diagnosis import Steadiness

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase


def steady_shown(
    case: CaseRecord,
    rulebase: RuleBase,
    ground: Ground,
    evidence: Evidence,
    *,
    context: Mapping[str, object],
    extents: Mapping[Key, str],
    draws: int = DRAWS,
) -> Steadiness:
    """Redraw every frequency within what its word allows, and tell how often the first place stays first."""
    found = steadiness(
        rulebase,
        ground,
        evidence,
        layout=case.layout,
        drive=case.drive,
        context=context,
        extents=extents,
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
