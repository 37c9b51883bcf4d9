"""The whole book: every page in its order, as one Markdown text."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from lugwright.report.book import headings, tables
from lugwright.report.book.causes import cause_page
from lugwright.report.book.markdown import bullet, code, link, table, target
from lugwright.report.book.words import plain
from lugwright.report.page.markdown import escaped

if TYPE_CHECKING:
    from lugwright.rulebase.base import RuleBase

HOW_TO_READ = """This page is printed from the rule base by `lugwright rules book`; edit the rules, not the page. The
operator's manual, local rules and qualified people come before everything that stands here.

*Own side* is the side a cause points to, *other side* the one opposite to it; what a side or a hand means stands on the
page of the cause. A sign *comes* before any wear, at once, soon or late in the life of a growing fault. *On a sound
machine* says how often the sign is seen without any fault. A sign that was looked for and is not there counts against
the causes that show it, the more so the more often they do; what nobody looked at counts for nothing.

*Rests on* says where the words and numbers of an entry come from: published with its source, common practice, or
judgement, and in brackets how far they are trusted. The how-often words of a page rest on what its cause rests on."""

LEGENDS = {
    headings.SIGNS: "Under *may mean* the causes that show a sign, the likeliest to show it first.",
    headings.CHECKS: "In the usual order of work, the cheap and safe ones first. Read the cautions before anything is "
    "touched. *Needs* also names what must hold before the check is worth doing. How often a check misses or gives a "
    "false alarm is shown and not used in the sum. `lugwright rules show` with the id of a check prints its steps.",
    headings.WORK: "The steps, each with the caution that stands before it, are printed by `lugwright rules show` with "
    "the id of the work, and with the numbers of one machine by `lugwright jobcard`. A number in braces comes from the "
    "machine sheet; where the sheet has none, see the operator's manual.",
    headings.VERDICTS: "The most severe rule that fires decides; no probability softens it.",
    headings.RULES: "A rule fires when everything it names holds, at every unit, axle, side or hand that fits. "
    "Where no place is named, it is about the unit the rule looks at, or about the machine.",
    headings.SHEETS: "Figures of one machine each.",
    headings.DISPUTED: "Good people do these things differently. Each point names the views in use and the one that is "
    "taken here. Who knows better changes the entry, or lays another over it.",
}


def book(rulebase: RuleBase) -> str:
    """The book of a rule base, overlays included.

    The same content gives the same bytes. The fingerprint is left out, so that nothing but what is said changes them.
    """
    lines = list(_book(rulebase))
    lines += [target(line.lstrip("# ")) for line in lines if line.startswith(("## ", "### "))]
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)) + "\n"


def _book(rulebase: RuleBase) -> Iterator[str]:
    yield f"# The rule base: {escaped(rulebase.about.title)}"
    yield ""
    yield HOW_TO_READ
    yield ""
    yield from _about(rulebase)
    parts: dict[str, Callable[[RuleBase], Iterator[str]]] = {
        headings.CONTENTS: tables.contents, headings.WORDS: _scales, headings.CAUSES: _causes,
        headings.SIGNS: tables.signs, headings.CHECKS: tables.checks, headings.WORK: tables.work,
        headings.VERDICTS: tables.verdicts, headings.RULES: tables.rules, headings.QUESTIONS: tables.questions,
        headings.SHEETS: tables.sheets, headings.DISPUTED: tables.disputed,
    }  # fmt: skip
    bodies = {title: list(part(rulebase)) for title, part in parts.items()}
    yield " · ".join(link(title) for title, body in bodies.items() if body)
    yield ""
    for title, body in bodies.items():
        if body:
            yield f"## {title}"
            yield ""
            yield from [LEGENDS[title], ""] if LEGENDS.get(title) else []
            yield from body
            yield ""


def _about(rulebase: RuleBase) -> Iterator[str]:
    yield bullet("Version", code(rulebase.about.version))
    if rulebase.about.note:
        yield bullet("Note", escaped(rulebase.about.note))
    for layer in rulebase.layers[1:]:
        version = f" {layer.version}" if layer.version else ""
        yield bullet("Overlay", escaped(f"{layer.title}{version}; its entries have its title in brackets"))
        if layer.retires:
            yield bullet("Retired by it", ", ".join(code(key) for key in layer.retires))
    yield ""


def _scales(rulebase: RuleBase) -> Iterator[str]:
    scales = rulebase.scales
    yield escaped(scales.because)
    yield ""
    yield bullet("Rests on", escaped(scales.basis.short))
    yield ""
    yield from table(
        ("how often, when the cause is there and well established", "of 100", "may mean"),
        ((plain(word), f"{100 * one.value:g}", f"{100 * one.low:g} to {100 * one.high:g}")
         for word, one in scales.how_often.items()),
    )  # fmt: skip
    yield from table(
        ("on a sound machine", "of 100"), ((plain(word), f"{100 * rate:g}") for word, rate in scales.sound.items())
    )
    yield from table(
        ("beforehand", "weight"), ((plain(word), f"{weight:g}") for word, weight in scales.beforehand.items())
    )
    yield from table(
        ("a rule makes a cause", "weight times"), ((plain(word), f"{by:g}") for word, by in scales.shifts.items())
    )
    rates = ", ".join(f"{rate:g} at a visit of the kind {plain(word)}" for word, rate in scales.rate_per_visit.items())
    yield f"The weights share out the number of faults to be expected on one machine: {escaped(rates)}."
    yield ""


def _causes(rulebase: RuleBase) -> Iterator[str]:
    for name in rulebase.causes:
        yield from cause_page(rulebase, name)
