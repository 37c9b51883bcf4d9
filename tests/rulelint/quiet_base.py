"""A small rule base without a flaw, and small edits of it. Its files are laid over the sound base of tests/rulebase."""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from pathlib import Path

import pytest

from lugwright.issues import Issue, render, summary
from lugwright.rulebase.load import RuleBase, inspect
from lugwright.rulelint.run import lint

HERE = Path(__file__).parent
SOUND = HERE.parent / "rulebase" / "sound"
QUIET = HERE / "quiet"

#: A file of the rule base, a piece of it, and what stands there instead. An empty piece: the text is added at the end.
Edit = tuple[str, str, str]


@pytest.fixture(autouse=True)
def no_cache(monkeypatch):
    """Tests that import this read files, not what an earlier run kept."""
    monkeypatch.setenv("LUGWRIGHT_CACHE", "off")


def lay(folder: Path, edits: Iterable[Edit] = ()) -> Path:
    """Write the quiet rule base with edits to `folder`/rules."""
    home = folder / "rules"
    shutil.copytree(SOUND, home)
    shutil.copytree(QUIET, home, dirs_exist_ok=True)
    for file, old, new in edits:
        path = home / file
        text = path.read_text(encoding="utf-8")
        assert not old or text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file}"
        path.write_text(text.replace(old, new) if old else text + new, encoding="utf-8")
    return home


def loaded(home: Path, monkeypatch: object) -> RuleBase:
    """The rule base, read from its parent folder so that messages name it `rules`. Loading it must find no fault."""
    monkeypatch.chdir(home.parent)  # type: ignore[attr-defined]
    rulebase, issues = inspect(Path(home.name))
    assert rulebase is not None, told(issues)
    return rulebase


def look(home: Path, monkeypatch: object) -> tuple[Issue, ...]:
    """What the lints find."""
    return lint(loaded(home, monkeypatch))


def told(issues: tuple[Issue, ...]) -> str:
    """Every message as a person reads it, and the count."""
    return "\n".join([*(render(issue) for issue in issues), summary(issues)]) + "\n"
