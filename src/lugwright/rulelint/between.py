"""Lints of chaining rules among themselves: shadowed, circular, repeated, without effect, without a mirror image."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations
from typing import Any

from lugwright.belief.placing import applies
from lugwright.chaining.compile import compile_rules
from lugwright.chaining.rules import RuleError
from lugwright.chaining.strata import strata
from lugwright.places import swap_hands
from lugwright.rulebase import rules as written
from lugwright.rulelint.fits import all_follow, follows, places
from lugwright.rulelint.never import clash, fires_on, unmet
from lugwright.rulelint.registry import Flaw, lint
from lugwright.rulelint.whole import Whole


@lint("rule-shadowed", "error")
def rule_shadowed(whole: Whole) -> Iterator[Flaw]:
    """A rule whose conclusions another rule draws from less."""
    by_head: dict[str, list[str]] = defaultdict(list)
    for name, rule in whole.rulebase.rules.items():
        for head in {_head(one) for one in rule.then}:
            by_head[head].append(name)
    order = list(whole.rulebase.rules)
    for name, rule in whole.rulebase.rules.items():
        for other in by_head[_head(rule.then[0])]:
            if other == name or not _covers(whole, rule, whole.rulebase.rules[other]):
                continue
            same = _covers(whole, whole.rulebase.rules[other], rule)
            if same and order.index(other) > order.index(name):
                continue  # of two equal rules the later one is told
            more = "the same conditions" if same else "fewer or wider conditions"
            yield Flaw(
                f"chaining/{name}",
                f"'{name}' adds nothing: '{other}' concludes all of it from {more}",
                "whenever the one fires, the other has said the same already",
                "take it out, or say what sets it apart",
            )
            break


def _head(one: Any) -> str:
    """What a conclusion is about, its place apart."""
    if isinstance(one, written.Verdict):
        return f"verdict {one.verdict} {one.limit} {one.number}"
    for key in ("finding", "cause", "excludes", "voids", "context"):
        if hasattr(one, key):
            return f"{key} {getattr(one, key)}"
    raise TypeError(f"{one!r} is not a conclusion")


def _covers(whole: Whole, rule: written.ChainingRule, other: written.ChainingRule) -> bool:
    """Whether `other` draws every conclusion of `rule` whenever `rule` fires."""
    if {_head(one) for one in rule.then} - {_head(one) for one in other.then}:
        return False
    for terms in all_follow(whole, rule.when, other.when, {}):
        free = {word for one in other.unless for word in places(one).values() if word.startswith("$")} - set(terms)
        kept = {**{word: word for word in free}, **terms}
        blocked = all(any(_same_way(whole, mine, one, kept) for mine in rule.unless) for one in other.unless)
        said = [_filled(one, terms) for one in other.then]
        if blocked and all(_filled(one, {}) in said for one in rule.then):
            return True
    return False


def _same_way(whole: Whole, mine: Any, one: Any, terms: Any) -> bool:
    """Whether `mine` blocks wherever `one`, seen with the terms of the first rule, would."""
    filled = one.model_copy(update={slot: terms.get(word, word) for slot, word in places(one).items()})
    own = {word: word for word in places(mine).values() if word.startswith("$")}
    return follows(whole, filled, mine, own) is not None


def _filled(one: Any, terms: Any) -> Any:
    return one.model_copy(update={slot: terms.get(word, word) for slot, word in places(one).items()})


@lint("negation-cycle", "error")
def negation_cycle(whole: Whole) -> Iterator[Flaw]:
    """A circle of rules through an `unless`, named as a path; found by the engine's own strata."""
    told: set[str] = set()
    for sheet in whole.sheets:
        try:
            strata(compile_rules(whole.rulebase, sheet))
        except RuleError as error:
            if error.rule not in told:
                told.add(error.rule)
                what, _, rest = str(error).partition(": ")[2].partition(". ")
                why, _, hint = rest.rpartition(". ")
                why, hint = _lowered(why) or "it cannot be run", _lowered(hint)
                yield Flaw(f"chaining/{error.rule}", f"'{error.rule}': {what}", why, hint)
        except ValueError:
            continue  # a figure on a sheet that cannot be read: told by sheet-number-unfit


def _lowered(text: str) -> str:
    return text[:1].lower() + text[1:]


@lint("concludes-its-condition", "error")
def concludes_its_condition(whole: Whole) -> Iterator[Flaw]:
    """A rule that concludes what it needs, or the opposite of it."""
    for name, rule in whole.rulebase.rules.items():
        for n, one in enumerate(rule.then):
            if isinstance(one, written.Finding):
                for kind, state in ((written.Seen, "seen"), (written.Absent, "absent")):
                    needed = [c for c in rule.when if isinstance(c, kind) and _sign(c) == one.finding]
                    if any(places(c) == places(one) for c in needed):
                        same = state == one.is_ and one.extent is None
                        what = f"'{name}' concludes that '{one.finding}' is {one.is_}, and needs it to be {state}"
                        why = "what is known already is no conclusion" if same else "it would contradict its own ground"
                        yield Flaw(f"chaining/{name}/then/{n}", what, why, "conclude something else, or mend the place")
            elif isinstance(one, written.ContextBecomes) and any(
                isinstance(given, written.ContextIs) and given.context == one.context for given in rule.when
            ):
                what = f"'{name}' concludes '{one.context}' from '{one.context}'"
                why = "an answer cannot rest on itself"
                yield Flaw(f"chaining/{name}/then/{n}", what, why, "conclude it from what is asked")


def _sign(one: Any) -> str:
    return str(one.seen if isinstance(one, written.Seen) else one.absent)


@lint("condition-twice", "error")
def condition_twice(whole: Whole) -> Iterator[Flaw]:
    """A condition that another one of the same rule already holds."""
    for name, rule in whole.rulebase.rules.items():
        for field in ("when", "unless"):
            ones = getattr(rule, field)
            told: set[int] = set()
            for (n, one), (m, other) in combinations(enumerate(ones), 2):
                if one == other:
                    continue  # told by listed-twice
                for weak, strong, at in ((other, one, m), (one, other, n)):
                    if field == "unless":
                        weak, strong = strong, weak
                    if at not in told and not told & {n, m} and _adds_nothing(whole, strong, weak):
                        told.add(at)
                        what = f"'{name}' says nothing more with this condition than with the one beside it"
                        yield Flaw(
                            f"chaining/{name}/{field}/{at}", what, "two conditions must differ", "mend or drop it"
                        )


def _adds_nothing(whole: Whole, strong: Any, weak: Any) -> bool:
    """Whether the weak condition follows from the strong one as they stand."""
    own = {word: word for word in places(weak).values() if word.startswith("$")}
    return follows(whole, strong, weak, own) is not None and type(weak) is not written.Relation


@lint("unless-never-blocks", "warning")
def unless_never_blocks(whole: Whole) -> Iterator[Flaw]:
    """A condition under `unless` that cannot hold while the rule's own conditions do."""
    for name, rule in whole.rulebase.rules.items():
        for n, one in enumerate(rule.unless):
            said = (unmet(whole, one) or ("",))[0] or next((c for g in rule.when if (c := clash(whole, g, one))), "")
            if said:
                yield Flaw(
                    f"chaining/{name}/unless/{n}",
                    f"this condition never blocks '{name}': {said}",
                    "an exception that cannot happen is a mistake or says nothing",
                    "mend it, or take it out",
                )


@lint("conclusion-nowhere", "error")
def conclusion_nowhere(whole: Whole) -> Iterator[Flaw]:
    """A conclusion about a sign or a cause that does not exist where the rule can fire."""
    for name, rule in whole.rulebase.rules.items():
        machines = fires_on(whole, rule)
        for n, one in enumerate(rule.then):
            ident, entry = _about(whole, one)
            if entry is not None and machines and not any(applies(entry, *machine) for machine in machines):
                yield Flaw(
                    f"chaining/{name}/then/{n}",
                    f"'{ident}' does not exist on any machine on which '{name}' can fire",
                    "the conclusion would be about nothing",
                    "compare the layouts and drives of both",
                )


def _about(whole: Whole, one: Any) -> tuple[str, Any]:
    if isinstance(one, written.Finding):
        return one.finding, whole.rulebase.symptoms[one.finding]
    if isinstance(one, (written.CauseShift, written.Excludes)):
        ident = one.cause if isinstance(one, written.CauseShift) else one.excludes
        return ident, whole.rulebase.causes[ident]
    return "", None


@lint("verdict-without-number", "warning")
def verdict_without_number(whole: Whole) -> Iterator[Flaw]:
    """A verdict that gives no figure, no range and no pointer to one."""
    for name, n, one in whole.conclusions:
        if isinstance(one, written.Verdict) and not one.number:
            yield Flaw(
                f"chaining/{name}/then/{n}",
                f"the verdict of '{name}' has no number behind it",
                "whoever is told to stop asks where the limit lies",
                "add number: with the figure, the range in use, or the operator's manual",
            )


@lint("no-mirror-image", "warning")
def no_mirror_image(whole: Whole) -> Iterator[Flaw]:
    """A rule about the left or the right hand without the rule for the other hand."""
    shapes = {name: _shape(rule) for name, rule in whole.rulebase.rules.items()}
    known = set(shapes.values())
    for name, shape in shapes.items():
        mirrored = _shape(whole.rulebase.rules[name], swap=True)
        if mirrored != shape and mirrored not in known:
            yield Flaw(
                f"chaining/{name}",
                f"'{name}' speaks of one hand, and no rule says the same of the other",
                "left and right are alike on a machine, so what holds for one holds mirrored for the other",
                "write its mirror image, or mend the word that differs",
            )


def _shape(rule: written.ChainingRule, swap: bool = False) -> str:
    """What a rule says, its texts apart."""

    def flat(value: Any, key: str = "") -> Any:
        if isinstance(value, dict):
            return sorted((k, flat(v, k)) for k, v in value.items() if k not in ("limit", "number"))
        if isinstance(value, (list, tuple)):
            return sorted((flat(one, key) for one in value), key=repr)
        return (
            swap_hands(value) if swap and isinstance(value, str) and key in ("is", "unit", "hand", "other") else value
        )

    plain = rule.model_dump(mode="json", by_alias=True, exclude_defaults=True, include={"when", "unless", "then"})
    return repr(flat(plain))
