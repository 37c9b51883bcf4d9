"""Lints of checks, context, procedures and machine sheets: is each used, and does each fit those who use it?"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import combinations
from typing import Any

from lugwright.chaining.compile import OPS, SHEET
from lugwright.quantities import QuantityError, kinds_of, parse
from lugwright.rulebase import rules as written
from lugwright.rulebase.reading_fields import field_quantities
from lugwright.rulelint.registry import Flaw, lint
from lugwright.rulelint.texts import texts
from lugwright.rulelint.whole import Whole

#: Read by the package itself, whatever the rules say.
BUILT_IN_NUMBERS = {"shim-thickness": "length"}
BUILT_IN_CONTEXT = ("visit",)
#: Endings of two numbers of which the first is the lower.
PAIRS = (("-low", "-high"), ("-least", "-most"))

_NUMBER = re.compile(r"\{([^{}]*)\}")


@lint("check-decides-nothing", "warning")
def check_decides_nothing(whole: Whole) -> Iterator[Flaw]:
    """A check that settles nothing which any cause shows or any rule reads."""
    for name, check in whole.rulebase.checks.items():
        useful = [one for one in check.decides if one in whole.links_of or one in whole.readers]
        read = any(
            isinstance(one, written.ReadingIs) and one.reading == name
            for rule in whole.rulebase.rules.values()
            for one in rule.when
        )
        if not useful and not read:
            yield Flaw(
                f"checks/{name}",
                f"'{name}' decides nothing that a cause shows or a rule reads",
                "its outcome would change nothing",
                "name the symptoms it settles under decides:, or take it out",
            )


@lint("checks-in-a-circle", "error")
def checks_in_a_circle(whole: Whole) -> Iterator[Flaw]:
    """Checks that wait for one another."""
    told: set[str] = set()
    for name in whole.rulebase.checks:
        path = _way_back(whole, name)
        if path and not told & set(path):
            told |= set(path)
            yield Flaw(
                f"checks/{name}",
                f"'{name}' waits for itself: {' -> '.join(path)}",
                "none of these checks could ever be the first",
                "take one of them out of needs_first:",
            )


def _way_back(whole: Whole, start: str) -> list[str]:
    """The shortest way from a check along needs_first back to itself."""
    ways = [[start]]
    seen: set[str] = set()
    while ways:
        way = ways.pop(0)
        for other in whole.rulebase.checks[way[-1]].needs_first:
            if other == start:
                return [*way, start]
            if other not in seen:
                seen.add(other)
                ways.append([*way, other])
    return []


@lint("check-before-its-need", "warning")
def check_before_its_need(whole: Whole) -> Iterator[Flaw]:
    """A check whose usual order stands before the check it needs."""
    for name, check in whole.rulebase.checks.items():
        for n, other in enumerate(check.needs_first):
            if whole.rulebase.checks[other].order > check.order:
                yield Flaw(
                    f"checks/{name}/needs_first/{n}",
                    f"'{name}' has order {check.order} and needs '{other}' first, which has order "
                    f"{whole.rulebase.checks[other].order}",
                    "the usual order of work would send people to it too early",
                    "raise the one order or lower the other",
                )


@lint("context-unread", "warning")
def context_unread(whole: Whole) -> Iterator[Flaw]:
    """A question whose answer changes nothing."""
    read = set(BUILT_IN_CONTEXT)
    for rule in whole.rulebase.rules.values():
        read |= {one.context for one in (*rule.when, *rule.unless) if isinstance(one, written.ContextIs)}
    for link in whole.links:
        read |= {*link.show.given, *link.show.unless}
    for name in whole.rulebase.context:
        if name not in read:
            yield Flaw(
                f"context/{name}",
                f"no rule and no link reads '{name}'",
                "a question whose answer changes nothing wastes the time of whoever answers",
                "let a rule read it, or take it out",
            )


@lint("context-never-concluded", "error")
def context_never_concluded(whole: Whole) -> Iterator[Flaw]:
    """A derived context that no rule concludes, or one of its answers."""
    for name, entry in whole.rulebase.context.items():
        given = set(whole.answers.get(name, ()))
        missing = [answer for answer in entry.answers if answer not in given] if entry.derived else []
        if missing:
            what = f"'{name}' is not asked, and no rule concludes it"
            if given:
                what = f"no rule concludes that '{name}' is {' or '.join(missing)}"
            yield Flaw(
                f"context/{name}", what, "what is never concluded is never met",
                "write the rule, or take the answer out",
            )  # fmt: skip


@lint("visit-without-rate", "error")
def visit_without_rate(whole: Whole) -> Iterator[Flaw]:
    """A reason for the visit without a rate, or a rate without a reason."""
    rates = set(whole.rulebase.scales.rate_per_visit)
    visit = whole.rulebase.context.get("visit")
    for answer in visit.answers if visit else ():
        if answer not in rates:
            yield Flaw(
                "context/visit",
                f"the visit '{answer}' has no rate under rate_per_visit",
                "it would silently be counted like a complaint",
                "add the rate to scales.yaml",
            )


@lint("procedure-unused", "warning")
def procedure_unused(whole: Whole) -> Iterator[Flaw]:
    """A procedure that no cause names and no text mentions."""
    used = {cause.procedure for cause in whole.rulebase.causes.values()}
    for kind in ("causes", "checks", "chaining", "procedures", "symptoms", "context"):
        for name, entry in whole.rulebase.entries(kind).items():
            for _, text in texts(entry):
                used |= {one for one in whole.rulebase.procedures if one != name and _mentions(text, one)}
    for name in whole.rulebase.procedures:
        if name not in used:
            yield Flaw(
                f"procedures/{name}",
                f"no cause names the procedure '{name}', and no text mentions it",
                "nobody is ever led to it",
                "name it as the procedure: of a cause, or mention its id where it belongs",
            )


def _mentions(text: str, ident: str) -> bool:
    return ident in text and re.search(rf"(?<![\w-]){re.escape(ident)}(?![\w-])", text) is not None


def numbers_used(whole: Whole) -> dict[str, dict[str, str]]:
    """Sheet number -> the quantities it is compared as -> the key of a place where it is."""
    used: dict[str, dict[str, str]] = {name: {quantity: ""} for name, quantity in BUILT_IN_NUMBERS.items()}
    for kind in ("procedures", "checks"):
        for entry in whole.rulebase.entries(kind).values():
            for _, text in texts(entry):
                for number in _NUMBER.findall(text):
                    used.setdefault(number, {})
    for name, rule in whole.rulebase.rules.items():
        for field in ("when", "unless"):
            for n, one in enumerate(getattr(rule, field)):
                for test, quantity in _compared(whole, one):
                    for word in OPS:
                        found = SHEET.match(getattr(test, word, None) or "")
                        if found:
                            used.setdefault(found["name"], {}).setdefault(quantity, f"chaining/{name}/{field}/{n}")
    return used


def _compared(whole: Whole, one: Any) -> Iterator[tuple[Any, str]]:
    if isinstance(one, written.ContextIs):
        yield one, whole.rulebase.context[one.context].quantity or ""
    elif isinstance(one, written.MachineIs):
        yield one, "hours"
    elif isinstance(one, written.ReadingIs):
        quantities = field_quantities(whole.rulebase.checks[one.reading])
        yield from ((compare, quantities[name]) for name, compare in one.with_.items())


@lint("sheet-number-unused", "warning")
def sheet_number_unused(whole: Whole) -> Iterator[Flaw]:
    """A number of a machine sheet that nothing names."""
    used = numbers_used(whole)
    told: set[str] = set()
    for sheet, entry in whole.rulebase.machines.items():
        for name in entry.numbers:
            if name not in used and name not in told:
                told.add(name)
                yield Flaw(
                    f"machines/{sheet}",
                    f"nothing uses the number '{name}'",
                    "a number nobody uses is forgotten when it changes",
                    "name it in a procedure or a rule, or take it off the sheets",
                )


@lint("sheet-number-unfit", "error")
def sheet_number_unfit(whole: Whole) -> Iterator[Flaw]:
    """A number whose unit does not fit what it is compared with, or the same number on another sheet."""
    used = numbers_used(whole)
    first: dict[str, tuple[str, set[str]]] = {}
    for sheet, entry in whole.rulebase.machines.items():
        for name, number in entry.numbers.items():
            for quantity, key in used.get(name, {}).items():
                try:
                    parse(number.value, quantity)
                except QuantityError as error:
                    by = f"'{key.split('/')[1]}'" if key else "the package"
                    what = f"'{name}' of the sheet '{sheet}' is compared with a {quantity} by {by}: {error}"
                    yield Flaw(f"machines/{sheet}", what, "the comparison would fail on this machine", error.hint)
            other, kinds = first.setdefault(name, (sheet, set(kinds_of(number.value))))
            if not kinds & set(kinds_of(number.value)):
                what = f"'{name}' is {number.value} on the sheet '{sheet}' and another kind of quantity on '{other}'"
                yield Flaw(f"machines/{sheet}", what, "one name must mean one thing", "mend the unit, or rename one")


@lint("sheet-numbers-crossed", "error")
def sheet_numbers_crossed(whole: Whole) -> Iterator[Flaw]:
    """A lower limit that lies above its upper one."""
    for sheet, entry in whole.rulebase.machines.items():
        for (low, lower), (high, upper) in combinations(sorted(entry.numbers.items()), 2):
            for less, more in PAIRS:
                ends = {low: lower, high: upper}
                stem = low.removesuffix(less).removesuffix(more)
                if {low, high} == {stem + less, stem + more}:
                    kinds = [one for one in kinds_of(lower.value) if one in kinds_of(upper.value)]
                    values = [parse(ends[stem + end].value, kinds[0]) for end in (less, more)] if kinds else []
                    if values and values[0] > values[1]:
                        yield Flaw(
                            f"machines/{sheet}",
                            f"on the sheet '{sheet}' '{stem}{less}' ({ends[stem + less].value}) lies above "
                            f"'{stem}{more}' ({ends[stem + more].value})",
                            "nothing could ever lie between the two",
                            "exchange them, or look for a slipped digit",
                        )
