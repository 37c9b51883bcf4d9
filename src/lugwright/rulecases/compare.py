"""Expectation by expectation: what was expected, what came out, and whether the two agree."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from pydantic import BaseModel, ConfigDict

from lugwright.places import Place, covers, place_from_key
from lugwright.quantities import parse
from lugwright.rulecases.answer import Answer, cause_words, fits

if TYPE_CHECKING:
    from lugwright.belief.ground import Key
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulecases.schema import Between, Expect


class Outcome(BaseModel):
    """One expectation. `about` is the cause, rule or check it speaks of, empty for the case as a whole."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    key: str
    about: str
    expected: str
    got: str
    passed: bool


def outcomes(expect: Expect, answer: Answer, rulebase: RuleBase) -> tuple[Outcome, ...]:
    """Every expectation of a case against its answer, in the order of the shape."""
    return tuple(_outcomes(expect, answer, rulebase))


def _outcomes(expect: Expect, answer: Answer, rulebase: RuleBase) -> Iterator[Outcome]:
    def made(key: str, about: str, expected: str, got: str, passed: bool) -> Outcome:
        return Outcome(key=key, about=about, expected=expected, got=got, passed=passed)

    leaders = _leaders(answer, rulebase, 2)
    first = answer.order[0] if answer.order else ("", Place())
    no_fault = answer.no_fault or 0.0
    if expect.first:
        yield made("first", expect.first, f"{expect.first} stands first", leaders, fits(expect.first, first))
    if expect.among_first:
        n = expect.among_first.n
        for text in expect.among_first.causes:
            rank = _rank(text, answer)
            place = f"it stands at {rank}, {_share(answer.probability(text))}" if rank else "it was ruled out"
            got = f"{place}; first {_leaders(answer, rulebase, n)}"
            yield made("among_first", text, f"{text} is among the first {n}", got, 0 < rank <= n)
    for text in expect.not_first:
        yield made("not_first", text, f"{text} does not stand first", leaders, not fits(text, first))
    for text, bound in expect.at_least.items():
        found = answer.probability(text)
        got = f"{_share(found)}; first {leaders}"
        yield made("at_least", text, f"{text} is at least {bound}", got, found >= parse(bound, "share"))
    for text, bound in expect.at_most.items():
        found = answer.probability(text)
        yield made("at_most", text, f"{text} is at most {bound}", _share(found), found <= parse(bound, "share"))
    if expect.no_fault:
        got = f"{_share(no_fault)}; first {leaders}"
        yield made("no_fault", "", _between(expect.no_fault), got, _within(no_fault, expect.no_fault))
    if expect.verdict:
        shown = answer.verdict
        why = "; ".join(f"{one.finding} ({one.rule})" if one.rule else one.finding for one in shown.reasons[:2])
        got = f"{shown.action}: {why}"
        yield made("verdict", "", f"the verdict is {expect.verdict}", got, shown.action == expect.verdict)
    for rule in expect.fires:
        fired = rule in answer.fired
        yield made("fires", rule, f"the rule {rule} fires", "it fired" if fired else "it stayed silent", fired)
    for rule in expect.silent:
        fired = rule in answer.fired
        got = "it fired" if fired else "it stayed silent"
        yield made("silent", rule, f"the rule {rule} stays silent", got, not fired)
    if expect.undecided is not None:
        words = {True: "undecided", False: "decided"}
        got = f"{words[bool(answer.undecided)]}; first {leaders}"
        passed = answer.undecided == expect.undecided
        yield made("undecided", "", f"the answer is {words[expect.undecided]}", got, passed)
    if expect.next_check:
        got = ", then ".join(answer.checks[:3]) or "no check is worth the walk"
        passed = answer.checks[:1] == (expect.next_check,)
        yield made("next_check", expect.next_check, f"the next check is {expect.next_check}", got, passed)
    for text in expect.excluded:
        out = any(_rules_out(cause, place, text) for cause, place, _ in answer.concluded.excluded)
        yield made("excluded", text, f"{text} is ruled out", "it is ruled out" if out else "no rule rules it out", out)


def _rules_out(cause: str, where: Place, text: str) -> bool:
    """Whether an exclusion holds for all that `cause` or `cause@place` names."""
    name, mark, place = text.partition("@")
    return cause == name and covers(where, place_from_key(place) if mark else Place())


def _rank(text: str, answer: Answer) -> int:
    """The place of a cause in the ranking, from 1; 0 where it is ruled out."""
    ranks = (n for n, key in enumerate(answer.order, 1) if fits(text, key) and answer.likely[key] > 0)
    return next(ranks, 0)


def _leaders(answer: Answer, rulebase: RuleBase, n: int) -> str:
    named: list[Key] = [key for key in answer.order[:n] if answer.likely[key] > 0]
    return ", then ".join(f"{cause_words(key, rulebase)} {_share(answer.likely[key])}" for key in named)


def _share(value: float) -> str:
    return f"{100 * value:.3g} %" if value >= 0.0001 else "under 0.01 %"


def _between(bounds: Between) -> str:
    named = (("at least", bounds.at_least), ("at most", bounds.at_most))
    return "no fault is " + " and ".join(f"{words} {bound}" for words, bound in named if bound)


def _within(value: float, bounds: Between) -> bool:
    low = parse(bounds.at_least, "share") if bounds.at_least else 0.0
    high = parse(bounds.at_most, "share") if bounds.at_most else 1.0
    return low <= value <= high
