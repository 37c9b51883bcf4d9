"""Running the cases beside the rules: what was expected, what came out, what decided it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial
from typing import TYPE_CHECKING

from pydantic import BaseModel, ConfigDict

from lugwright.chaining.engine import StepLimitError
from lugwright.issues import UnusableInput
from lugwright.rulecases.answer import Answer
from lugwright.rulecases.bench import Bench
from lugwright.rulecases.compare import Outcome, outcomes
from lugwright.rulecases.coverage import Coverage, coverage
from lugwright.rulecases.deciding import deciding

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulecases.book import LoadedCase


class CaseResult(BaseModel):
    """What became of one case.

    deciding: empty where it was not asked for; trouble: why there is no answer.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    case: str
    sentence: str
    kind: str
    about: tuple[str, ...]
    file: str
    line: int
    passed: bool
    outcomes: tuple[Outcome, ...]
    deciding: tuple[str, ...] = ()
    trouble: str = ""

    @property
    def failures(self) -> tuple[Outcome, ...]:
        """The expectations that were not met."""
        return tuple(one for one in self.outcomes if not one.passed)


class Results(BaseModel):
    """Every case that was run, in the order of the files, and what they exercise (None: not asked for)."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    cases: tuple[CaseResult, ...]
    coverage: Coverage | None = None

    @property
    def failed(self) -> tuple[CaseResult, ...]:
        """The cases that did not pass."""
        return tuple(one for one in self.cases if not one.passed)


def run(
    rulebase: RuleBase,
    cases: Iterable[LoadedCase],
    *,
    covering: bool = False,
    explain_all: bool = False,
    bench: Bench | None = None,
    told: Callable[[], None] | None = None,
) -> Results:
    """Run cases against a rule base.

    covering:    whether to work out what no case exercises; it only means something when all cases are run.
    explain_all: name the deciding finding of cases that pass too; a failing case always has it.
    bench:       one to use again, with its engines; told: called after every case, for a progress line.
    """
    bench = bench or Bench(rulebase)
    results: list[CaseResult] = []
    answers: list[tuple[LoadedCase, Answer]] = []
    for case in cases:
        result, answer = run_one(case, bench, explain=explain_all)
        results.append(result)
        if covering and answer is not None:
            answers.append((case, answer))
        if told:
            told()
    return Results(cases=tuple(results), coverage=coverage(rulebase, answers) if covering else None)


def run_one(case: LoadedCase, bench: Bench, *, explain: bool = False) -> tuple[CaseResult, Answer | None]:
    """One case; an answer that cannot be given makes it fail with the reason instead of stopping the run."""
    written, rulebase = case.written, bench.rulebase
    made = partial(
        CaseResult,
        case=case.name,
        sentence=" ".join(written.sentence.split()),
        kind=written.kind,
        about=written.for_,
        file=case.spot.file,
        line=case.spot.line,
    )
    try:
        answer = bench.answer(case.record, written.expect)
    except (UnusableInput, StepLimitError) as problem:
        return made(passed=False, outcomes=(), trouble=str(problem)), None
    found = outcomes(written.expect, answer, rulebase)
    failing = [one for one in found if not one.passed]
    asked = failing or (found if explain else ())
    why = deciding(case.record, rulebase, answer, asked) if asked else ()
    return made(passed=not failing, outcomes=found, deciding=why), answer
