"""Lints of rules that say opposite things of one and the same reading or answer."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import combinations, pairwise, product
from typing import Any

from lugwright.chaining.compile import OPS, NotOnSheet, number
from lugwright.quantities import show
from lugwright.rulebase import rules as written
from lugwright.rulelint.fits import range_of, wanted
from lugwright.rulelint.forms import exact, fitting, pair_of, words_of
from lugwright.rulelint.never import shim_of
from lugwright.rulelint.registry import Flaw, lint
from lugwright.rulelint.whole import Whole

#: More contexts at once than this are not tried out.
MOST_QUESTIONS = 4


@lint("rules-contradict", "error")
def rules_contradict(whole: Whole) -> Iterator[Flaw]:
    """Two rules on one reading that conclude a sign seen and absent, with a reading that fits both."""
    heads: dict[tuple[str, str], list[tuple[str, written.ReadingIs, written.Finding, int]]] = defaultdict(list)
    for name, rule in whole.rulebase.rules.items():
        if len(rule.when) == 1 and isinstance(rule.when[0], written.ReadingIs):
            for n, one in enumerate(rule.then):
                if isinstance(one, written.Finding):
                    heads[rule.when[0].reading, one.finding].append((name, rule.when[0], one, n))
    for (check, finding), ones in heads.items():
        for (name, given, one, _), (other, asked, that, n) in combinations(ones, 2):
            if one.is_ != that.is_ and _meet(one, that) and _related(whole, given, asked):
                found = _both(whole, given, asked)
                if not found:
                    continue
                yield Flaw(
                    f"chaining/{other}/then/{n}",
                    f"'{name}' and '{other}' contradict each other: with {found} at '{check}' the one concludes that "
                    f"'{finding}' is {one.is_}, the other that it is {that.is_}",
                    "two findings that contradict each other are both set aside",
                    "leave a gap between the two ranges, or let them end at one figure",
                )


def _related(whole: Whole, one: written.ReadingIs, other: written.ReadingIs) -> bool:
    """Whether two conditions look at one figure; a person may well write a word and a figure that disagree."""
    check = whole.rulebase.checks[one.reading]
    groups = [{pair_of(check, name) for name in each.with_} for each in (one, other)]
    return bool(groups[0] & groups[1]) and exact(check, (*one.with_, *other.with_))


def _meet(one: written.Finding, other: written.Finding) -> bool:
    """Whether two conclusions are about one place: side words must be the same, variables may be."""
    pairs = ((one.unit, other.unit), (one.axle, other.axle), (one.side, other.side))
    return all(mine == theirs or "$" in f"{mine}{theirs}" for mine, theirs in pairs)


def _both(whole: Whole, one: written.ReadingIs, other: written.ReadingIs) -> str:
    """A reading that passes the tests of both conditions, in words, or nothing."""
    check = whole.rulebase.checks[one.reading]
    for sheet in whole.sheets:
        try:
            tests = [*wanted(whole, one, sheet), *wanted(whole, other, sheet)]
        except (NotOnSheet, ValueError):
            continue
        found = fitting(check, tests, shim_of(sheet))
        if found is not None:
            return words_of(found, check)
    return ""


@lint("answers-contradict", "error")
def answers_contradict(whole: Whole) -> Iterator[Flaw]:
    """Two rules that give one derived context two answers at once."""
    by_context: dict[str, list[tuple[str, str, int]]] = defaultdict(list)
    for name, n, one in whole.conclusions:
        if isinstance(one, written.ContextBecomes):
            by_context[one.context].append((name, one.is_, n))
    for context, ones in by_context.items():
        for (name, one_, _), (other, that, n) in combinations(ones, 2):
            found = _case(whole, whole.rulebase.rules[name], whole.rulebase.rules[other]) if one_ != that else ""
            if found:
                yield Flaw(
                    f"chaining/{other}/then/{n}",
                    f"'{name}' and '{other}' contradict each other: with {found} '{context}' is both {one_} and {that}",
                    "a question has one answer",
                    "let the ranges of the two rules end at one figure, or add what sets them apart",
                )


def _case(whole: Whole, *rules: written.ChainingRule) -> str:
    """Answers with which all rules fire, in words, or nothing; rules on anything but context are passed over."""
    conditions: list[Any] = [one for rule in rules for one in (*rule.when, *rule.unless)]
    if not all(isinstance(one, written.ContextIs) for one in conditions):
        return ""
    questions = list(dict.fromkeys(one.context for one in conditions))
    if len(questions) > MOST_QUESTIONS:
        return ""
    choices = [_choices(whole, question, conditions) for question in questions]
    for values in product(*choices):
        answers = dict(zip(questions, values, strict=True))
        if all(
            all(_met(whole, one, answers) for one in rule.when)
            and not any(_met(whole, one, answers) for one in rule.unless)
            for rule in rules
        ):
            parts = [f"{name} {_said(whole, name, value)}" for name, value in answers.items() if value is not None]
            return " and ".join(parts)
    return ""


def _choices(whole: Whole, question: str, conditions: list[Any]) -> list[float | str | None]:
    """No answer, and every answer that could make a difference: words, or figures at and between the limits."""
    entry = whole.rulebase.context[question]
    if not entry.quantity:
        return [None, *entry.answers]
    texts = [getattr(one, word) for one in conditions if one.context == question for word in OPS]
    figures = set()
    for text in texts:
        for sheet in whole.sheets if text is not None else ():
            try:
                figures.add(number(text, entry.quantity, sheet))
            except (NotOnSheet, ValueError):
                continue
    limits = sorted(figures)
    between = [(low + high) / 2 for low, high in pairwise(limits)]
    ends = [limits[0] / 2, limits[-1] * 1.5 + 1] if limits else []
    return [None, *sorted({*limits, *between, *ends})]


def _met(whole: Whole, one: Any, answers: Mapping[str, float | str | None]) -> bool:
    value = answers[one.context]
    if value is None or isinstance(value, str):
        return value is not None and value == one.is_
    try:
        within = range_of(one, whole.rulebase.context[one.context].quantity or "", None)
    except (NotOnSheet, ValueError):
        return False
    low = value > within.low or (value == within.low and not within.open_low)
    return low and (value < within.high or (value == within.high and not within.open_high))


def _said(whole: Whole, name: str, value: float | str) -> str:
    return value if isinstance(value, str) else show(value, whole.rulebase.context[name].quantity or "count")


@lint("shift-either-way", "warning")
def shift_either_way(whole: Whole) -> Iterator[Flaw]:
    """A cause that every answer to a question makes likelier, or less likely."""
    moved: dict[tuple[str, str, str], dict[str, tuple[bool, str]]] = defaultdict(dict)
    for name, n, one in whole.conclusions:
        rule = whole.rulebase.rules[name]
        if isinstance(one, written.CauseShift) and len(rule.when) == 1 and not rule.unless:
            given = rule.when[0]
            if isinstance(given, written.ContextIs) and given.is_ is not None:
                place = f"{one.unit} {one.axle} {one.side} {one.hand}"
                up = whole.rulebase.scales.shifts[one.becomes] > 1
                moved[given.context, one.cause, place][given.is_] = (up, f"chaining/{name}/then/{n}")
    for (context, cause, _), ways in moved.items():
        answers = whole.rulebase.context[context].answers
        if len(answers) > 1 and set(ways) == set(answers) and len({up for up, _ in ways.values()}) == 1:
            up, key = max(ways.values(), key=lambda way: way[1])
            yield Flaw(
                key,
                f"every answer to '{context}' makes '{cause}' {'likelier' if up else 'less likely'}",
                "what holds whatever is answered is no news",
                "mend the direction of one of the rules",
            )
