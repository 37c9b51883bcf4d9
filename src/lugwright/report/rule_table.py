"""Tables of a rule base: symptom x cause with the how-often words, cause x look-alike, check x symptom.

A table is built once as a `Matrix`; the page, the CSV file and the table of counts are views of it.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from lugwright.report.lines import Line, printable
from lugwright.report.rule_links import COMPONENTS, SCOPES, WORDS, alikes, links

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

KINDS = ("signs", "look-alikes", "checks")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True)
class Head:
    """A row or a column: its id, its name, the group it stands in, and a word that belongs to it."""

    id: str
    name: str
    group: str
    note: str = ""


@dataclass(frozen=True)
class Mark:
    """One thing a cell says: a word, a detail, and the spot it is written at. tone: a how-often word or empty."""

    word: str
    detail: str = ""
    spot: str = ""
    tone: str = ""


@dataclass(frozen=True)
class Matrix:
    """A table: rows and columns in groups, cells by (row id, column id). A cell that says nothing is left out.

    note: what the word beside a row means, as the head of that column; empty where rows have none.
    """

    title: str
    legend: str
    rows_are: str
    columns_are: str
    note: str
    rows: tuple[Head, ...]
    columns: tuple[Head, ...]
    cells: Mapping[tuple[str, str], tuple[Mark, ...]]
    label: str


def matrix(rulebase: RuleBase, kind: str = "signs") -> Matrix:
    """The table of one kind: `signs`, `look-alikes` or `checks`. Raises KeyError for another word."""
    return {"signs": _signs, "look-alikes": _look_alikes, "checks": _checks}[kind](rulebase)


def _signs(rulebase: RuleBase) -> Matrix:
    cells: dict[tuple[str, str], list[Mark]] = {}
    for link in links(rulebase):
        word = "against" if link.against else link.how_often.replace("-", " ")
        mark = Mark(word, link.where, link.spot, "against" if link.against else link.how_often)
        cells.setdefault((link.symptom, link.cause), []).append(mark)
    return Matrix(
        "Symptoms and causes",
        "A word says how often the symptom is seen when the cause is there and well established; under it stands "
        "where. against: the symptom speaks against the cause when it is seen. sound: how often it is "
        "seen without any fault.",
        "symptom",
        "cause",
        "sound",
        _symptoms(rulebase),
        _causes(rulebase),
        _frozen(cells),
        rulebase.label,
    )


def _look_alikes(rulebase: RuleBase) -> Matrix:
    cells: dict[tuple[str, str], list[Mark]] = {}
    for pair in alikes(rulebase):
        for name, spot in zip(pair.named_by, pair.spots, strict=True):
            cells.setdefault((name, pair.other(name)), []).append(Mark(pair.check, "", spot))
    return Matrix(
        "Causes and their look-alikes",
        "A cell names the check that splits the cause of the row from the cause of the column.",
        "cause",
        "look-alike",
        "beforehand",
        _causes(rulebase),
        _causes(rulebase),
        _frozen(cells),
        rulebase.label,
    )


def _checks(rulebase: RuleBase) -> Matrix:
    rows = tuple(
        Head(name, check.name, f"per {check.where}", f"{check.minutes:g} min")
        for name, check in sorted(rulebase.checks.items(), key=lambda one: (one[1].where, one[0]))
    )
    cells = {
        (name, symptom): (Mark("decides", "", str(rulebase.spots.get(f"checks/{name}/decides", ""))),)
        for name, check in rulebase.checks.items()
        for symptom in check.decides
    }
    return Matrix(
        "Checks and symptoms",
        "A cell is filled where the check settles whether the symptom is there.",
        "check",
        "symptom",
        "takes",
        rows,
        _symptoms(rulebase),
        cells,
        rulebase.label,
    )


def _symptoms(rulebase: RuleBase) -> tuple[Head, ...]:
    rows = sorted(rulebase.symptoms.items(), key=lambda one: (COMPONENTS.index(one[1].component), one[0]))
    return tuple(Head(name, one.name, one.component.replace("-", " "), one.sound) for name, one in rows)


def _causes(rulebase: RuleBase) -> tuple[Head, ...]:
    order = list(SCOPES)
    rows = sorted(rulebase.causes.items(), key=lambda one: (order.index(one[1].acts_on), one[0]))
    return tuple(Head(name, one.name, SCOPES[one.acts_on], one.beforehand) for name, one in rows)


def _frozen(cells: Mapping[tuple[str, str], Iterable[Mark]]) -> dict[tuple[str, str], tuple[Mark, ...]]:
    return {key: tuple(marks) for key, marks in sorted(cells.items())}


def as_csv(table: Matrix) -> str:
    """The table as CSV (RFC 4180) with one header row of ids. No cell can be taken for a formula by a spreadsheet."""
    out = io.StringIO()
    writer = csv.writer(out)
    lead = [table.rows_are, "name", "group", *([table.note] if table.note else [])]
    writer.writerow([harmless(text) for text in (*lead, *(column.id for column in table.columns))])
    for row in table.rows:
        head = [row.id, row.name, row.group, *([row.note] if table.note else [])]
        said = [table.cells.get((row.id, column.id), ()) for column in table.columns]
        cells = ["; ".join(mark_words(mark) for mark in marks) for marks in said]
        writer.writerow([harmless(text) for text in (*head, *cells)])
    return out.getvalue()


def harmless(text: str) -> str:
    """A cell that a spreadsheet shows as text: control marks made visible, an apostrophe before what begins a formula.

    >>> harmless("=1+1"), harmless("often"), harmless("  @x")
    ("'=1+1", 'often', "'  @x")
    """
    risky = text.lstrip(" ").startswith(_FORMULA)
    return ("'" if risky else "") + printable(text)


def mark_words(mark: Mark) -> str:
    """What a mark says on one line.

    >>> mark_words(Mark("often", "same side")), mark_words(Mark("tension"))
    ('often (same side)', 'tension')
    """
    return f"{mark.word} ({mark.detail})" if mark.detail else mark.word


def count_lines(table: Matrix) -> Iterator[Line]:
    """How many cells say what, for each group of rows and each column; narrow enough for a terminal."""
    found = Counter(mark.word for marks in table.cells.values() for mark in marks)
    usual = [word.replace("-", " ") for word in WORDS] + ["against"]
    words = [word for word in usual if word in found] if set(found) <= set(usual) else []
    yield Line(f"{table.title}: {len(table.rows)} x {len(table.columns)}", tone="strong")
    yield Line(table.label, tone="faint")
    yield Line()
    groups = list(dict.fromkeys(row.group for row in table.rows))
    group_of = {row.id: row.group for row in table.rows}
    by_group = {group: [mark for (row, _), marks in table.cells.items() if group_of[row] == group for mark in marks]
                for group in groups}  # fmt: skip
    by_column = {column.id: [mark for (_, id_), marks in table.cells.items() if id_ == column.id for mark in marks]
                 for column in table.columns}  # fmt: skip
    yield from _counts(f"{table.rows_are}s by group", by_group, words)
    yield Line()
    yield from _counts(table.columns_are, by_column, words)


def _counts(heading: str, rows: Mapping[str, list[Mark]], words: list[str]) -> Iterator[Line]:
    width = max(len(name) for name in (heading, *rows)) + 2
    columns = [*words, "all"]
    yield Line("  ".join(columns), label=heading, label_width=width, tone="head")
    for name, marks in rows.items():
        count = Counter(mark.word for mark in marks)
        figures = [count[word] for word in words] + [len(marks)]
        cells = "  ".join(f"{figure or '.':>{len(word)}}" for figure, word in zip(figures, columns, strict=True))
        yield Line(cells, label=name, label_width=width)
