"""A reading too close to a limit to call is told wherever a person looks, with how to take it again."""

from __future__ import annotations

import pytest

from lugwright.casefile.load import case_from_text
from lugwright.diagnosis import Diagnosis
from lugwright.looking.next_plan import next_plan
from lugwright.report.next_text import next_lines
from lugwright.report.page.html import page_html
from lugwright.report.page.markdown import page_markdown
from lugwright.report.text import diagnosis_lines
from lugwright.rulebase.load import load
from lugwright.triage import triage

HEAD = """
case: near-the-limit
invented: true
machine: {name: a machine, layout: two-track, drive: friction, hours: 1500 h, sheet: demo-two-track}
seen: [{symptom: lug-face-scuff, unit: left, side: outboard}]
measured:
"""
#: common practice: toe within 6 mm on a tape that is good to 1 mm; a band of 190 to 210 bar, slack from 10 % under.
READINGS = {
    "toe": ("{check: toe, leading: 2216 mm, trailing: 2209 mm}", "coasted to rest"),
    "tension": ("{check: tension, unit: right, pressure: 168 bar}", "wheels clean"),
}


def answer(reading: str) -> Diagnosis:
    rules = load()
    return triage(case_from_text(f"{HEAD}  - {reading}\n", "near.yaml", rules), rules)


@pytest.mark.parametrize("check", sorted(READINGS))
def test_triage_page_and_next_say_that_a_reading_is_too_close_to_call(check: str) -> None:
    reading, care = READINGS[check]
    rules = load()
    one = answer(reading)
    (shown,) = one.readings
    assert shown.too_close
    assert shown.leaves_open
    plan = next_plan(case_from_text(f"{HEAD}  - {reading}\n", "near.yaml", rules), rules)
    assert [row.check for row in plan.too_close] == [check]
    terminal = [line.text for line in diagnosis_lines(one) if line.label == "Too close"]
    ahead = [line.text for line in next_lines(plan, rules, "caution") if line.label == "Too close"]
    assert len(terminal) == len(ahead) == 1
    for text in (*terminal, *ahead, page_html(one), page_markdown(one)):
        assert "Too close to a limit to call" in text
        assert "easure it again, twice" in text
        assert care in text


def test_a_clear_reading_is_not_called_too_close() -> None:
    for trailing in (2205, 2216):
        one = answer(f"{{check: toe, leading: 2216 mm, trailing: {trailing} mm}}")
        assert not one.readings[0].too_close
        assert not [line for line in diagnosis_lines(one) if line.label == "Too close"]


def test_a_reading_that_decides_what_it_can_is_not_called_too_close() -> None:
    # the smallest gap lies near the least that is allowed, and still shows that the plate is clear of the wheel
    (close,) = answer("{check: scraper-gap, unit: left, largest: 12 mm, smallest: 3 mm}").readings
    assert "least-state too-close" in close.means
    assert "scraper-touches@left" in close.findings
    assert not close.too_close


def test_a_reading_that_cannot_be_taken_again_on_a_standing_machine_says_so() -> None:
    rules = load()
    stop = HEAD.replace("seen: [", "seen: [{symptom: fastener-loose, unit: left}, ")
    one = triage(case_from_text(f"{stop}  - {READINGS['toe'][0]}\n", "near.yaml", rules), rules)
    assert one.verdict.action == "stop"
    (text,) = [line.text for line in diagnosis_lines(one) if line.label == "Too close"]
    assert "Not now: the machine must stand" in text
