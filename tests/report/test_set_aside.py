"""A reading that does not count says so, and why, wherever the answer is read."""

from __future__ import annotations

from lugwright.casefile.load import case_from_text
from lugwright.report.page.html import page_html
from lugwright.report.page.markdown import page_markdown
from lugwright.report.text import diagnosis_lines
from lugwright.rulebase.load import load
from lugwright.triage import triage

SHORT_RUN = """
case: short-run
machine: {name: a machine, layout: two-track, drive: friction, hours: 1270 h, sheet: demo-two-track}
measured:
  - {check: lug-clearance, unit: right, inboard: 2 mm, outboard: 13 mm, run: 20 m, brake-or-steering: used}
"""


def test_a_reading_from_a_bad_coast_is_set_aside_with_its_reason_everywhere() -> None:
    rulebase = load()
    answer = triage(case_from_text(SHORT_RUN, "short-run.yaml", rulebase), rulebase, steadiness=False)
    (reading,) = answer.readings
    assert reading.refused == "straight run of 20 m, at least 50 m is needed; brake or steering was used"
    assert reading.findings == ()
    terminal = "\n".join(line.text for line in diagnosis_lines(answer))
    assert f"Not counted: {reading.refused}. Take it again." in terminal
    for page in (page_html(answer), page_markdown(answer)):
        assert f"does not count: {reading.refused}; take it again" in page
