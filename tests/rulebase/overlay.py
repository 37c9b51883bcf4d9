"""A sound little rule base in a temporary folder, with files of a broken example laid over it."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from pathlib import Path

from lugwright.issues import Issue, render, summary
from lugwright.rulebase.load import RuleBase, inspect

SOUND = Path(__file__).parent / "sound"
BROKEN = Path(__file__).parent.parent / "broken" / "rules"


def lay(folder: Path, files: Mapping[str, str | bytes]) -> Path:
    """Copy the sound rule base to `folder`/rules and write further files over it."""
    home = folder / "rules"
    shutil.copytree(SOUND, home)
    for name, text in files.items():
        path = home / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    return home


def look(home: Path, monkeypatch: object) -> tuple[RuleBase | None, tuple[Issue, ...]]:
    """Inspect the rule base from its parent folder, so that messages name it `rules`."""
    monkeypatch.chdir(home.parent)  # type: ignore[attr-defined]
    return inspect(Path(home.name))


def told(issues: tuple[Issue, ...]) -> str:
    """Every message as a person reads it, and the count."""
    return "\n".join([*(render(issue) for issue in issues), summary(issues)]) + "\n"
