"""Conditions and conclusions of a rule in words. Everything here is plain text, not yet escaped."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from lugwright.report.book.words import number_words, plain, quoted
from lugwright.rulebase import rules as parts

if TYPE_CHECKING:
    from lugwright.rulebase.base import RuleBase
    from lugwright.rulebase.rules import ChainingRule, Conclusion, Condition

_SLOTS = ("unit", "axle", "side", "hand")
_COMPARE = {"above": "above", "below": "below", "at_least": "at least", "at_most": "at most"}
_RELATIONS = {
    "partner": "the other unit is its partner on the axle",
    "opposite-side": "the other side is the opposite one",
    "axle": "the unit belongs to the axle",
}


def rule_words(rule: ChainingRule, rulebase: RuleBase) -> str:
    """A whole rule as a sentence without its stop."""
    return f"When {when_words(rule, rulebase)}, then {'; '.join(then_words(one, rulebase) for one in rule.then)}"


def when_words(rule: ChainingRule, rulebase: RuleBase) -> str:
    """What must hold for a rule, and what must not."""
    when = _all(rule.when, rulebase, " and ")
    return f"{when}, unless {_all(rule.unless, rulebase, ' or ')}" if rule.unless else when


def _all(conditions: Sequence[Condition], rulebase: RuleBase, between: str) -> str:
    return between.join(condition_words(one, rulebase) for one in conditions)


def condition_words(one: Condition, rulebase: RuleBase) -> str:
    """One condition of a rule."""
    if isinstance(one, parts.Seen):
        extent = f" (extent: {plain(one.extent)})" if one.extent else ""
        return f"{_named(rulebase, 'symptoms', one.seen)} is seen{_at(one)}{extent}"
    if isinstance(one, parts.Absent):
        return f"{_named(rulebase, 'symptoms', one.absent)} was looked for and is absent{_at(one)}"
    if isinstance(one, parts.ContextIs):
        return f"{_named(rulebase, 'context', one.context)} {_tests(one)}"
    if isinstance(one, parts.ReadingIs):
        tests = " and ".join(f"{plain(field)} {_tests(test)}" for field, test in one.with_.items())
        return f"{_named(rulebase, 'checks', one.reading)} was read{_at(one)}{' with ' if tests else ''}{tests}"
    if isinstance(one, parts.MachineIs):
        return f"the {one.machine} of the machine {_tests(one)}"
    if isinstance(one, parts.Void):
        return f"readings of {_named(rulebase, 'checks', one.void)} mean nothing{_at(one)}"
    if one.relation == "hand":
        return f"the side of the unit looks to {_place('hand', one.hand or '$hand')}"
    return _RELATIONS[one.relation]


def then_words(one: Conclusion, rulebase: RuleBase) -> str:
    """One conclusion of a rule."""
    if isinstance(one, parts.Finding):
        return f"{_named(rulebase, 'symptoms', one.finding)} is {one.is_}{_at(one)}"
    if isinstance(one, parts.CauseShift):
        return f"{_named(rulebase, 'causes', one.cause)} becomes {plain(one.becomes)}{_at(one)}"
    if isinstance(one, parts.Excludes):
        return f"{_named(rulebase, 'causes', one.excludes)} is ruled out{_at(one)}"
    if isinstance(one, parts.Voids):
        return f"readings of {_named(rulebase, 'checks', one.voids)} mean nothing{_at(one)}"
    if isinstance(one, parts.ContextBecomes):
        return f"{_named(rulebase, 'context', one.context)} is {plain(one.is_)}"
    first = f"First comes the work: {_named(rulebase, 'procedures', one.work)}." if one.work else ""
    said = " ".join(text for text in (one.limit, one.number, first) if text)
    return f"{plain(one.verdict)}{_at(one)}{': ' if said else ''}{said}"


def _named(rulebase: RuleBase, kind: str, name: str) -> str:
    entry = rulebase.entries(kind).get(name)
    return quoted(entry.name if entry else name)


def _at(one: Any) -> str:
    """The places a condition or conclusion names; the unit that the rule looks at goes without saying."""
    named = {slot: found for slot in _SLOTS if (found := getattr(one, slot, None))}
    said = [_place(slot, found) for slot, found in named.items() if (slot, found) != ("unit", "$unit")]
    return f" at {', '.join(said)}" if said else ""


def _place(slot: str, word: str) -> str:
    """A place word, or what a variable stands for.

    >>> _place("unit", "$unit"), _place("side", "$other"), _place("side", "inboard"), _place("unit", "front-left")
    ('the unit', 'the other side', 'the inboard side', 'the front left unit')
    """
    if word == f"${slot}":
        return f"the {slot}"
    return f"the {plain(word.removeprefix('$').removesuffix(f'-{slot}'))} {slot}"


def _tests(one: Any) -> str:
    said = [f"is {plain(one.is_)}"] if one.is_ is not None else []
    numbers = [(word, getattr(one, key, None)) for key, word in _COMPARE.items()]
    return " and ".join([*said, *(f"is {word} {number_words(found)}" for word, found in numbers if found is not None)])
