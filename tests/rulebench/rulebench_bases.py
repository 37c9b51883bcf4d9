"""A small sound rule base in a folder, edited as a trainer would edit it, and views of it."""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

from lugwright.rulebase.load import RuleBase, inspect, load

TESTS = Path(__file__).parents[1]
SOUND = TESTS / "rulebase" / "sound"

#: File inside the base, text that stands there, text that replaces it (the first time it occurs).
Edit = tuple[str, str, str]


def edited(folder: Path, edits: Iterable[Edit] = ()) -> RuleBase:
    """The sound base with edits, loaded from `folder`/rules. Fails with the faults where it is no longer sound."""
    home = folder / "rules"
    shutil.rmtree(home, ignore_errors=True)
    shutil.copytree(SOUND, home)
    for name, old, new in edits:
        path = home / name
        text = path.read_text(encoding="utf-8")
        assert old in text, f"{old!r} does not stand in {name}"
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
    rulebase, issues = inspect(home)
    assert rulebase is not None, "\n".join(f"{one.spot} {one.what}" for one in issues)
    return rulebase


@lru_cache(maxsize=1)
def shipped() -> RuleBase:
    """The rule base that comes with the package."""
    return load()


#: Text that tries to be markup, DOT, an escape, a formula, or a direction mark.
HOSTILE = "<b onclick=x>&amp;\\N\\G \"]; n0 [label=\" 'q' \u202e\u200b</b></td><script>alert(1)</script>>"
