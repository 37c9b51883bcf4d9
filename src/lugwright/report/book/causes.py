"""The page of one cause: where it acts, what it shows, what it is taken for, which rules bear on it, what is done."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from lugwright.report.book.bearing import Bearing
from lugwright.report.book.conditions import when_words
from lugwright.report.book.headings import DISPUTED, entry_heading, to, told
from lugwright.report.book.markdown import bullet, code, link, table
from lugwright.report.book.words import (
    acts_words,
    before_words,
    exists_words,
    only_words,
    place_words,
    plain,
)
from lugwright.report.page.markdown import escaped
from lugwright.report.rule_links import COMPONENTS, WORDS
from lugwright.rulebase.rules import Excludes

if TYPE_CHECKING:
    from lugwright.rulebase.base import RuleBase
    from lugwright.rulebase.schema import Shows


def cause_page(rulebase: RuleBase, name: str) -> Iterator[str]:
    """The page of a cause as lines."""
    bearing = Bearing(rulebase, name)
    yield f"### {entry_heading(rulebase, 'causes', name)}"
    yield ""
    yield from _head(bearing)
    yield ""
    yield from _signs(bearing)
    yield from _part("Taken for", _taken_for(bearing))
    yield from _part("Rules that make it more or less likely", _rates(bearing))
    yield from _part("Verdicts on its signs", _rules(bearing))
    yield from _part("Where practice differs", _disputed(bearing))


def _part(title: str, lines: Iterator[str]) -> Iterator[str]:
    found = list(lines)
    if found:
        yield f"**{title}**"
        yield ""
        yield from found
        yield ""


def _head(bearing: Bearing) -> Iterator[str]:
    rulebase, name = bearing.rulebase, bearing.cause
    cause = rulebase.causes[name]
    yield bullet("Id", code(name))
    if overlay := rulebase.overlay_of(f"causes/{name}"):
        yield bullet("Comes from", escaped(overlay))
    yield bullet("Acts on", escaped(acts_words(cause)))
    grows = "It begins mild and grows." if cause.grows else "It does not grow; it is there or it is not."
    yield bullet("Beforehand", escaped(before_words(cause, rulebase)), grows)
    if exists := exists_words(cause):
        yield bullet("Occurs", escaped(exists))
    yield bullet("Because", escaped(cause.because))
    yield bullet("If ignored", escaped(cause.if_ignored))
    yield bullet("Remedy", escaped(cause.remedy))
    if cause.procedure:
        yield bullet("Work", _work(rulebase, cause.procedure))
    yield bullet("Rests on", escaped(cause.basis.short))
    if cause.feeds:
        yield bullet("Brings about", ", ".join(to(rulebase, "causes", one) for one in cause.feeds))
    fed_by = [other for other, one in rulebase.causes.items() if name in one.feeds]
    if fed_by:
        yield bullet("Brought about by", ", ".join(to(rulebase, "causes", one) for one in fed_by))


def _work(rulebase: RuleBase, name: str) -> str:
    entry = rulebase.procedures.get(name)
    minutes = f", about {entry.minutes:g} min" if entry and entry.minutes else ""
    return f"{told(rulebase, 'procedures', name)} ({code(name)}{minutes})"


def _signs(bearing: Bearing) -> Iterator[str]:
    rulebase, cause = bearing.rulebase, bearing.rulebase.causes[bearing.cause]

    def order(show: Shows) -> tuple[object, ...]:
        symptom = rulebase.symptoms[show.symptom]
        return WORDS.index(show.how_often), COMPONENTS.index(symptom.component), show.symptom

    yield "**What it shows**"
    yield ""
    columns = ("how often", "sign", "where", "comes", "only, and why")
    yield from table(
        columns,
        (
            (
                plain(show.how_often), told(rulebase, "symptoms", show.symptom), _where(bearing, show),
                plain(show.appears or rulebase.symptoms[show.symptom].appears), _only(bearing, show),
            )
            for show in sorted(cause.shows, key=order)
        ),
    )  # fmt: skip
    if cause.never_shows:
        yield "**What speaks against it when it is seen**"
        yield ""
        yield from table(
            ("sign", "where", "only, and why"),
            (
                (told(rulebase, "symptoms", show.symptom), _where(bearing, show), _only(bearing, show))
                for show in sorted(cause.never_shows, key=order)
            ),
        )


def _where(bearing: Bearing, show: Shows) -> str:
    rulebase = bearing.rulebase
    return escaped(place_words(show, rulebase.symptoms[show.symptom], rulebase.causes[bearing.cause]))


def _only(bearing: Bearing, show: Shows) -> str:
    only = only_words(show, bearing.rulebase.symptoms[show.symptom], bearing.rulebase)
    return escaped(". ".join(part.rstrip(".") for part in (only[:1].upper() + only[1:], show.because) if part))


def _taken_for(bearing: Bearing) -> Iterator[str]:
    rulebase = bearing.rulebase
    for other, check, how, says_other in bearing.taken_for():
        entry = rulebase.checks.get(check)
        minutes = f" ({entry.minutes:g} min)" if entry else ""
        by = f"settled by {told(rulebase, 'checks', check)}{minutes}"
        note = " (from the page of that cause)" if says_other else ""
        yield f"- {to(rulebase, 'causes', other)}, {by}{note}. {escaped(how)}"


def _rates(bearing: Bearing) -> Iterator[str]:
    rulebase = bearing.rulebase
    for name, one in bearing.on_rate:
        rule = rulebase.rules[name]
        becomes = "ruled out" if isinstance(one, Excludes) else plain(one.becomes)
        at = next((f", {slot} {one_at}" for slot in ("unit", "axle", "side", "hand")
                   if (one_at := getattr(one, slot)) and not one_at.startswith("$")), "")  # fmt: skip
        yield (
            f"- **{escaped(becomes)}**{escaped(at)} when {escaped(when_words(rule, rulebase))}. "
            f"{told(rulebase, 'chaining', name)} ({code(name)}), {escaped(rule.basis.short)}."
        )


def _rules(bearing: Bearing) -> Iterator[str]:
    rulebase = bearing.rulebase
    for action, found in bearing.verdicts.items():
        if found:
            yield bullet(plain(action).capitalize(), _names(rulebase, found))


def _names(rulebase: RuleBase, rules: Sequence[str]) -> str:
    return "; ".join(told(rulebase, "chaining", one) for one in rules)


def _disputed(bearing: Bearing) -> Iterator[str]:
    rulebase = bearing.rulebase
    if own := rulebase.causes[bearing.cause].practice_differs:
        yield f"- {escaped(own)}"
    others = [key.split("/", 1) for key in bearing.disputed() if key != f"causes/{bearing.cause}"]
    if others:
        yield f"- See {link(DISPUTED)} about {'; '.join(told(rulebase, *key) for key in others)}."
