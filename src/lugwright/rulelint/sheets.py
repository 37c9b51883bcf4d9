"""Lints of machine sheets: is each number used, and does it fit those who use it and the other sheets?"""

from __future__ import annotations

import re
from collections import defaultdict
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
BUILT_IN_NUMBERS = {"shim-thickness": "length", "ground-pressure-limit": "pressure", "roading-speed": "speed"}
#: Endings of two numbers of which the first is the lower.
PAIRS = (("-low", "-high"), ("-least", "-most"))
#: Two machines whose numbers are further apart than this have hardly both been typed right.
WIDEST = 4.0

_NUMBER = re.compile(r"\{([^{}]*)\}")


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


@lint("sheet-number-odd", "warning")
def sheet_number_odd(whole: Whole) -> Iterator[Flaw]:
    """A number that is not above zero, or far from the same number on another sheet."""
    known: dict[str, list[tuple[float, str, str]]] = defaultdict(list)
    used = numbers_used(whole)
    for sheet, entry in whole.rulebase.machines.items():
        for name, number in entry.numbers.items():
            kinds = [one for one in kinds_of(number.value) if one in used.get(name, {})] or _kinds(number.value)
            if not kinds:
                continue
            value = parse(number.value, kinds[0])
            if value <= 0:
                what = f"'{name}' of the sheet '{sheet}' is {number.value}"
                yield Flaw(f"machines/{sheet}", what, "a number of a machine is above zero", "look for a stray sign")
            for other, where, said in known[f"{name} {kinds[0]}"]:
                if value > 0 and max(value, other) > WIDEST * min(value, other):
                    yield Flaw(
                        f"machines/{sheet}",
                        f"'{name}' is {number.value} on the sheet '{sheet}' and {said} on '{where}'",
                        f"like numbers of two machines seldom differ more than {WIDEST:g}-fold",
                        "look for a slipped digit or a wrong unit",
                    )
                    break
            if value > 0:
                known[f"{name} {kinds[0]}"].append((value, sheet, number.value))


def _kinds(text: str) -> list[str]:
    """What a number can be; degrees on a thermometer have no zero to be compared from."""
    return [one for one in kinds_of(text) if one != "temperature"]
