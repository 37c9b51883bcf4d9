"""Lints of checks, context and procedures: is each used, and does each fit those who use it?"""

from __future__ import annotations

import re
from collections.abc import Iterator

from lugwright.rulebase import rules as written
from lugwright.rulelint.registry import Flaw, lint
from lugwright.rulelint.texts import texts
from lugwright.rulelint.whole import Whole

#: Read by the package itself, whatever the rules say.
BUILT_IN_CONTEXT = ("visit",)


@lint("check-decides-nothing", "warning")
def check_decides_nothing(whole: Whole) -> Iterator[Flaw]:
    """A check that settles nothing which any cause shows or any rule reads."""
    for name, check in whole.rulebase.checks.items():
        useful = [one for one in check.decides if one in whole.links_of or one in whole.readers]
        if not useful and name not in whole.rules_on:
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
    ids = sorted(whole.rulebase.procedures, key=len, reverse=True)
    mention = re.compile(rf"(?<![\w-])({'|'.join(map(re.escape, ids))})(?![\w-])") if ids else None
    for kind in ("causes", "checks", "chaining", "procedures", "symptoms", "context"):
        for name, entry in whole.rulebase.entries(kind).items():
            for _, text in texts(entry) if mention else ():
                used |= {one for one in mention.findall(text) if one != name} if mention else set()
    for name in whole.rulebase.procedures:
        if name not in used:
            yield Flaw(
                f"procedures/{name}",
                f"no cause names the procedure '{name}', and no text mentions it",
                "nobody is ever led to it",
                "name it as the procedure: of a cause, or mention its id where it belongs",
            )


#: How much of a machine a place takes in. A check at a wide place settles a sign at every narrower place within it.
_WIDTH = {"side": 0, "unit": 0, "axle": 1, "machine": 2}


@lint("check-at-another-place", "warning")
def check_at_another_place(whole: Whole) -> Iterator[Flaw]:
    """A check that decides a sign of a wider place than the one at which it is done."""
    for name, check in whole.rulebase.checks.items():
        for n, one in enumerate(check.decides):
            symptom = whole.rulebase.symptoms[one]
            if symptom.by != "ask" and _WIDTH[symptom.where] > _WIDTH[check.where]:
                yield Flaw(
                    f"checks/{name}/decides/{n}",
                    f"'{name}' is done per {check.where} and decides '{one}', which is noted per {symptom.where}",
                    "one look there cannot settle a sign that belongs to more than it sees",
                    "mend where: of one of the two",
                )


@lint("set-up-alone", "warning")
def set_up_alone(whole: Whole) -> Iterator[Flaw]:
    """A set-up that no other check shares, or that takes another time there."""
    first: dict[str, tuple[str, float]] = {}
    users: dict[str, list[str]] = {}
    for name, check in whole.rulebase.checks.items():
        if check.set_up:
            users.setdefault(check.set_up, []).append(name)
            other, minutes = first.setdefault(check.set_up, (name, check.set_up_minutes))
            if minutes != check.set_up_minutes:
                what = (
                    f"the set-up '{check.set_up}' takes {check.set_up_minutes:g} min for '{name}' and {minutes:g} min "
                )
                why = "one set-up has one length, whichever check comes first"
                yield Flaw(f"checks/{name}", f"{what}for '{other}'", why, "write the same minutes, or name two set-ups")
    for set_up, names in users.items():
        if len(names) == 1:
            yield Flaw(
                f"checks/{names[0]}",
                f"no other check shares the set-up '{set_up}' of '{names[0]}'",
                "a set-up is named so that checks which share it are done together",
                "mend its name, or count its minutes under minutes:",
            )
