"""The lint of rules that can never fire: a condition nothing can meet, or conditions that exclude one another."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, product
from typing import Any

from lugwright.belief.placing import applies
from lugwright.chaining.compile import OPS, NotOnSheet
from lugwright.places import AXLES, HANDS, SIDES, UNITS, axle_of, hand_of, opposite, partner
from lugwright.rulebase import rules as written
from lugwright.rulelint.fits import all_follow, context_quantity, follows, places, range_of, wanted
from lugwright.rulelint.forms import fitting
from lugwright.rulelint.registry import Flaw, lint
from lugwright.rulelint.whole import MACHINES, Whole

_WHY = "a rule that never fires says nothing, and nobody notices"


@lint("rule-never-fires", "error")
def rule_never_fires(whole: Whole) -> Iterator[Flaw]:
    """A chaining rule that no case can make fire. One flaw a rule: the first reason found."""
    for name, rule in whole.rulebase.rules.items():
        found = next(_reasons(whole, name, rule), None)
        if found:
            yield found


def _reasons(whole: Whole, name: str, rule: written.ChainingRule) -> Iterator[Flaw]:
    key = f"chaining/{name}"
    for n, one in enumerate(rule.when):
        if said := unmet(whole, one):
            yield Flaw(f"{key}/when/{n}", f"'{name}' can never fire: {said[0]}", _WHY, said[1])
    for (_, one), (m, other) in combinations(enumerate(rule.when), 2):
        if why := clash(whole, one, other):
            yield Flaw(f"{key}/when/{m}", f"'{name}' can never fire: {why}", _WHY, "mend or drop one of the two")
    for n, one in enumerate(rule.unless):
        if any(follows(whole, given, one, _own(one)) is not None for given in rule.when):
            what = f"'{name}' can never fire: what it needs under when always meets this condition under unless"
            yield Flaw(f"{key}/unless/{n}", what, _WHY, "narrow the unless, or take it out")
    for n, one in rule.unspoiled:
        if voider := _voided(whole, rule, one):
            what = f"'{name}' can never fire: '{voider}' makes this reading void whenever the other conditions hold"
            yield Flaw(f"{key}/when/{n}", what, _WHY, "take the condition out that spoils the reading")
    if not fires_on(whole, rule):
        what = f"'{name}' can never fire: no machine has these places and signs together"
        yield Flaw(key, what, _WHY, "compare the places, the layout and the drive of its conditions")


def _own(one: Any) -> dict[str, str]:
    """The variables of a condition stand for themselves: both conditions belong to one rule."""
    return {word: word for word in places(one).values() if word.startswith("$")}


def unmet(whole: Whole, one: Any) -> tuple[str, str] | None:
    """Why no case can meet a condition by itself, and the repair."""
    if isinstance(one, written.ContextIs):
        entry = whole.rulebase.context[one.context]
        concluded = whole.answers.get(one.context, ())
        if entry.derived and not concluded:
            return f"'{one.context}' is not asked, and no rule concludes it", "write a rule that concludes it"
        if entry.derived and one.is_ is not None and one.is_ not in concluded:
            return f"no rule concludes that '{one.context}' is {one.is_}", "write a rule that does, or mend the answer"
        if entry.quantity and _empty(whole, one, entry.quantity):
            return f"no number can pass these tests on '{one.context}'", "compare the figures"
    elif isinstance(one, written.MachineIs) and one.machine == "hours" and _empty(whole, one, "hours"):
        return "no number of hours can pass these tests", "compare the figures"
    elif isinstance(one, written.ReadingIs) and not _readable(whole, one.reading, [one]):
        return f"no reading of '{one.reading}' can pass these tests", "compare the figures and the words"
    elif isinstance(one, written.Void) and one.void not in whole.voided:
        return f"no rule makes '{one.void}' void", "write a rule that does, or drop the condition"
    return None


def _empty(whole: Whole, one: Any, quantity: str) -> bool:
    """Whether no number passes, whatever the machine sheet."""
    return not any(_passable(one, one, quantity, sheet) for sheet in whole.sheets)


def _passable(one: Any, other: Any, quantity: str, sheet: Any) -> bool:
    try:
        return not range_of(one, quantity, sheet).meets(range_of(other, quantity, sheet)).empty
    except NotOnSheet:
        return False
    except ValueError:
        return True


def _readable(whole: Whole, check: str, ones: list[written.ReadingIs]) -> bool:
    for sheet in whole.sheets:
        try:
            tests = [test for one in ones for test in wanted(whole, one, sheet)]
        except NotOnSheet:
            continue
        except ValueError:
            return True
        if fitting(whole.rulebase.checks[check], tests, shim_of(sheet)) is not None:
            return True
    return False


def shim_of(sheet: Any) -> float | None:
    """The shim's thickness a sheet names, in mm."""
    from lugwright.chaining.base_facts import sheet_numbers

    return sheet_numbers(sheet).get("shim-thickness")


def clash(whole: Whole, one: Any, other: Any) -> str:
    """Why two conditions of one rule cannot hold at once, or nothing."""
    if isinstance(one, written.ContextIs) and isinstance(other, written.ContextIs) and one.context == other.context:
        quantity = context_quantity(whole, one.context)
        if quantity and not any(_passable(one, other, quantity, sheet) for sheet in whole.sheets):
            return f"no number passes both tests on '{one.context}'"
        if not quantity and one.is_ != other.is_:
            return f"'{one.context}' cannot be both {one.is_} and {other.is_}"
    if isinstance(one, written.MachineIs) and isinstance(other, written.MachineIs) and one.machine == other.machine:
        if one.machine == "hours":
            if not any(_passable(one, other, "hours", sheet) for sheet in whole.sheets):
                return "no number of hours passes both tests"
        elif one.is_ != other.is_:
            return f"the {one.machine} cannot be both {one.is_} and {other.is_}"
    if isinstance(one, written.ReadingIs) and isinstance(other, written.ReadingIs):
        alike = one.reading == other.reading and places(one) == places(other)
        if alike and not _readable(whole, one.reading, [one, other]):
            return f"no reading of '{one.reading}' passes both tests"
    signs = (written.Seen, written.Absent)
    if isinstance(one, signs) and isinstance(other, signs) and type(one) is not type(other):
        name, wheres = _sign(one), whole.rulebase.symptoms[_sign(one)].where
        full = {"machine": 0, "unit": 1, "axle": 1, "side": 2}[wheres]
        if name == _sign(other) and places(one) == places(other) and len(places(one)) == full:
            return f"'{name}' cannot be seen and absent at one place"
    return ""


def _sign(one: Any) -> str:
    return str(one.seen if isinstance(one, written.Seen) else one.absent)


def _voided(whole: Whole, rule: written.ChainingRule, one: written.ReadingIs) -> str:
    """The rule that makes a reading void whenever the other conditions hold, or nothing."""
    others = [given for given in rule.when if given is not one]
    for name, voider in whole.rulebase.rules.items():
        for then in voider.then:
            if (
                isinstance(then, written.Voids)
                and then.voids == one.reading
                and not voider.unless
                and any(
                    terms.get(then.unit, then.unit) == one.unit for terms in all_follow(whole, others, voider.when, {})
                )
            ):
                return name
    return ""


def fires_on(whole: Whole, rule: written.ChainingRule) -> set[tuple[str, str]]:
    """The kinds of machine on which all conditions can be met at once: places, signs and relations only."""
    return {(layout, drive) for layout, drive in MACHINES if _possible(whole, rule, layout, drive)}


def _possible(whole: Whole, rule: written.ChainingRule, layout: str, drive: str) -> bool:
    kind = {"layout": layout, "drive": drive}
    for one in rule.when:
        if isinstance(one, (written.Seen, written.Absent)):
            if not applies(whole.rulebase.symptoms[_sign(one)], layout, drive):
                return False
        elif isinstance(one, written.MachineIs) and one.is_ is not None and kind.get(one.machine, one.is_) != one.is_:
            return False
    if any(isinstance(one, written.MachineIs) and one.is_ and kind.get(one.machine) == one.is_ for one in rule.unless):
        return False
    words = {"unit": UNITS[layout], "axle": AXLES[layout], "side": SIDES, "hand": HANDS}
    open_: dict[str, tuple[str, ...]] = {}
    for one in rule.when:
        for slot, word in places(one).items():
            choices = words.get(slot) or (SIDES if getattr(one, "relation", "") == "opposite-side" else UNITS[layout])
            if word.startswith("$"):
                open_[word] = choices
            elif word not in choices:
                return False
    return any(
        all(_holds(one, dict(zip(open_, values, strict=True))) for one in rule.when)
        and _no_clash(whole, rule, dict(zip(open_, values, strict=True)))
        for values in product(*open_.values())
    )


def _holds(one: Any, terms: dict[str, str]) -> bool:
    if not isinstance(one, written.Relation):
        return True
    at = {slot: terms.get(word, word) for slot, word in places(one).items()}
    if one.relation == "partner":
        return partner(at["unit"]) == at["other"]
    if one.relation == "axle":
        return axle_of(at["unit"]) == at["axle"]
    if one.relation == "hand":
        return hand_of(at["unit"], at["side"]) == at["hand"]
    return opposite(at["side"]) == at["other"]


def _no_clash(whole: Whole, rule: written.ChainingRule, terms: dict[str, str]) -> bool:
    """No sign is wanted seen and absent at one place, nor a difference seen on both sides of a unit."""
    seen, absent = (
        {
            (_sign(one), tuple(sorted((slot, terms.get(word, word)) for slot, word in places(one).items())))
            for one in rule.when
            if isinstance(one, kind)
        }
        for kind in (written.Seen, written.Absent)
    )
    depth = {"machine": 0, "unit": 1, "axle": 1, "side": 2}
    if any(len(at) == depth[whole.rulebase.symptoms[name].where] for name, at in seen & absent):
        return False
    return not any(
        whole.rulebase.symptoms[name].directed and name == other and len(at) == len(there) == 2
        and dict(at)["unit"] == dict(there)["unit"]
        for (name, at), (other, there) in combinations(sorted(seen), 2)
    )  # fmt: skip


__all__ = ["OPS", "clash", "fires_on", "rule_never_fires", "shim_of", "unmet"]
