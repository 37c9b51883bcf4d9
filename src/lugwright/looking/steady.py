"""How steady the first place of a case is that was worked out already."""

from __future__ import annotations

from lugwright.diagnosis import Steadiness
from lugwright.looking.insight import Insight
from lugwright.triage import steadiness_of


def steady(seen: Insight) -> Steadiness:
    """Redraw every frequency within what its word allows, and tell how often the first place stays first."""
    return steadiness_of(seen.case, seen.rulebase, seen.concluded, seen.ground, seen.judgement)
