"""The tutorial can be followed: every file it gives is written, every command run, every output compared, in order."""

from __future__ import annotations

import doctest
import re
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent / "tools"))

import printed
import refresh_docs
import tutorial

from lugwright.rulebase.layers import shipped_folder

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "authoring.md"
STALE = "run `python tests/tools/refresh_docs.py` and read what it changed"


@pytest.fixture(autouse=True)
def _no_cache(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LUGWRIGHT_CACHE", "off")


def page() -> str:
    return PAGE.read_text(encoding="utf-8")


def test_the_tutorial_can_be_followed_and_prints_what_it_shows(tmp_path: Path) -> None:
    before = {path: path.read_bytes() for path in shipped_folder().rglob("*.yaml")}
    outputs = list(tutorial.follow(page(), tmp_path))
    told = [f"{one.command}\n{found}" for one in outputs if (found := printed.differs(one.shown, one.printed))]
    assert told == [], STALE
    assert len(outputs) == page().count("<!-- prints")
    assert {path: path.read_bytes() for path in before} == before, "the shipped rules were touched"
    assert (tmp_path / "gnawed.dot").read_text(encoding="utf-8").startswith("digraph")
    assert "Tooth marks in the rubber" in (tmp_path / "signs.html").read_text(encoding="utf-8")


def test_every_block_of_the_tutorial_is_run_or_compared() -> None:
    parts = list(tutorial.PART.finditer(page()))
    assert [part["stray"] for part in parts if part["stray"]] == []
    fences = len(re.findall(r"^```", page(), re.M))
    assert fences == 2 * sum(part["change"] is None for part in parts)
    assert page().count("<!-- ") == sum(part["run"] is None for part in parts)


def test_the_tutorial_goes_through_the_whole_bench() -> None:
    """A command of `lugwright rules` that a trainer would not meet here would stay unknown to them."""
    run = {" ".join(row.split()[3:5]) for row in page().splitlines() if row.startswith("$ lugwright")}
    for command in ("check", "new symptom", "new cause", "new chaining", "test", "diff", "draw", "table", "show"):
        assert any(row.startswith(command) for row in run), command
    for command in ("schema", "format"):
        assert any(row.startswith(command) for row in run), command
    for kind in ("typical", "mild", "look-alike", "fires", "silent", "sound"):
        assert f"  kind: {kind}\n" in page()


def test_the_hour_adds_up() -> None:
    minutes = [int(figure) for figure in re.findall(r"^## \d+\. .* \((\d+) minutes\)$", page(), re.M)]
    assert len(minutes) == 10
    assert 50 <= sum(minutes) <= 75


def test_every_page_that_is_followed_is_brought_up_to_date() -> None:
    assert [ROOT / name for name in refresh_docs.TUTORIALS] == [PAGE]


# --- the tool ---------------------------------------------------------------------------------------------------------


def test_the_worked_examples_of_the_tool_come_out() -> None:
    assert doctest.testmod(printed).failed == 0


FILE = "<!-- write: yard/overlay.yaml -->\n```yaml\ntitle: yard\nover: shipped\n```\n"
LIST = "```console\n$ lugwright rules list machines --rules yard\n```\n"


def follow(text: str, folder: Path) -> list[tutorial.Output]:
    return list(tutorial.follow(text, folder))


def test_an_output_is_compared_with_what_the_command_before_it_prints(tmp_path: Path) -> None:
    (one,) = follow(FILE + LIST + "<!-- prints | keep machines -->\n```text\nmachines (0)\n```\n", tmp_path)
    assert one.command == "lugwright rules list machines --rules yard"
    assert printed.differs(one.shown, one.printed).startswith("shown:   machines (0)\nprinted: machines (")
    assert printed.differs(one.printed, one.printed) == ""


def test_a_stale_output_is_made_anew_and_a_passing_figure_is_left(tmp_path: Path) -> None:
    stale = FILE + LIST + "<!-- prints | keep machines:1 -->\n```text\nwheels\n```\n"
    fresh = tutorial.refreshed(stale)
    assert re.search(r"^machines \(\d+\)$", fresh, re.M)
    assert tutorial.refreshed(fresh) == fresh


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (LIST, "error\\[not-a-rule-base\\]"),
        (FILE + LIST + "<!-- prints | exit 1 -->\n```text\n```\n", "ended with 0"),
        ("<!-- prints -->\n```text\n```\n", "no command before it"),
        (FILE + "```text\nfree\n```\n", "line 6: a block without its marker"),
        (FILE + "```console\nlugwright --help\n```\n", "each after a \\$"),
        (FILE + "<!-- change: yard/overlay.yaml -->\nIn it, `titel` becomes `title`.\n\nOn.", "stands once"),
    ],
)
def test_a_step_that_does_not_work_is_told(text: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(tutorial.CannotFollow, match=says):
        follow(text, tmp_path)


def test_a_change_takes_effect(tmp_path: Path) -> None:
    follow(FILE + "<!-- change: yard/overlay.yaml -->\nIn it, `title: yard` becomes `title: hill`.\n\n", tmp_path)
    assert (tmp_path / "yard" / "overlay.yaml").read_text(encoding="utf-8") == "title: hill\nover: shipped\n"
