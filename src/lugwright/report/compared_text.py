"""Two answers in words: side by side where the window is wide enough, one under the other where it is not."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from lugwright.report.compared import Change, Comparison
from lugwright.report.lines import MOST_WIDTH, Line, printable

#: From this many columns on, the two stand side by side.
WIDE = 90
TITLES = {
    "machine": "Machine",
    "verdict": "Verdict",
    "causes": "Causes",
    "findings": "Signs that changed",
    "readings": "Readings",
    "open": "Open ends",
}


def compared_lines(both: Comparison, width: int) -> Iterator[Line]:
    """The summary, then every part. width: columns of the window. A row that changed begins with `*`."""
    yield Line(f"{both.before}   against   {both.after}", tone="strong")
    yield Line()
    for text in both.summary:
        yield Line(text, tone="head")
    wide = width >= WIDE
    for part, title in TITLES.items():
        rows = [one for one in both.changes if one.part == part]
        if not rows:
            continue
        yield Line()
        yield Line(title, tone="head")
        if wide:
            yield from _side_by_side(rows, both, min(width, MOST_WIDTH))
        else:
            yield from _stacked(rows)
    yield Line()
    yield Line("* changed", tone="faint")


def _mark(row: Change) -> str:
    return "*" if row.changed else " "


def _stacked(rows: list[Change]) -> Iterator[Line]:
    for row in rows:
        yield Line(row.what, label=_mark(row), label_width=2, tone="strong" if row.changed else "")
        if row.changed:
            yield Line(row.before, indent=4, label="before", label_width=8)
            yield Line(row.after, indent=4, label="after", label_width=8)
        else:
            yield Line(row.after, indent=4, label="both", label_width=8)


def _side_by_side(rows: list[Change], both: Comparison, width: int) -> Iterator[Line]:
    """Three columns, laid out here and printed as they are."""
    room = (width - 6) // 3
    yield from _columns("  ", "", both.before, both.after, room, "faint")
    for row in rows:
        yield from _columns(_mark(row) + " ", row.what, row.before, row.after, room, "strong" if row.changed else "")


def _columns(mark: str, what: str, before: str, after: str, room: int, tone: str) -> Iterator[Line]:
    cells = [
        textwrap.wrap(printable(text), room, break_long_words=True, break_on_hyphens=False) or [""]
        for text in (what, before, after)
    ]
    for index in range(max(len(cell) for cell in cells)):
        parts = [(cell[index] if index < len(cell) else "").ljust(room) for cell in cells]
        yield Line((mark if not index else "  ") + "  ".join(parts).rstrip(), tone=tone)
