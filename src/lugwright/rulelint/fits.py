"""When does one condition of a rule follow from another, and when can the two not hold at once?

Places are compared as written: a variable of the rule that follows is bound to what the other rule writes.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from lugwright.chaining.compile import OPS, NotOnSheet, number
from lugwright.rulebase import rules as written
from lugwright.rulebase.reading_fields import field_quantities
from lugwright.rulebase.schema import MachineSheet
from lugwright.rulelint.forms import Wanted, reach
from lugwright.rulelint.whole import Whole

SLOTS = ("unit", "axle", "side", "hand", "other")
Terms = Mapping[str, str]


@dataclass(frozen=True)
class Range:
    """Numbers from `low` to `high`; an open end is not reached.

    >>> Range(2, 6).within(Range(0, 6)), Range(2, 6).within(Range(2, 6, open_high=True)), Range(6, 2).empty
    (True, False, True)
    """

    low: float
    high: float
    open_low: bool = False
    open_high: bool = False

    @property
    def empty(self) -> bool:
        """Whether no number is in it."""
        return self.low > self.high or (self.low == self.high and (self.open_low or self.open_high))

    def within(self, other: Range) -> bool:
        """Whether every number of this range is in the other."""
        low = self.low > other.low or (self.low == other.low and (self.open_low or not other.open_low))
        high = self.high < other.high or (self.high == other.high and (self.open_high or not other.open_high))
        return self.empty or (low and high)

    def meets(self, other: Range) -> Range:
        """What both hold."""
        low, open_low = max((self.low, self.open_low), (other.low, other.open_low))
        high, closed = min((self.high, not self.open_high), (other.high, not other.open_high))
        return Range(low, high, open_low, not closed)


def range_of(one: Any, quantity: str, sheet: MachineSheet | None) -> Range:
    """The numbers a condition lets pass. Raises NotOnSheet where a figure is on no sheet."""
    least, most = reach(quantity)
    found = Range(least, most)
    for word, op in OPS.items():
        text = getattr(one, word, None)
        if text is not None:
            value = number(text, quantity, sheet)
            bound = Range(least, value, open_high=op == "lt") if op in ("lt", "le") else Range(value, most, op == "gt")
            found = found.meets(bound)
    return found


def wanted(whole: Whole, one: written.ReadingIs, sheet: MachineSheet | None) -> list[Wanted]:
    """The tests of a reading condition in base units. Raises NotOnSheet."""
    quantities = field_quantities(whole.rulebase.checks[one.reading])
    found = []
    for name, compare in one.with_.items():
        if compare.is_ is not None:
            found.append(Wanted(name, "is", compare.is_))
        for word, op in OPS.items():
            text = getattr(compare, word)
            if text is not None:
                found.append(Wanted(name, op, number(text, quantities[name], sheet)))
    return found


def places(one: Any) -> dict[str, str]:
    """The place words a condition or conclusion writes."""
    return {slot: word for slot in SLOTS if (word := getattr(one, slot, None)) is not None}


def follows(whole: Whole, one: Any, other: Any, terms: Terms) -> Terms | None:
    """The terms with which `other` holds whenever `one` does, or None.

    terms: what the variables of `other` stand for so far, in the words of `one`.
    """
    if type(one) is not type(other):
        return None
    bound = _placed(one, other, terms)
    return bound if bound is not None and _says(whole, one, other) else None


def _placed(one: Any, other: Any, terms: Terms) -> Terms | None:
    mine, bound = places(one), dict(terms)
    for slot, word in places(other).items():
        here = mine.get(slot)
        if here is None:
            return None
        if word.startswith("$"):
            if bound.setdefault(word, here) != here:
                return None
        elif word != here:
            return None
    return bound


def _says(whole: Whole, one: Any, other: Any) -> bool:
    """Whether what `one` says, its place apart, is as narrow as what `other` says."""
    if isinstance(one, written.Seen):
        return bool(one.seen == other.seen and other.extent in (None, one.extent))
    if isinstance(one, written.Absent):
        return bool(one.absent == other.absent)
    if isinstance(one, written.Void):
        return bool(one.void == other.void)
    if isinstance(one, written.Relation):
        return bool(one.relation == other.relation and len(places(one)) == len(places(other)))
    if isinstance(one, written.ContextIs):
        return bool(one.context == other.context) and _narrower(whole, one, other, context_quantity(whole, one.context))
    if isinstance(one, written.MachineIs):
        return bool(one.machine == other.machine) and _narrower(whole, one, other, "hours")
    if one.reading != other.reading:
        return False
    quantities = field_quantities(whole.rulebase.checks[one.reading])
    return all(
        name in one.with_ and _narrower(whole, one.with_[name], compare, quantities[name])
        for name, compare in other.with_.items()
    )


def context_quantity(whole: Whole, name: str) -> str:
    """The quantity a context is answered with, or nothing for words."""
    return whole.rulebase.context[name].quantity or ""


def _narrower(whole: Whole, one: Any, other: Any, quantity: str) -> bool:
    if other.is_ is not None and one.is_ != other.is_:
        return False
    if quantity in ("", "word") or not any(getattr(other, word, None) is not None for word in OPS):
        return True
    for sheet in whole.sheets:
        try:
            if not range_of(one, quantity, sheet).within(range_of(other, quantity, sheet)):
                return False
        except NotOnSheet:
            continue
        except ValueError:
            return False
    return True


def all_follow(whole: Whole, given: Sequence[Any], asked: Sequence[Any], terms: Terms) -> Iterator[Terms]:
    """Every way in which all of `asked` hold whenever all of `given` do."""
    if not asked:
        yield terms
        return
    for one in given:
        bound = follows(whole, one, asked[0], terms)
        if bound is not None:
            yield from all_follow(whole, given, asked[1:], bound)
