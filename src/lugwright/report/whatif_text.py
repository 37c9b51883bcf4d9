"""Two answers side by side, and what it takes to get another first cause, in plain words."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.prospects import Change, Flips, WhatIf
from lugwright.report.figures import percent
from lugwright.report.lines import Line
from lugwright.report.text import VERDICTS

SAID = {"seen": "there", "absent": "looked for and not there", "unknown": "not looked at"}


def what_if_lines(one: WhatIf) -> Iterator[Line]:
    """The two rankings side by side, then the findings and the steps that changed."""
    yield Line(f"{one.case}   {one.machine}", tone="strong")
    yield Line(one.rulebase.words, tone="faint")
    yield Line()
    yield Line("What if", tone="head")
    yield from (_changed(change) for change in one.asked)
    for key in one.set_aside:
        yield Line(f"the reading {key} is set aside, because it says the contrary", indent=4, tone="faint")
    yield Line()
    yield Line("Likely causes", tone="head", right="  as it is      then")
    for row in one.ranking:
        before = f"{_rank(row.rank_before)}{percent(row.before):>6}"
        after = f"{_rank(row.rank_after)}{percent(row.after):>6}"
        moved = row.rank_before == 1 or row.rank_after == 1
        yield Line(row.words, indent=2, tone="strong" if moved else "", right=f"{before}  {after}")
    yield Line()
    same = one.verdict_before == one.verdict_after
    now, then = VERDICTS[one.verdict_before][0], VERDICTS[one.verdict_after][0]
    yield Line("stays " + now if same else f"{now}, then {then}", label="Verdict", label_width=9)
    others = [change for change in one.findings if change.finding not in {asked.finding for asked in one.asked}]
    if others:
        yield Line()
        yield Line("Other findings that change with it", tone="head")
        yield from (_changed(change) for change in others)
    if one.steps:
        yield Line()
        yield Line("Rules that fire on one side only", tone="head")
        for change in one.steps:
            step = change.step
            text = f"{step.rule}: {'; '.join(step.concluded)}"
            label = "no longer" if change.only == "before" else "new"
            yield Line(text, indent=2, label=label, label_width=11, right=f"{step.file}:{step.line}")
    for note in one.notes:
        yield Line()
        yield Line(note, label="Note", label_width=6)


def flips_lines(one: Flips) -> Iterator[Line]:
    """What it takes to get another first cause."""
    yield Line(f"{one.case}   {one.machine}", tone="strong")
    yield Line(one.rulebase.words, tone="faint")
    yield Line()
    yield Line(one.first.words, label="First now", label_width=11, tone="strong", right=percent(one.first.probability))
    yield Line()
    if one.size:
        count = "One finding put otherwise gives" if one.size == 1 else f"{one.size} findings put otherwise give"
        least = "" if one.size == 1 or not one.exact else ", and no smaller set does"
        yield Line(f"{count} another first cause{least}", tone="head")
        for number, flip in enumerate(one.flips, 1):
            for at, change in enumerate(flip.changes):
                yield _changed(change, f"{number}" if at == 0 else " ")
            first = one.first.words
            yield Line(
                f"{flip.first.words} {percent(flip.first.probability)}; {first} falls to {percent(flip.instead_of)}",
                indent=5, label="first", label_width=7,
            )  # fmt: skip
    else:
        yield Line("The first place stands", tone="head")
    count = "1 changed case was weighed." if one.tried == 1 else f"{one.tried} changed cases were weighed."
    for note in (*one.notes, count):
        yield Line(note, indent=2, tone="faint")


def _changed(change: Change, label: str = "-") -> Line:
    text = f"{change.words}: {SAID[change.after]} (now: {SAID[change.before]})"
    return Line(text, indent=2, label=label, label_width=3)


def _rank(rank: int | None) -> str:
    return f"{rank:>2}" if rank is not None else " -"
