"""The page on the walk-round prints a conversation that really took place."""

from __future__ import annotations

import re
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tools"))

import walk_page

from lugwright.walkround.advice import SETTLED
from lugwright.walkround.script import COMMANDS

PAGE = walk_page.PAGE.read_text(encoding="utf-8")


def test_the_conversation_on_the_page_is_held_again() -> None:
    assert walk_page.refreshed(PAGE) == PAGE, "run `python tests/tools/walk_page.py` and read what it changed"


def test_every_command_has_a_row() -> None:
    rows = set(re.findall(r"^\| `([^`]+)` \|", PAGE, re.M))
    assert {name for name, _ in COMMANDS} <= rows


def test_the_threshold_on_the_page_is_that_of_the_code() -> None:
    assert f"at least {SETTLED:.0%} likely".replace("%", " %") in PAGE
