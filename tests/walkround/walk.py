"""Walking round a made-up machine from a list of answers, without a terminal."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from lugwright.rulebase.load import load
from lugwright.walkround.advice import Advice
from lugwright.walkround.draft import Draft
from lugwright.walkround.question import Question, Stop
from lugwright.walkround.script import ROUND, Script, State

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

ROOT = Path(__file__).resolve().parents[2]


@cache
def shipped() -> RuleBase:
    return load()


@cache
def script() -> Script:
    return Script(shipped(), Advice(shipped()))


def begun(layout: str = "two-track", drive: str = "friction") -> Draft:
    """A draft whose machine and work have been asked about."""
    draft = Draft({"case": "made-up", "machine": {"name": "Unit 1", "layout": layout, "drive": drive}})
    for name in ("hours", "sheet"):
        draft = draft.passed(f"machine/{name}")
    for name in script().context_order():
        draft = draft.passed(f"context/{name}")
    return draft


def walked(layout: str = "two-track", drive: str = "friction") -> Draft:
    """The same with the walk behind it; nothing was looked at."""
    draft = begun(layout, drive)
    from lugwright.walkround.parts import STATIONS

    for unit in ROUND[layout]:
        for part in STATIONS:
            draft = draft.passed(f"part/{part}/{unit}")
    return draft


def play(draft: Draft, answers: Iterable[str]) -> tuple[State, Question | Stop]:
    """The state and the next question after some answers."""
    state = State(draft)
    asked = script().question(state)
    for text in answers:
        assert isinstance(asked, Question), f"no question is left for {text!r}"
        state = script().answer(state, asked, text)
        asked = script().question(state)
    return state, asked
