"""What to do, on the page: the next checks with what each outcome would change, then the work with its cautions."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.diagnosis import Diagnosis, NextCheck, Work
from lugwright.report.figures import arrow, moved, percent
from lugwright.report.page.blocks import Block, Bullets, Cautions, Facts, Heading, Steps, Table, Text
from lugwright.report.sentences import (
    REPAIRS,
    STOPPED,
    beside_work,
    comes_first,
    telling,
    to_prove,
    too_close_to_call,
)  # fmt: skip
from lugwright.report.text import clean_first, is_settled, nothing_to_check


def next_blocks(answer: Diagnosis) -> Iterator[Block]:
    """The checks worth doing next, after the cautions."""
    if text := clean_first(answer.void):
        yield Text(text)
    yield from (Text(f"Measure again. {text}") for text in too_close_to_call(answer.readings))
    if not answer.next_checks:
        yield Text(nothing_to_check(is_settled(answer), answer.verdict.work_first))
        return
    yield Cautions(answer.cautions)
    for number, check in enumerate(answer.next_checks, 1):
        yield from _check(check, number, answer)


def _check(check: NextCheck, number: int, answer: Diagnosis) -> Iterator[Block]:
    layer = answer.rulebase.mark("checks", check.check)
    yield Heading(f"{number}. {check.name}: {check.place_words}{layer}", right=f"{check.minutes:.0f} min")
    facts = [
        ("Why now", f"{comes_first(check)}." if check.first_for else ""),
        ("Asks", check.asks),
        ("Risk to the person", check.risk),
        ("Needed", "; ".join(check.needs)),
        ("Must hold", "; ".join(check.preconditions)),
        ("After", "; ".join(check.after)),
    ]
    yield Facts(tuple((name, text) for name, text in facts if text))
    rows = tuple(
        (
            outcome.result,
            percent(outcome.probability),
            f"{outcome.moves_words}: {arrow(outcome.moves_from, outcome.moves_to)}",
            f"{outcome.first_words}, {percent(outcome.first_probability)}",
        )
        for outcome in telling(check, None if check.first_for else moved)
    )
    columns = ("Outcome", "How likely", "Moves most", "Stands first then")
    if rows:
        yield Table(f"What check {number} would change", columns, rows, figures=(1,))


def work_blocks(answer: Diagnosis) -> Iterator[Block]:
    """The procedure for the first cause, cautions before steps."""
    if not answer.work:
        yield Text("No work is given: no cause is likely enough to work on without a further check.")
        return
    for work in answer.work:
        yield from _procedure(work, answer)


def _procedure(work: Work, answer: Diagnosis) -> Iterator[Block]:
    layer = answer.rulebase.mark("procedures", work.procedure)
    yield Heading(f"{work.name}: {work.place_words}{layer}")
    yield Cautions(tuple(dict.fromkeys((*answer.cautions[:1], *work.cautions))))
    first = list(beside_work(answer, work.cause))
    if answer.verdict.action == "stop":
        first.append(REPAIRS if work.repairs_stop else STOPPED)
    if work.confirm:
        first.append(to_prove(work))
    if first or work.before:
        yield Heading("Before it begins")
        yield Bullets((*first, *work.before))
    if work.tools:
        yield Facts((("Needed", ", ".join(work.tools)),))
    yield Heading("Steps")
    yield Steps(tuple((step.caution, step.do) for step in work.steps))
    rows = [("Prove it", work.prove), *(("Look again", text) for text in work.recheck)]
    yield Facts(tuple((name, text) for name, text in rows if text))
