"""What an answer says in words: what carries a cause, where a clash comes from, units, answers, and one heading for one
reading.
"""

from __future__ import annotations

import re

from lugwright.casefile.load import case_from_text
from lugwright.diagnosis import Diagnosis, Reason, VerdictShown
from lugwright.report.account_text import whynot_lines
from lugwright.report.page.html import page_html
from lugwright.report.page.markdown import page_markdown
from lugwright.report.text import TOGETHER, diagnosis_lines
from lugwright.report.trace_text import trace_lines
from lugwright.rulebase.load import load
from lugwright.triage import account, triage

TWO = "case: made-up\ninvented: true\nmachine: {name: one, layout: two-track, drive: friction, sheet: demo-two-track}\n"
FOUR = (
    "case: made-up\ninvented: true\nmachine: {name: one, layout: four-track, drive: positive, sheet: demo-four-track}\n"
)


def answer(text: str) -> Diagnosis:
    rules = load()
    return triage(case_from_text(text, "made-up.yaml", rules), rules)


def terminal(one: Diagnosis) -> str:
    return " ".join(f"{line.label} {line.text} {line.right}" for line in diagnosis_lines(one))


CAMBER = (
    TWO
    + """
context: {visit: complaint, belt-hours: 2100 h, gauge: wide, heavy-hitch: yes}
seen:
  - {symptom: unit-leans-in}
  - {symptom: tread-half-wear, unit: all, side: inboard}
  - {symptom: roller-one-row-wear, unit: all, side: inboard}
"""
)


def test_a_cause_that_several_signs_carry_names_them_although_none_is_needed_alone() -> None:
    # common practice: half-worn treads, one roller row and lean-in on both units together mean a bending axle
    one = answer(CAMBER)
    assert one.ranked[0].probability > 0.995
    assert not [row for row in one.ranked[0].without if row.speaks == "for"]
    assert 2 <= len(one.ranked[0].together) <= 3
    for text in (terminal(one), page_markdown(one)):
        assert f"{TOGETHER}:".casefold() in text.casefold()
    assert "One half of the tread lower (left, inboard; right, inboard)" in terminal(one)


def test_every_likely_cause_has_something_that_speaks_for_it() -> None:
    one = answer(CAMBER)
    first = one.ranked[0]
    lines = list(diagnosis_lines(one))
    at = next(index for index, line in enumerate(lines) if first.name in line.text)
    assert lines[at + 1].label == "for"


CLASH = (
    FOUR
    + """
seen:
  - {symptom: lug-face-even-polish, unit: all}
  - {symptom: lug-face-scuff, unit: front-left, side: outboard}
"""
)


def test_a_clash_names_the_rule_and_the_sign_it_came_from_where_nobody_noted_both() -> None:
    one = answer(CLASH)
    (clash,) = one.clashes
    assert clash.finding == one.contradictory[0]
    assert clash.seen_from == ("noted",)
    assert clash.absent_from == ("rule even-polish-is-no-scuff, from Even polish on both lug faces, front-left",)
    for text in (terminal(one), page_markdown(one).replace("\\", "")):
        assert (
            "Scuffed lug face, front-left, outboard: noted as there; not there by rule even-polish-is-no-scuff" in text
        )
        assert "Recorded both as there" not in text


def test_a_reading_against_a_note_names_the_reading() -> None:
    rows = """
not_seen: [{symptom: hub-hot, unit: left}]
measured: [{check: hub-temperature-map, unit: left, hub: 90 °C, peer-1: 55 °C, peer-2: 54 °C}]
"""
    (clash,) = answer(TWO + rows).clashes
    assert clash.absent_from == ("noted",)
    assert "from Heat map of hubs and rims, left:" in clash.seen_from[0]
    assert "hub 90 °C" in clash.seen_from[0]


SLOPE = (
    TWO.replace("drive: friction, sheet: demo-two-track", "drive: positive")
    + """
context: {visit: complaint, belt-hours: 900 h, slope-work: right-uphill}
seen:
  - {symptom: lug-face-scuff, unit: left, side: inboard}
  - {symptom: lug-face-scuff, unit: right, side: outboard, extent: many}
measured:
  - {check: side-slope, slope: 24 %, gauge: 2.0 m, height: 1.3 m, uphill: right}
"""
)


def test_every_figure_of_a_reading_has_its_unit_wherever_a_rule_that_used_it_is_shown() -> None:
    one = answer(SLOPE)
    shown = " ".join(line.text for line in trace_lines(one))
    for text in (page_markdown(one).replace("\\", ""), shown):
        assert not re.search(r"\b(gauge|height|slope|belt-hours|hours)[= ]\d[\d.]*(?![\d.]| ?[a-z°%])", text)
    assert "gauge 2000 mm, height 1300 mm" in page_markdown(one)
    assert "gauge=2000 mm" in shown


def test_an_answer_that_limits_use_is_told_in_words_not_by_its_id() -> None:
    one = answer(FOUR + "context: {came-off: yes}\n")
    assert one.verdict.action == "limit-use"
    (reason,) = one.verdict.reasons
    assert reason.finding == "A belt has come off: yes"
    assert "context came-off" not in terminal(one)


def test_an_answer_behind_a_rule_is_told_in_words_where_a_cause_is_explained() -> None:
    rules = load()
    case = case_from_text(TWO + "context: {belt-hours: 700 h}\n", "made-up.yaml", rules)
    one = account(case, rules, "new-rubber-settling")
    text = " ".join(line.text for line in whynot_lines(one))
    assert one.excluded_by
    assert "Hours on the belts and wheels: 700 h" in text
    assert "context belt-hours" not in text


HUB_FIRE = (
    FOUR.replace("positive", "none").replace(", sheet: demo-four-track", "")
    + """
measured:
  - {check: hub-temperature-map, unit: rear-right, hub: 108 °C, peer-1: 55 °C, peer-2: 52 °C}
"""
)


def test_one_hub_reading_fills_one_stop_although_two_rules_call_for_it() -> None:
    one = answer(HUB_FIRE)
    stops = [reason for reason in one.verdict.reasons if reason.action == "stop"]
    assert len(stops) >= 2  # both rules stay in the record
    heading = "Heat map of hubs and rims (rear-right): hub 108 °C, peer-1 55 °C, peer-2 52 °C"
    assert terminal(one).count(heading) == 1
    assert terminal(one).count("Creep to the nearest safe spot") == 1
    assert page_html(one).count("<h3><span>Heat map of hubs and rims (rear-right)</span>") == 1
    for reason in stops:
        assert reason.rule in page_html(one)


def test_reasons_on_one_thing_stand_together_and_say_each_limit_once() -> None:
    more = Reason(action="stop", place_words="left", finding="Hub", limit="Stop. Keep off.", number="a", rule="one")
    less = more.model_copy(update={"limit": "Stop.", "number": "b", "rule": "two"})
    other = more.model_copy(update={"place_words": "right", "rule": "three"})
    groups = VerdictShown(action="stop", reasons=(less, other, more)).grouped
    assert [[(one.rule, one.limit, one.number) for one in group] for group in groups] == [
        [("one", "Stop. Keep off.", "a"), ("two", "", "b")],
        [("three", "Stop. Keep off.", "a")],
    ]


SLACK = (
    FOUR
    + """
seen:
  - {symptom: belt-sag-slap, unit: rear-left}
  - {symptom: ratcheting, unit: rear-left}
  - {symptom: lug-drive-face-wear, unit: rear-left}
measured:
  - {check: tension, unit: rear-left, pressure: 1250 psi}
  - {check: tension, unit: rear-right, pressure: 1780 psi}
"""
)


def test_the_work_that_puts_the_stop_right_is_not_put_off_by_it() -> None:
    # common practice: a belt that is far too slack stops the machine, and setting the tension is the repair
    one = answer(SLACK)
    assert one.verdict.action == "stop"
    (work,) = one.work
    assert work.repairs_stop
    for text in (terminal(one), page_markdown(one)):
        assert "put right what stops the machine (see the verdict)" not in text
        assert "this work puts right what stops the machine" in text


def test_work_for_another_fault_waits_for_the_stop() -> None:
    one = answer(SLACK.replace("measured:", "  - {symptom: cord-broken, unit: front-left}\nmeasured:"))
    assert one.verdict.action == "stop"
    assert one.work
    assert not one.work[0].repairs_stop
    assert "put right what stops the machine (see the verdict)" in terminal(one)


BESIDE = (
    FOUR
    + """
context: {visit: complaint, belt-hours: 1150 h, slope-work: left-uphill, turning: both-hands, line-of-pull: centred}
seen:
  - {symptom: lug-face-scuff, unit: front-left, side: outboard}
  - {symptom: lug-face-scuff, unit: rear-left, side: outboard}
  - {symptom: lug-face-scuff, unit: front-right, side: inboard}
  - {symptom: lug-face-scuff, unit: rear-right, side: inboard, extent: many}
  - {symptom: idler-flank-polish, unit: rear-right, side: inboard}
measured:
  - {check: lug-clearance, unit: front-left, inboard: 8 mm, outboard: 8 mm}
  - {check: lug-clearance, unit: front-right, inboard: 7 mm, outboard: 8 mm}
  - {check: lug-clearance, unit: rear-right, inboard: 2 mm, outboard: 14 mm}
  - {check: lug-side-temperature, unit: rear-right, inboard: 55 °C, outboard: 43 °C}
"""
)


def test_a_second_likely_cause_is_named_beside_the_work_for_the_first() -> None:
    # common practice: slope work marks every unit alike, and one unit off line is a fault of its own
    one = answer(BESIDE)
    (work,) = one.work
    beside = one.undecided_with(work.cause) or tuple(cause.name for cause in one.likely_beside(work.cause))
    assert any("Idler axle or four-track unit out of line" in text for text in beside)
    lines = [line.text for line in diagnosis_lines(one) if line.label == "beside"]
    assert any("Idler axle or four-track unit out of line" in text for text in lines)
    page = page_markdown(one).split("\n## Work\n")[1].split("\n## ")[0]
    assert "Idler axle or four-track unit out of line" in page


OILY = (
    FOUR
    + """
context: {visit: routine, belt-hours: 2500 h}
seen:
  - {symptom: hub-oil-leak, unit: rear-right, wheel: drive-wheel}
  - {symptom: oil-near-brake, unit: rear-right}
"""
)


def test_a_stop_is_not_talked_down_by_a_no_fault_that_stands_first() -> None:
    """Oil on a brake stops the machine whatever the likeliest cause is; the answer says where to begin."""
    stopped = answer(OILY)
    assert stopped.verdict.action == "stop"
    assert stopped.no_fault >= stopped.ranked[0].probability
    for text in (terminal(stopped), page_markdown(stopped)):
        assert "begin at that place" in text
    sound = answer(TWO + "seen: [{symptom: lug-face-even-polish, unit: all}]\n")
    assert "begin at that place" not in terminal(sound)
