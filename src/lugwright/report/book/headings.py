"""Headings of the book as they are written, so that links to them cannot go astray."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.report.book.markdown import code, link
from lugwright.report.book.words import plain
from lugwright.report.page.markdown import escaped
from lugwright.report.rule_pages import from_overlay

if TYPE_CHECKING:
    from lugwright.rulebase.base import RuleBase

WORDS = "The words and their numbers"
CONTENTS = "Contents"
CAUSES = "Causes"
SIGNS = "Signs and what they may mean"
CHECKS = "Checks"
WORK = "Work"
VERDICTS = "Keep running, limit use or stop"
RULES = "The other rules"
QUESTIONS = "Questions about the machine and its work"
SHEETS = "Machine sheets"
DISPUTED = "Points on which practitioners disagree"

TITLES = (WORDS, CONTENTS, CAUSES, SIGNS, CHECKS, WORK, VERDICTS, RULES, QUESTIONS, SHEETS, DISPUTED)
HEADED = ("causes", "machines")  # kinds whose entries have headings of their own


def entry_heading(rulebase: RuleBase, kind: str, name: str) -> str:
    """The heading of a cause or a machine sheet: its name, and its id where the name alone is not enough."""
    said = rulebase.entries(kind)[name].name
    others = [one.name for each in HEADED for one in rulebase.entries(each).values()]
    alone = sum(other.lower() == said.lower() for other in (*others, *TITLES)) == 1
    return escaped(said) if alone else f"{escaped(said)} {code(name)}"


def component_heading(component: str) -> str:
    """The heading over the signs of a component.

    >>> component_heading("drive-wheel")
    'Signs: drive wheel'
    """
    return f"Signs: {plain(component)}"


def told(rulebase: RuleBase, kind: str, name: str) -> str:
    """An entry by its name, with the overlay it comes from, as a piece."""
    entry = rulebase.entries(kind).get(name)
    return escaped((entry.name if entry else name) + from_overlay(rulebase, f"{kind}/{name}"))


def to(rulebase: RuleBase, kind: str, name: str) -> str:
    """An entry by its name, with a link to its heading where it has one."""
    if kind not in HEADED or name not in rulebase.entries(kind):
        return told(rulebase, kind, name)
    overlay = escaped(from_overlay(rulebase, f"{kind}/{name}"))
    return f"{link(entry_heading(rulebase, kind, name))} {overlay}".rstrip()
