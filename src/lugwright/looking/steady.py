"""How steady the first place of a case is that was worked out already."""

from __future__ import annotations

from lugwright.belief.steadiness import DRAWS
from lugwright.diagnosis import Steadiness
from lugwright.looking.insight import Insight
from lugwright.plan.steady import steady_shown
from lugwright.triage import extents_seen


def steady(seen: Insight, draws: int = DRAWS) -> Steadiness:
    """Redraw every frequency within what its word allows, and tell how often the first place stays first."""
    return steady_shown(
        seen.case,
        seen.rulebase,
        seen.ground,
        seen.judgement.evidence,
        context=seen.concluded.context,
        extents=extents_seen(seen.concluded),
        draws=draws,
    )
