"""One small broken case file for each mistake; the whole message is what is tested."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_rulebase import small_rulebase

from lugwright.casefile import faults
from lugwright.casefile.load import load_case
from lugwright.issues import UnusableInput

BROKEN = Path(__file__).parents[1] / "broken" / "cases"
FILES = [path for path in sorted(BROKEN.iterdir()) if path.suffix == ".yaml"]


def told(path: Path) -> UnusableInput:
    with pytest.raises(UnusableInput) as caught:
        load_case(path, small_rulebase(), shown=path.name)
    return caught.value


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_whole_message(path: Path) -> None:
    assert str(told(path)) + "\n" == path.with_suffix(".txt").read_text(encoding="utf-8")


def test_every_code_of_a_case_file_has_a_broken_file() -> None:
    shown = {issue.code for path in FILES for issue in told(path).issues}
    assert sorted(set(faults.WHY) - shown) == []


def test_every_message_has_its_broken_file() -> None:
    assert {path.stem for path in FILES} == {path.stem for path in BROKEN.glob("*.txt")}
