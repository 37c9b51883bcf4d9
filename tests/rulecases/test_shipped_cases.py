"""The cases beside the shipped rules."""

from __future__ import annotations

from functools import cache

import pytest

from lugwright.chaining.conclude import conclude
from lugwright.rulebase.load import load
from lugwright.rulecases.bench import Bench
from lugwright.rulecases.book import LoadedCase, load_cases
from lugwright.rulecases.report import plain, result_lines
from lugwright.rulecases.run import Results, run
from lugwright.triage import triage

RULEBASE = load()
CASES = load_cases(RULEBASE)
BENCH = Bench(RULEBASE)
#: Every fifth case, so that the slow comparison stays short: both layouts and every file are among them.
SOME = CASES[::5]


@cache
def results() -> Results:
    """Every case, run once, and what they exercise."""
    return run(RULEBASE, CASES, bench=BENCH, covering=True)


def test_every_case_beside_the_shipped_rules_passes() -> None:
    assert not results().failed, plain(result_lines(results(), RULEBASE.label))


@pytest.mark.parametrize("case", SOME, ids=lambda case: case.name)
def test_the_short_way_gives_the_answer_of_triage(case: LoadedCase) -> None:
    answer, full = BENCH.answer(case.record), triage(case.record, RULEBASE)
    assert [(one.cause, one.place) for one in full.ranked] == list(answer.order[: len(full.ranked)])
    assert [answer.likely[one.cause, one.place] for one in full.ranked] == pytest.approx(
        [one.probability for one in full.ranked], abs=6e-7
    )
    assert answer.no_fault == pytest.approx(full.no_fault, abs=1e-9)
    assert answer.undecided == (full.undecided is not None)
    assert answer.checks == tuple(one.check for one in full.next_checks)
    assert (answer.verdict.action, len(answer.verdict.reasons)) == (full.verdict.action, len(full.verdict.reasons))


@pytest.mark.parametrize("case", SOME, ids=lambda case: case.name)
def test_an_engine_that_is_used_again_gives_the_same_steps(case: LoadedCase) -> None:
    assert conclude(case.record, RULEBASE, BENCH.engine(case.record)) == conclude(case.record, RULEBASE)


def test_every_case_is_written_for_a_machine_that_does_not_exist() -> None:
    for case in CASES:
        assert case.record.machine_name == "a machine without a name"
        assert not case.record.sheet or case.record.sheet.invented


def test_every_cause_is_tried_plain_and_mild_and_against_its_double() -> None:
    covered = results().coverage
    assert covered is not None
    assert covered.causes.missing == ()


def test_every_chaining_rule_fires_in_a_case_and_stays_silent_in_another() -> None:
    covered = results().coverage
    assert covered is not None
    assert covered.rules_fire.missing == ()
    assert covered.rules_silent.missing == ()
