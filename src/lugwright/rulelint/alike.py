"""Lints of look-alikes: is there a check that splits two causes, and do both know of each other?"""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.belief.placing import cause_places
from lugwright.rulebase import rules as written
from lugwright.rulelint.registry import Flaw, lint
from lugwright.rulelint.whole import Profile, Whole


@lint("look-alike-of-itself", "error")
def look_alike_of_itself(whole: Whole) -> Iterator[Flaw]:
    """A cause named as its own look-alike, or twice."""
    for name, cause in whole.rulebase.causes.items():
        named: set[str] = set()
        for n, alike in enumerate(cause.look_alikes):
            if alike.cause == name or alike.cause in named:
                what = f"'{name}' is named as a look-alike of itself"
                if alike.cause != name:
                    what = f"'{name}' names the look-alike '{alike.cause}' twice"
                yield Flaw(f"causes/{name}/look_alikes/{n}", what, "another cause must be meant", "write the one it is")
            named.add(alike.cause)


@lint("look-alike-never-meets", "error")
def look_alike_never_meets(whole: Whole) -> Iterator[Flaw]:
    """Two look-alikes that never exist on one machine."""
    for name, cause in whole.rulebase.causes.items():
        for n, alike in enumerate(cause.look_alikes):
            if not any(whole.machines_of(cause, whole.rulebase.causes[alike.cause])):
                yield Flaw(
                    f"causes/{name}/look_alikes/{n}",
                    f"'{name}' and its look-alike '{alike.cause}' never exist on one machine",
                    "they cannot be mistaken for one another",
                    "take it out, or mend layouts: and drives:",
                )


@lint("look-alike-one-sided", "warning")
def look_alike_one_sided(whole: Whole) -> Iterator[Flaw]:
    """A look-alike that does not name this cause in return."""
    for name, cause in whole.rulebase.causes.items():
        for n, alike in enumerate(cause.look_alikes):
            others = {one.cause for one in whole.rulebase.causes[alike.cause].look_alikes}
            if alike.cause != name and name not in others:
                yield Flaw(
                    f"causes/{name}/look_alikes/{n}",
                    f"'{name}' looks like '{alike.cause}', and '{alike.cause}' does not say so",
                    "whoever begins at the other cause is not told of this one",
                    f"add {{cause: {name}, split_by: {alike.split_by}, how: ...}} to {alike.cause}",
                )


@lint("look-alike-not-split", "error")
def look_alike_not_split(whole: Whole) -> Iterator[Flaw]:
    """A check that shall split two look-alikes and decides nothing that differs between them."""
    for name, cause in whole.rulebase.causes.items():
        for n, alike in enumerate(cause.look_alikes):
            if alike.cause != name and not _split(whole, name, alike.cause, alike.split_by):
                yield Flaw(
                    f"causes/{name}/look_alikes/{n}",
                    f"'{alike.split_by}' cannot split '{name}' from '{alike.cause}': it decides no symptom that they "
                    f"show differently",
                    "whatever the check shows, the two stay as likely as before against each other",
                    "name a check that does, add the symptom to its decides:, or write different words for it",
                )


def _split(whole: Whole, name: str, other: str, check: str) -> bool:
    """Whether a check settles a sign that the two show differently, or a rule on its reading bears on one of them."""
    causes = whole.rulebase.causes
    if any({name, other} & set(_bearing(rule)) for rule in _rules_on(whole, check)):
        return True
    if _interview(whole, check) and _context_of(whole, name) != _context_of(whole, other):
        return True
    decided = {*whole.rulebase.checks[check].decides, *_concluded_from(whole, check)}
    machines = list(whole.machines_of(causes[name], causes[other]))
    return not machines or any(
        all(
            _of(whole.profile(name, here, layout, drive), symptom)
            != _of(whole.profile(other, there, layout, drive), symptom)
            for here in cause_places(causes[name], layout)
            for there in cause_places(causes[other], layout)
        )
        for symptom in sorted(decided)
        for layout, drive in machines
    )


def _interview(whole: Whole, check: str) -> bool:
    """A check that decides what can only be asked settles the life of the machine too."""
    return any(whole.rulebase.symptoms[one].by == "ask" for one in whole.rulebase.checks[check].decides)


def _context_of(whole: Whole, cause: str) -> set[str]:
    """What the answers about the machine say about a cause: every shift or exclusion and what it rests on."""
    found = set()
    for rule in whole.rulebase.rules.values():
        if all(isinstance(one, written.ContextIs) for one in rule.when):
            when = [one.model_dump_json(exclude_defaults=True) for one in rule.when]
            for one in rule.then:
                if isinstance(one, written.CauseShift) and one.cause == cause:
                    found.add(f"{when} {one.becomes} {one.hand}")
                elif isinstance(one, written.Excludes) and one.excludes == cause:
                    found.add(f"{when} excluded")
    return found


def _rules_on(whole: Whole, check: str) -> Iterator[written.ChainingRule]:
    return (whole.rulebase.rules[name] for name in whole.rules_on.get(check, ()))


def _bearing(rule: written.ChainingRule) -> Iterator[str]:
    for one in rule.then:
        if isinstance(one, written.CauseShift):
            yield one.cause
        elif isinstance(one, written.Excludes):
            yield one.excludes


def _concluded_from(whole: Whole, check: str) -> Iterator[str]:
    for rule in _rules_on(whole, check):
        yield from (one.finding for one in rule.then if isinstance(one, written.Finding))


def _of(profile: Profile, symptom: str) -> set[tuple[str, str, str]]:
    """Place, word and context of one symptom."""
    return {
        (at.key, link.show.how_often, f"{sorted(link.show.given.items())} {sorted(link.show.unless.items())}")
        for (name, at), links in profile.items()
        if name == symptom
        for link in links
    }
