"""The reasons of a verdict: each can be told from the next, says what it rests on, and the weightiest stand first."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from report_answers import example, shipped, small

from lugwright.casefile.load import load_case
from lugwright.diagnosis import Diagnosis, Reason, VerdictShown
from lugwright.plan.verdict import TWO_LIMITS
from lugwright.report.page.blocks import Facts, Heading, Table
from lugwright.report.page.markdown import page_markdown
from lugwright.report.page.sections import sections
from lugwright.report.text import LATER, diagnosis_lines
from lugwright.triage import triage

HEAD = "case: hot-hub\nmachine: {name: Machine 7, layout: two-track, drive: friction, hours: 900}\nseen:\n"


def answered(folder: Path, *seen: str) -> Diagnosis:
    case = folder / "case.yaml"
    case.write_text(HEAD + "".join(f"  - {{{one}}}\n" for one in seen), encoding="utf-8")
    return triage(load_case(case, shipped()), shipped())


def test_two_rules_that_stop_for_one_hub_can_be_told_apart(tmp_path: Path) -> None:
    answer = answered(
        tmp_path, "symptom: hub-hot, unit: left", "symptom: hub-oil-contaminated, unit: left",
        "symptom: wheel-bearing-play, unit: left",
    )  # fmt: skip
    stops = [one for one in answer.verdict.reasons if one.action == "stop"]
    assert len(stops) >= 2
    assert max(Counter((one.finding, one.place_words) for one in stops).values()) == 1
    both = next(one for one in stops if one.rule == "hub-hot-with-play")
    names = shipped().symptoms
    assert both.finding == f"{names['hub-hot'].name} + {names['wheel-bearing-play'].name}"


def test_a_reason_names_every_sign_its_rule_used(tmp_path: Path) -> None:
    answer = answered(
        tmp_path, "symptom: carcass-crack-deep, unit: right", "symptom: cord-exposed-rusty, unit: right",
        "symptom: hub-hot, unit: left", "symptom: hub-oil-low, unit: left",
    )  # fmt: skip
    steps = {step.rule: step for step in answer.steps}
    checked = 0
    for one in answer.verdict.reasons:
        step = steps.get(one.rule)
        used = [text.split("@")[0] for text in step.used if " seen" in text] if step else []
        for symptom in used:
            assert shipped().symptoms[symptom].name in one.finding, one.rule
            checked += 1
    assert checked >= 5


def test_two_limits_for_one_sign_are_not_two_limits(tmp_path: Path) -> None:
    answer = answered(tmp_path, "symptom: hub-oil-low, unit: left")
    assert TWO_LIMITS not in [one.rule for one in answer.verdict.reasons]


def many() -> Diagnosis:
    """Two reasons to stop, two limits, one that lets it run; one of them from no rule."""
    reasons = tuple(
        Reason(action=action, place_words="rear-left", finding=f"Sign {number}", measured=measured,  # type: ignore[arg-type]
               limit=f"Keep to {number}.", number=f"Figure {number}.", rule=rule)
        for number, (action, rule, measured) in enumerate(
            [("stop", "face-rubbed", ""), ("stop", "old-belt", "9 mm"), ("limit-use", "face-rubbed", "7 K"),
             ("limit-use", TWO_LIMITS, ""), ("keep-running", "old-belt", "")], 1)
    )  # fmt: skip
    return small().model_copy(update={"verdict": VerdictShown(action="stop", reasons=reasons)})


def test_what_decides_the_verdict_stands_in_full_and_the_rest_in_one_table() -> None:
    blocks = sections(many())[0].blocks
    assert [one.text for one in blocks if isinstance(one, Heading)] == ["Sign 1 (rear-left)", "Sign 2 (rear-left)"]
    (table,) = [one for one in blocks if isinstance(one, Table)]
    assert [row[0] for row in table.rows] == ["Sign 3 (rear-left): 7 K", "Sign 4 (rear-left)", "Sign 5 (rear-left)"]
    assert [row[1] for row in table.rows] == ["limit use", "limit use", "keep running"]
    said = page_markdown(many())
    for number in range(1, 6):
        assert f"Keep to {number}." in said
        assert f"Figure {number}." in said


def test_the_rule_behind_a_reason_is_named_with_its_line_or_as_built_in() -> None:
    blocks = sections(many())[0].blocks
    rules = [text for one in blocks if isinstance(one, Facts) for name, text in one.rows if name == "Rule"]
    assert rules == ["face-rubbed [yard rules], rules/chaining/a.yaml:7", "old-belt, rules/chaining/b.yaml:3"]
    (table,) = [one for one in blocks if isinstance(one, Table)]
    assert table.rows[1][-1].startswith(f"{TWO_LIMITS}, built in")


@pytest.mark.parametrize("action", ["stop", "limit-use", "keep-running"])
def test_a_verdict_with_reasons_of_one_kind_needs_no_table(action: str) -> None:
    reason = Reason(action=action, place_words="", finding="Sign", rule="face-rubbed")  # type: ignore[arg-type]
    answer = small().model_copy(update={"verdict": VerdictShown(action=action, reasons=(reason,))})  # type: ignore[arg-type]
    assert not [one for one in sections(answer)[0].blocks if isinstance(one, Table)]


def test_that_nothing_calls_for_a_limit_is_said_once() -> None:
    said = page_markdown(example("healthy"))
    assert said.lower().count("nothing that was noted calls for a limit") == 1


def test_under_a_stop_the_terminal_names_the_lesser_limits_and_does_not_explain_them(tmp_path: Path) -> None:
    """What a limit allows is no advice while the machine must not move at all; the page keeps it."""
    answer = answered(tmp_path, "symptom: hub-hot, unit: left", "symptom: hub-oil-leak, unit: left")
    assert answer.verdict.action == "stop"
    lines = [line.text for line in diagnosis_lines(answer)]
    assert LATER in lines
    for one in answer.verdict.reasons:
        assert any(text.startswith(one.finding) for text in lines)
        assert (one.limit in lines) == (one.action == "stop")
    limited = answered(tmp_path, "symptom: hub-oil-leak, unit: left")
    assert limited.verdict.action == "limit-use"
    lines = [line.text for line in diagnosis_lines(limited)]
    assert LATER not in lines
    assert all(one.limit in lines for one in limited.verdict.reasons if one.action == "limit-use")
