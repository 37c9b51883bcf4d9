"""On a machine that must stand no test is offered for which it would move, to prove a cause or to settle a sign."""

from __future__ import annotations

from next_cases import TIGHT, shipped, written

from lugwright.diagnosis import Diagnosis
from lugwright.report.account_text import why_lines
from lugwright.report.page.markdown import page_markdown
from lugwright.report.text import diagnosis_lines
from lugwright.triage import account, triage

LOOSE_IDLER = """
context: {visit: complaint, belt-hours: 700 h, fasteners-touched: yes}
seen:
  - {symptom: lug-face-scuff, unit: right, side: outboard, extent: many}
  - {symptom: idler-flank-polish, unit: right, side: outboard, wheel: front-idler}
SEENmeasured:
  - {check: lug-clearance, unit: right, inboard: 13 mm, outboard: 1 mm, rear-inboard: 3 mm, rear-outboard: 12 mm}
"""
OFF_LINE_AND_OILY = """
context: {visit: complaint, belt-hours: 900 h, slope-work: none, turning: both-hands}
seen:
  - {symptom: lug-face-scuff, unit: right, side: outboard, extent: many}
  - {symptom: idler-flank-polish, unit: right, side: outboard}
  - {symptom: drive-wheel-flank-polish, unit: right, side: outboard}
  - {symptom: oil-near-brake, unit: left}
looked_at:
  - {component: lugs, units: all}
  - {component: idlers, units: all}
  - {component: frame, units: all}
  - {component: fasteners, units: all}
"""
LOOSE = "  - {symptom: fastener-loose, unit: right, wheel: front-idler}\n"


def answer(loose: str = LOOSE) -> Diagnosis:
    case = written(LOOSE_IDLER.replace("SEEN", loose), "two-track", "friction")
    return triage(case, shipped())


def said(one: Diagnosis) -> str:
    return " ".join(line.text for line in diagnosis_lines(one))


def test_a_moved_wheel_is_proved_on_the_standing_machine() -> None:
    # common practice: nobody drives a machine with a loose wheel to listen to it; a rule shows it standing
    one = answer()
    assert one.verdict.action == "stop"
    (work,) = one.work
    assert work.confirm.startswith("Rule from frame to rim, wheel by wheel, right")
    assert work.confirm_not_now == ""


def test_a_proof_for_which_the_machine_drives_waits_while_it_must_stand() -> None:
    one = triage(written(OFF_LINE_AND_OILY, "two-track", "friction"), shipped())
    assert one.verdict.action == "stop"
    (work,) = one.work
    assert work.confirm
    assert "would have to move" in work.confirm_not_now
    for text in (said(one), page_markdown(one)):
        assert "Not now: the machine must stand" in text
        assert "Not measured yet; prove the cause before the work." not in text


def test_the_same_proof_is_offered_where_nothing_stops_the_machine() -> None:
    one = triage(written(TIGHT, "two-track", "friction"), shipped())
    assert one.verdict.action != "stop"
    (work,) = one.work
    assert work.confirm.startswith("Belt tension by gauge or mark, left")
    assert work.confirm_not_now == ""
    assert "Not measured yet; prove the cause before the work." in said(one)


def test_why_names_no_moving_check_as_if_it_could_be_done_on_a_machine_that_must_stand() -> None:
    rules = shipped()
    case = written(LOOSE_IDLER.replace("SEEN", LOOSE), "two-track", "friction")
    found = account(case, rules, "displaced-wheel")
    checked = [one for one in found.open_signs if one.check]
    assert checked
    for one in checked:
        entry = rules.checks[one.check]
        assert one.not_now or not (entry.moves or entry.risk == "high")
    assert any(one.not_now for one in checked)
    text = " ".join(line.text for line in why_lines(found))
    assert "not now: the machine must stand" in text
