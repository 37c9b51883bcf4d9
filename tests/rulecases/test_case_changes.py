"""Which cases a change touches, told by meaning against git."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from case_bases import ONE_CASE, base, changed

from lugwright.issues import UnusableInput
from lugwright.rulebase.load import load
from lugwright.rulecases.bench import Bench
from lugwright.rulecases.book import load_cases
from lugwright.rulecases.changed import Change, change_since, touched

SLOPE = """
slope-case:
  sentence: Work along a slope draws the machine aside.
  for: [side-slope]
  kind: typical
  case:
    machine: {layout: two-track, drive: friction}
    context: {slope: yes}
    seen:
      - {symptom: pulls-aside}
  expect:
    first: side-slope
"""


def git(folder: Path, *words: str) -> None:
    who = ("-c", "user.name=A", "-c", "user.email=a@example.org", "-c", "commit.gpgsign=false")
    subprocess.run(["git", *who, *words], cwd=folder, check=True, capture_output=True)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A committed rule base two folders deep, with one case in each of two files."""
    home = base(tmp_path / "yard")
    base(tmp_path / "yard", SLOPE, "second.yaml")
    git(tmp_path, "init", "-q")
    git(tmp_path, "add", ".")
    git(tmp_path, "commit", "-q", "-m", "one")
    return home


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def names(home: Path, revision: str = "HEAD") -> tuple[Change, list[str]]:
    rulebase = load(home)
    change = change_since(rulebase, revision)
    return change, [case.name for case in touched(load_cases(rulebase), change, Bench(rulebase))]


def test_nothing_changed_touches_nothing(home: Path) -> None:
    assert names(home) == (Change(), [])


def test_a_changed_or_new_cases_file_touches_its_own_cases(home: Path) -> None:
    edit(home / "cases" / "second.yaml", "draws", "pulls")
    assert names(home)[1] == ["slope-case"]
    (home / "cases" / "third.yaml").write_text(ONE_CASE.replace("one-face", "third"), encoding="utf-8")
    assert names(home)[1] == ["slope-case", "third"]


def test_what_only_looks_different_touches_nothing(home: Path) -> None:
    edit(home / "causes" / "all.yaml", "out-of-line:\n", "# a remark\nout-of-line:\n")
    edit(home / "chaining" / "all.yaml", "name: Tight inboard", "name:   'Tight inboard'")
    change, chosen = names(home)
    assert not any(change.entries.values())
    assert chosen == []


def test_a_changed_rule_touches_the_cases_that_name_it_or_where_it_could_fire(home: Path) -> None:
    edit(home / "chaining" / "all.yaml", "limit: no roading", "limit: no road at all")
    change, chosen = names(home)
    assert change.entries["chaining"] == {"tight-inboard"}
    assert chosen == ["one-face"]


def test_a_changed_cause_touches_the_cases_that_see_one_of_its_signs(home: Path) -> None:
    edit(home / "causes" / "all.yaml", "beforehand: rare", "beforehand: common")
    change, chosen = names(home)
    assert change.entries["causes"] == {"splayed-axle"}
    assert chosen == ["one-face"]  # it sees face-scuff, which a splayed axle shows; the slope case does not


def test_a_changed_symptom_touches_the_cases_that_note_it(home: Path) -> None:
    edit(home / "symptoms" / "all.yaml", "recognise: The machine drifts.", "recognise: It drifts.")
    assert names(home)[1] == ["slope-case"]


def test_a_rule_that_went_touches_the_cases_where_it_fired(home: Path) -> None:
    text = (home / "chaining" / "all.yaml").read_text(encoding="utf-8")
    (home / "chaining" / "all.yaml").write_text(text[text.index("young-belt:") :], encoding="utf-8")
    edit(home / "cases" / "first.yaml", ", tight-inboard]", "]")
    edit(home / "cases" / "first.yaml", "    fires: [tight-inboard]\n", "")
    edit(home / "cases" / "first.yaml", "    verdict: limit-use\n", "")
    git(home, "add", "cases")
    git(home, "commit", "-q", "-m", "cases only")
    change, chosen = names(home)
    assert change.entries["chaining"] == {"tight-inboard"}
    assert chosen == ["one-face"]


def test_changed_scales_touch_every_case(home: Path) -> None:
    edit(home / "scales.yaml", "often: 0.45", "often: 0.40")
    change, chosen = names(home)
    assert "scales" in change.all
    assert chosen == ["one-face", "slope-case"]


def test_a_revision_may_be_named(home: Path) -> None:
    edit(home / "cases" / "second.yaml", "draws", "pulls")
    git(home, "commit", "-q", "-a", "-m", "two")
    assert names(home)[1] == []
    assert names(home, "HEAD~1")[1] == ["slope-case"]


def test_a_rule_base_that_was_not_there_before_touches_every_case(home: Path) -> None:
    git(home.parent, "mv", "bench", "moved")
    change, chosen = names(home.parent / "moved")
    assert "is not in HEAD" in change.all
    assert chosen == ["one-face", "slope-case"]


def test_an_unknown_revision_is_told_in_words(home: Path) -> None:
    with pytest.raises(UnusableInput, match="git does not know 'no-such-branch'"):
        change_since(load(home), "no-such-branch")


def test_a_revision_is_never_read_as_an_option(home: Path) -> None:
    with pytest.raises(UnusableInput, match="git does not know '--output=x'"):
        change_since(load(home), "--output=x")
    assert not list(home.glob("**/x"))


def test_outside_git_it_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path))
    with pytest.raises(UnusableInput, match="run all cases"):
        change_since(load(base(tmp_path, changed(ONE_CASE))))
