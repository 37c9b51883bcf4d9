"""Running cases: what passes, what fails, what is said about it, and what no case exercises."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from case_bases import ONE_CASE, changed, loaded

from lugwright.rulecases.bench import Bench
from lugwright.rulecases.book import load_cases
from lugwright.rulecases.report import case_lines, plain, result_lines
from lugwright.rulecases.run import CaseResult, run


def result(folder: Path, text: str) -> CaseResult:
    rulebase = loaded(folder, text)
    (one,) = run(rulebase, load_cases(rulebase)).cases
    return one


def test_a_case_whose_expectations_are_met_passes(tmp_path: Path) -> None:
    one = result(tmp_path, ONE_CASE)
    assert one.passed
    assert [(out.key, out.about) for out in one.outcomes] == [
        ("first", "out-of-line@rear-left"), ("at_least", "out-of-line@rear-left/outboard"), ("no_fault", ""),
        ("verdict", ""), ("fires", "tight-inboard"), ("silent", "young-belt"),
    ]  # fmt: skip
    assert one.deciding == ()


@pytest.mark.parametrize(
    ("change", "key", "got"),
    [
        ({"first": "side-slope"}, "first", "Frame out of line, rear-left, outboard (out-of-line@rear-left/outboard)"),
        ({"at_least": "{out-of-line@rear-left: 99 %}"}, "at_least", " %"),
        ({"no_fault": "{at_least: 99 %}"}, "no_fault", " %"),
        ({"verdict": "stop"}, "verdict", "limit-use: Clearance at the lug (tight-inboard)"),
        ({"fires": "[tight-inboard, young-belt]", "silent": "[]"}, "fires", "it stayed silent"),
        ({"silent": "[tight-inboard]", "fires": "[]"}, "silent", "it fired"),
        ({"at_least": "{out-of-line: 1 %}\n    at_most: {out-of-line: 2 %}"}, "at_most", " %"),
        ({"at_least": "{out-of-line: 1 %}\n    not_first: out-of-line"}, "not_first", "Frame out of line"),
        ({"at_least": "{out-of-line: 1 %}\n    undecided: yes"}, "undecided", "decided"),
        ({"at_least": "{out-of-line: 1 %}\n    next_check: toe"}, "next_check", "clearance"),
        ({"at_least": "{out-of-line: 1 %}\n    excluded: splayed-axle"}, "excluded", "no rule rules it out"),
        (
            {"at_least": "{out-of-line: 1 %}\n    among_first: {n: 1, causes: [splayed-axle@rear-axle]}"},
            "among_first",
            "it stands at ",
        ),
    ],
    ids=lambda value: None if isinstance(value, dict) else value,
)
def test_each_expectation_fails_by_itself_and_says_what_came_out(
    tmp_path: Path, change: dict[str, str], key: str, got: str
) -> None:
    one = result(tmp_path, changed(ONE_CASE, **change))
    assert [miss.key for miss in one.failures] == [key]
    assert got in one.failures[0].got
    assert one.deciding


def test_a_rule_that_stayed_silent_names_the_condition_nothing_fits(tmp_path: Path) -> None:
    one = result(tmp_path, changed(ONE_CASE, fires="[tight-inboard, young-belt]", silent="[]"))
    assert one.deciding == ("young-belt stayed silent: nothing fits its condition 'context: belt-hours, below: 20 h'",)


def test_a_rule_that_was_blocked_names_what_blocks_it(tmp_path: Path) -> None:
    absent = "    not_seen:\n      - {symptom: face-scuff, unit: front-left, side: inboard}\n"
    text = ONE_CASE.replace("    measured:", f"{absent}    measured:")
    one = result(tmp_path, text)
    assert [miss.key for miss in one.failures] == ["verdict", "fires"]
    assert "tight-inboard stayed silent: face-scuff@front-left/inboard absent may block it" in one.deciding


def test_a_wrong_first_cause_names_the_finding_that_matters_most(tmp_path: Path) -> None:
    one = result(tmp_path, changed(ONE_CASE, first="side-slope"))
    leading, expected = one.deciding
    assert leading.startswith("out-of-line@rear-left/outboard is at ")
    assert "without 'One side hot, rear-left, outboard' it would be at" in leading
    assert expected.startswith("side-slope@right-hand is at ")


def test_findings_that_cannot_hold_together_fail_one_case_and_not_the_run(tmp_path: Path) -> None:
    never = ONE_CASE.replace("one-face", "impossible").replace(
        "- {symptom: face-scuff, unit: rear-left, side: outboard}", "- {symptom: pulls-aside}"
    )
    rulebase = loaded(tmp_path, ONE_CASE + never)
    scales = rulebase.scales.model_copy(update={"sound": {**rulebase.scales.sound, "rarely": 0.0}})
    results = run(replace(rulebase, scales=scales), load_cases(rulebase))
    assert [one.case for one in results.failed if one.trouble] == ["impossible"]
    assert "cannot hold together" in results.cases[1].trouble
    assert "it cannot be diagnosed:" in plain(case_lines(results.cases[1]))


def test_the_report_shows_failures_in_full_and_passes_as_a_number(tmp_path: Path) -> None:
    text = ONE_CASE + changed(ONE_CASE, verdict="stop").replace("one-face", "wrong-verdict")
    rulebase = loaded(tmp_path, text)
    results = run(rulebase, load_cases(rulebase))
    printed = plain(result_lines(results, rulebase.label))
    assert "FAIL  wrong-verdict (typical)" in printed
    assert "expected   the verdict is stop" in printed
    assert "got        limit-use: Clearance at the lug (tight-inboard)" in printed
    assert "decided by the verdict rests on: Clearance at the lug, front-right (rule tight-inboard)" in printed
    assert "1 of 2 cases failed." in printed
    assert "one-face" not in printed
    assert "PASS  one-face (typical)" in plain(result_lines(results, rulebase.label, every=True))


def test_coverage_names_what_no_case_exercises(tmp_path: Path) -> None:
    rulebase = loaded(tmp_path)
    found = run(rulebase, load_cases(rulebase), covering=True).coverage
    assert found is not None
    assert "out-of-line (typical)" not in found.causes.missing
    assert "out-of-line (mild)" in found.causes.missing
    assert (found.causes.exercised, found.causes.total) == (1, 9)
    assert found.rules_fire.missing == ("young-belt",)
    assert found.rules_silent.missing == ("tight-inboard",)
    assert found.links.missing == (
        "side-slope: face-scuff", "side-slope: pulls-aside", "splayed-axle: unit-leans", "splayed-axle: face-scuff",
    )  # fmt: skip
    assert found.checks.missing == ("look-over", "toe")


def test_a_rule_that_fires_unnamed_does_not_count_as_exercised(tmp_path: Path) -> None:
    text = changed(ONE_CASE, for_="[out-of-line]", fires="[]")
    rulebase = loaded(tmp_path, text)
    found = run(rulebase, load_cases(rulebase), covering=True).coverage
    assert found is not None
    assert "tight-inboard" in found.rules_fire.missing


def test_where_only_rules_are_expected_no_probability_is_worked_out(tmp_path: Path) -> None:
    text = ONE_CASE[: ONE_CASE.index("  expect:")].replace("typical", "fires").replace("out-of-line, ", "")
    rulebase = loaded(tmp_path, text + "  expect: {fires: [tight-inboard], verdict: limit-use}\n")
    (case,) = load_cases(rulebase)
    assert Bench(rulebase).answer(case.record, case.written.expect).order == ()
    assert run(rulebase, [case]).cases[0].passed


def test_the_same_cases_give_the_same_results_to_the_byte(tmp_path: Path) -> None:
    rulebase = loaded(tmp_path)
    cases = load_cases(rulebase)
    both = [run(rulebase, cases, covering=True, explain_all=True).model_dump_json() for _ in range(2)]
    assert both[0] == both[1]
    assert '"deciding":["' in both[0]
