"""The cases beside the shipped rules."""

from __future__ import annotations

import pytest

from lugwright.chaining.conclude import conclude
from lugwright.rulebase.load import load
from lugwright.rulecases.bench import Bench
from lugwright.rulecases.book import LoadedCase, load_cases
from lugwright.rulecases.report import plain, result_lines
from lugwright.rulecases.run import run
from lugwright.triage import triage

RULEBASE = load()
CASES = load_cases(RULEBASE)
BENCH = Bench(RULEBASE)
#: Every fifth case, so that the slow comparison stays short: both layouts and every file are among them.
SOME = CASES[::5]


def test_every_case_passes_every_cause_is_tried_three_ways_and_every_rule_both_ways() -> None:
    """All cases are run for this one: a cause plain, mild and against its double; a rule firing, and silent."""
    results = run(RULEBASE, CASES, bench=BENCH, covering=True)
    assert not results.failed, plain(result_lines(results, RULEBASE.label))
    assert results.coverage is not None
    assert results.coverage.causes.missing == ()
    assert results.coverage.rules_fire.missing == ()
    assert results.coverage.rules_silent.missing == ()


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
