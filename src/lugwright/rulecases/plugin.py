"""Cases beside the rules as pytest items, for a trainer's own repository.

Collects `cases/*.yaml` of every folder that is a rule base (it holds `about.yaml` and `scales.yaml`) or an overlay over
the shipped one (it holds `overlay.yaml`), and nothing else.
Each case is one item named by its sentence; a failure prints what was expected, what came out and what decided it.
Only pytest is imported when the plugin is loaded; everything else waits for the first such file.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from lugwright.rulecases.bench import Bench
    from lugwright.rulecases.book import LoadedCase
    from lugwright.rulecases.run import CaseResult

_BENCHES = pytest.StashKey[dict[Path, "tuple[Bench, tuple[LoadedCase, ...]]"]]()


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> pytest.Collector | None:
    """Take `cases/*.yaml` beside `about.yaml` and `scales.yaml`, or beside `overlay.yaml`."""
    if file_path.suffix != ".yaml" or file_path.parent.name != "cases":
        return None
    home = file_path.parent.parent
    whole = (home / "about.yaml").is_file() and (home / "scales.yaml").is_file()
    if not whole and not (home / "overlay.yaml").is_file():
        return None
    return CasesFile.from_parent(parent, path=file_path)


class CasesFile(pytest.File):
    """One file of cases. A fault anywhere in the rule base or its cases is a collection error, told in words."""

    def collect(self) -> Iterator[pytest.Item]:
        """One item for each case of this file, in the order written."""
        from lugwright.issues import UnusableInput

        try:
            bench, cases = _loaded(self.path.parent.parent, self.config)
        except UnusableInput as problem:
            raise self.CollectError(str(problem)) from None
        for case in cases:
            if Path(case.spot.file) == self.path:
                sentence = " ".join(case.written.sentence.split())
                yield CaseItem.from_parent(self, name=sentence, case=case, bench=bench)


class CaseFailed(Exception):
    """A case whose expectations were not met."""

    def __init__(self, result: CaseResult) -> None:
        self.result = result
        super().__init__(result.case)


class CaseItem(pytest.Item):
    """One case."""

    def __init__(self, *, case: LoadedCase, bench: Bench, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.case, self.bench = case, bench

    def runtest(self) -> None:
        """Run the case; raises CaseFailed."""
        from lugwright.rulecases.run import run_one

        result, _ = run_one(self.case, self.bench)
        if not result.passed:
            raise CaseFailed(result)

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], style: Any = None) -> Any:
        """Expected, got and what decided it; a stack only for what is not a failed case."""
        if not isinstance(excinfo.value, CaseFailed):
            return super().repr_failure(excinfo, style)
        from lugwright.rulecases.report import case_lines, plain

        return plain(case_lines(excinfo.value.result))

    def reportinfo(self) -> tuple[Path, int, str]:
        """The file and line where the case is written, and its id."""
        return self.path, max(0, self.case.spot.line - 1), self.case.name


def _loaded(home: Path, config: pytest.Config) -> tuple[Bench, tuple[LoadedCase, ...]]:
    """The rule base of a folder and its cases, read once in a run of pytest."""
    from lugwright.rulebase.load import load
    from lugwright.rulecases.bench import Bench
    from lugwright.rulecases.book import load_cases

    known = config.stash.setdefault(_BENCHES, {})
    if home not in known:
        rulebase = load(home)
        known[home] = Bench(rulebase), load_cases(rulebase)
    return known[home]
