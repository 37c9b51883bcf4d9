"""The tables of the book: contents, signs, checks, work, rules, questions, machine sheets, disputed points."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from lugwright.report.book.bearing import subject
from lugwright.report.book.conditions import rule_words, when_words
from lugwright.report.book.headings import component_heading, entry_heading, to, told
from lugwright.report.book.markdown import bullet, code, link, table
from lugwright.report.book.words import exists_words, plain
from lugwright.report.page.markdown import escaped
from lugwright.report.rule_links import COMPONENTS, links
from lugwright.rulebase.base import KINDS
from lugwright.rulebase.rules import CauseShift, ContextIs, Excludes, Verdict, Voids
from lugwright.rulebase.words import SEVERITY

if TYPE_CHECKING:
    from lugwright.rulebase.base import RuleBase
    from lugwright.rulebase.schema import Cause

OFTEN = ("almost-always", "usually", "often")
_RULES = {
    "finding": "Rules that settle a sign", "cause": "Rules that make a cause more or less likely",
    "excludes": "Rules that rule a cause out", "voids": "Rules that spoil a reading",
    "context": "Rules that work a fact out",
}  # fmt: skip
_KIND = {
    "symptoms": "sign", "causes": "cause", "context": "question", "chaining": "rule", "checks": "check",
    "procedures": "work", "machines": "machine sheet",
}  # fmt: skip


def contents(rulebase: RuleBase) -> Iterator[str]:
    """Causes by the component they mark often, then every cause in a row."""
    yield "By component: the causes that often show a sign there."
    yield ""
    yield from table(
        ("component", "causes"),
        (
            (link(component_heading(one)),
             ", ".join(to(rulebase, "causes", name) for name in _marking(rulebase, one)))
            for one in _components(rulebase)
        ),
    )  # fmt: skip
    yield "By cause:"
    yield ""
    yield from table(
        ("cause", "acts on", "beforehand", "signs", "work", "rests on"),
        (
            (f"{to(rulebase, 'causes', name)} {code(name)}", escaped(_scope(cause)), plain(cause.beforehand),
             f"{len(cause.shows)}", told(rulebase, "procedures", cause.procedure) if cause.procedure else "",
             escaped(cause.basis.short))
            for name, cause in sorted(rulebase.causes.items(), key=lambda one: (one[1].name.lower(), one[0]))
        ),
    )  # fmt: skip


def _components(rulebase: RuleBase) -> list[str]:
    there = {symptom.component for symptom in rulebase.symptoms.values()}
    return [component for component in COMPONENTS if component in there]


def _marking(rulebase: RuleBase, component: str) -> list[str]:
    return [
        name
        for name, cause in rulebase.causes.items()
        if any(show.how_often in OFTEN and rulebase.symptoms[show.symptom].component == component
               for show in cause.shows)
    ]  # fmt: skip


def _scope(cause: Cause) -> str:
    return cause.acts_on if cause.oriented == "none" else f"{cause.acts_on}, by {cause.oriented}"


def signs(rulebase: RuleBase) -> Iterator[str]:
    """Every sign by component: what it may mean, the most frequent first, and what settles it."""
    for component in _components(rulebase):
        yield f"### {component_heading(component)}"
        yield ""
        yield from table(
            ("sign", "recognise", "noted", "on a sound machine", "may mean", "speaks against", "settled by",
             "rests on"),
            (_sign(rulebase, name) for name, one in rulebase.symptoms.items() if one.component == component),
        )  # fmt: skip


def _sign(rulebase: RuleBase, name: str) -> tuple[str, ...]:
    symptom = rulebase.symptoms[name]
    found: dict[str, dict[str, None]] = {}
    against: dict[str, None] = {}
    for show in links(rulebase, symptom=name):
        (against if show.against else found.setdefault(show.how_often, {}))[show.cause] = None
    means = [f"{plain(word)}: {', '.join(to(rulebase, 'causes', one) for one in causes)}"
             for word, causes in found.items()]  # fmt: skip
    settled = [check for check, entry in rulebase.checks.items() if name in entry.decides]
    exists = exists_words(symptom)
    alike = f" Taken for: {symptom.confused_with}" if symptom.confused_with else ""
    return (
        f"{told(rulebase, 'symptoms', name)} {code(name)}",
        escaped(symptom.recognise + alike),
        escaped(f"per {symptom.where}, by {symptom.by}" + (f", {exists}" if exists else "")),
        plain(symptom.sound) + (", each side" if symptom.sound_counts == "side" else ""),
        "; ".join(means),
        ", ".join(to(rulebase, "causes", one) for one in against),
        ", ".join(told(rulebase, "checks", one) for one in settled),
        escaped(symptom.basis.short),
    )


def checks(rulebase: RuleBase) -> Iterator[str]:
    """What each check decides, needs and takes, in the usual order of work; readings that something spoils."""
    yield from table(
        ("check", "decides", "minutes", "risk", "needs", "cautions", "misses", "false alarm", "spoiled by",
         "rests on"),
        (
            (
                f"{told(rulebase, 'checks', name)} {code(name)}",
                ", ".join(told(rulebase, "symptoms", one) for one in check.decides),
                f"{check.minutes:g}" + (f", set-up {check.set_up_minutes:g}" if check.set_up_minutes else ""),
                check.risk + (", moves" if check.moves else ""),
                escaped("; ".join((*check.needs, *check.preconditions))),
                escaped(" ".join(check.cautions)),
                plain(check.misses), plain(check.false_alarm),
                "; ".join((*(told(rulebase, "chaining", rule) for rule in _spoiling(rulebase, name)),
                           *(told(rulebase, "symptoms", sign) for sign in check.not_while))),
                escaped(check.basis.short),
            )
            for name, check in sorted(rulebase.checks.items(), key=lambda one: (one[1].order, one[0]))
        ),
    )  # fmt: skip


def _spoiling(rulebase: RuleBase, check: str) -> list[str]:
    return [name for name, rule in rulebase.rules.items()
            if any(isinstance(one, Voids) and one.voids == check for one in rule.then)]  # fmt: skip


def work(rulebase: RuleBase) -> Iterator[str]:
    """The work for the causes: what must hold before it, how it is proved, when it is looked at again."""
    yield from table(
        ("work", "for", "minutes", "before", "prove", "recheck", "rests on"),
        (
            (f"{told(rulebase, 'procedures', name)} {code(name)}",
             ", ".join(to(rulebase, "causes", cause) for cause, one in rulebase.causes.items()
                       if one.procedure == name),
             f"{entry.minutes:g}" if entry.minutes else "", escaped(" ".join(entry.before)), escaped(entry.prove),
             escaped(" ".join(entry.recheck)), escaped(entry.basis.short))
            for name, entry in rulebase.procedures.items()
        ),
    )  # fmt: skip


def verdicts(rulebase: RuleBase) -> Iterator[str]:
    """Every verdict, the most severe first: what it takes, what may no longer be done, the figure behind it."""
    rows = [
        (SEVERITY.index(one.verdict), name, one)
        for name, rule in rulebase.rules.items()
        for one in rule.then
        if isinstance(one, Verdict)
    ]
    yield from table(
        ("verdict", "rule", "when", "what may be done", "the figure", "rests on"),
        (
            (plain(one.verdict), f"{told(rulebase, 'chaining', name)} {code(name)}",
             escaped(when_words(rulebase.rules[name], rulebase)), escaped(one.limit), escaped(one.number),
             escaped(rulebase.rules[name].basis.short))
            for _, name, one in sorted(rows, key=lambda row: row[:2])
        ),
    )  # fmt: skip


def rules(rulebase: RuleBase) -> Iterator[str]:
    """The rules that give no verdict, by what they conclude."""
    for key, title in _RULES.items():
        found = [name for name, rule in rulebase.rules.items() if subject(rule) == key]
        if found:
            yield f"### {title}"
            yield ""
        yield from table(
            ("rule", "says", "rests on"),
            (
                (f"{told(rulebase, 'chaining', name)} {code(name)}",
                 escaped(rule_words(rulebase.rules[name], rulebase)), escaped(rulebase.rules[name].basis.short))
                for name in found
            ),
        )  # fmt: skip


def questions(rulebase: RuleBase) -> Iterator[str]:
    """What is asked about the machine and its work, and which causes the answer bears on by itself."""
    yield from table(
        ("fact", "question", "answers", "bears on", "rests on"),
        (
            (f"{told(rulebase, 'context', name)} {code(name)}",
             "worked out by a rule" if fact.derived else escaped(fact.question),
             escaped("; ".join(f"{plain(word)}: {text}" for word, text in fact.answers.items()))
             or escaped(f"a quantity: {fact.quantity}"),
             ", ".join(to(rulebase, "causes", one) for one in _borne_on(rulebase, name)),
             escaped(fact.basis.short))
            for name, fact in rulebase.context.items()
        ),
    )  # fmt: skip


def _borne_on(rulebase: RuleBase, fact: str) -> list[str]:
    found = {
        one.cause if isinstance(one, CauseShift) else one.excludes
        for rule in rulebase.rules.values()
        if any(isinstance(part, ContextIs) and part.context == fact for part in (*rule.when, *rule.unless))
        for one in rule.then
        if isinstance(one, (CauseShift, Excludes))
    }
    return sorted(found)


def sheets(rulebase: RuleBase) -> Iterator[str]:
    """The numbers of every machine sheet."""
    for name, sheet in rulebase.machines.items():
        yield f"### {entry_heading(rulebase, 'machines', name)}"
        yield ""
        yield escaped(sheet.because)
        yield ""
        yield bullet("Id", code(name))
        if sheet.invented:
            yield bullet("Invented", "this machine does not exist; no number here may be used on a real one")
        yield bullet("Machine", escaped(f"{sheet.layout}, drive {sheet.drive}"))
        yield bullet("Screw sense", escaped(plain(sheet.screw_sense)))
        yield bullet("Rests on", escaped(sheet.basis.short))
        yield ""
        yield from table(
            ("number", "value", "what it is for", "bolt"),
            ((code(key), escaped(one.value), escaped(one.means), escaped(one.bolt or ""))
             for key, one in sorted(sheet.numbers.items())),
        )  # fmt: skip


def disputed(rulebase: RuleBase) -> Iterator[str]:
    """Every entry that says where practice differs, by kind and then in the order of the ids."""
    for kind in KINDS:
        for name, entry in rulebase.entries(kind).items():
            if entry.practice_differs:
                yield f"- {to(rulebase, kind, name)} ({_KIND[kind]} {code(name)}): {escaped(entry.practice_differs)}"
