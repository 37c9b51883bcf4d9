"""Cases for the tests of what to look at next; invented."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from lugwright.casefile.load import CaseRecord, case_from_text, load_case
from lugwright.looking.insight import Insight, insight
from lugwright.plan.next_checks import Weighed, weighed_checks
from lugwright.rulebase.load import load

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

ROOT = Path(__file__).resolve().parents[2]


#: A belt charged too far on a two-track, and a bearing that begins to feel it.
TIGHT = """
context: {visit: complaint, roading-share: 20 %, tension-changed: raised}
seen:
  - {symptom: belt-over-tight, unit: left}
  - {symptom: wheel-bearing-play, unit: left, wheel: front-idler, extent: few}
"""


@cache
def shipped() -> RuleBase:
    return load()


def example(name: str) -> CaseRecord:
    return load_case(ROOT / "examples" / f"{name}.yaml", shipped())


def written(rows: str, layout: str = "four-track", drive: str = "positive") -> CaseRecord:
    head = f"case: made-up\ninvented: true\nmachine: {{name: Unit 1, layout: {layout}, drive: {drive}}}\n"
    return case_from_text(head + rows, "made-up.yaml", shipped())


def weighed(case: CaseRecord) -> tuple[Insight, Weighed]:
    seen = insight(case, shipped())
    return seen, weighed_checks(case, shipped(), seen.ground, seen.judgement, seen.concluded)
