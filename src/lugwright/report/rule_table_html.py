"""A table of a rule base as one HTML page: no script, nothing loaded from elsewhere, light and dark, prints.

Every text goes through `html.escape`. Tones carry no meaning of their own: each cell says its word. The colour pairs
stand in `LIGHT` and `DARK`, so that a test can work out their contrast.
"""

from __future__ import annotations

import html
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from lugwright.report.lines import printable
from lugwright.report.rule_table import Head, Mark, Matrix, mark_words

#: What is drawn -> (text, ground).
LIGHT: Mapping[str, tuple[str, str]] = {
    "page": ("#1a1a1a", "#ffffff"),
    "head": ("#1a1a1a", "#e9ebee"),
    "group": ("#1a1a1a", "#d5dbe1"),
    "faint": ("#4d4d4d", "#ffffff"),
    "almost-always": ("#ffffff", "#0b4f8a"),
    "usually": ("#1a1a1a", "#8fb8de"),
    "often": ("#1a1a1a", "#b9d3ea"),
    "sometimes": ("#1a1a1a", "#dbe8f4"),
    "rarely": ("#1a1a1a", "#f1f6fb"),
    "never": ("#1a1a1a", "#ffffff"),
    "against": ("#7a3c00", "#fff3e3"),
    "plain": ("#1a1a1a", "#dbe8f4"),
}
DARK: Mapping[str, tuple[str, str]] = {
    "page": ("#ececec", "#16181b"),
    "head": ("#ececec", "#26292e"),
    "group": ("#ececec", "#353a41"),
    "faint": ("#b5b5b5", "#16181b"),
    "almost-always": ("#10131a", "#9cc8f0"),
    "usually": ("#ffffff", "#2f6599"),
    "often": ("#ffffff", "#264f78"),
    "sometimes": ("#ececec", "#203a54"),
    "rarely": ("#ececec", "#1b2835"),
    "never": ("#ececec", "#16181b"),
    "against": ("#ffc58a", "#33220f"),
    "plain": ("#ececec", "#203a54"),
}

_STYLE = """
:root { color-scheme: light dark; }
body { margin: 1rem; width: max-content; min-width: calc(100% - 2rem); font: 14px/1.35 system-ui, sans-serif; }
body { background: var(--page-ground); color: var(--page-text); }
h1 { font-size: 1.3rem; margin: 0 0 .3rem; }
header p { margin: 0 0 .3rem; max-width: 60rem; }
header { position: sticky; left: 1rem; max-width: calc(100vw - 4rem); }
.faint { color: var(--faint-text); background: var(--faint-ground); }
table { border-collapse: separate; border-spacing: 0; margin-top: .8rem; }
th, td { border: 0 solid #8a8f96; border-width: 0 1px 1px 0; padding: .2rem .35rem; vertical-align: top; }
th { background: var(--head-ground); color: var(--head-text); font-weight: 600; text-align: left; }
thead { position: sticky; top: 0; z-index: 2; }
thead th { border-top-width: 1px; }
thead .name { vertical-align: bottom; padding: .4rem .2rem; }
thead .name span { writing-mode: vertical-rl; transform: rotate(180deg); max-height: 15rem; display: inline-block; }
thead .corner { position: sticky; left: 0; z-index: 3; vertical-align: bottom; }
tbody th { position: sticky; left: 0; z-index: 1; min-width: 14rem; max-width: 18rem; border-left-width: 1px; }
tbody th small { display: block; font-weight: 400; }
th.group, thead .scope { background: var(--group-ground); color: var(--group-text); }
td { min-width: 4.4rem; font-size: .85rem; }
td div { padding: .1rem .25rem; border-radius: .2rem; }
td div + div { margin-top: .15rem; }
td small { display: block; font-size: .78rem; }
td .against { outline: 1px dashed; }
td .almost-always, td .usually { font-weight: 600; }
tbody tr:hover td { box-shadow: inset 0 2px 0 #8a8f96, inset 0 -2px 0 #8a8f96; }
@page { size: A3 landscape; margin: 8mm; }
@media print {
  body { margin: 0; width: auto; min-width: 0; font-size: 7px; }
  table { width: 100%; table-layout: fixed; }
  thead .corner { width: 38mm; }
  header, thead, thead .corner, tbody th { position: static; }
  thead { display: table-header-group; }
  tr { break-inside: avoid; }
  tbody th { min-width: 0; max-width: none; }
  th, td { padding: 1px; }
  td { min-width: 0; font-size: 6px; overflow-wrap: anywhere; }
  td small { font-size: 5px; }
  td div { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
"""


def as_html(table: Matrix) -> str:
    """The table as one page. The same table gives the same bytes."""
    return "".join(f"{line}\n" for line in _page(table))


def _page(table: Matrix) -> Iterator[str]:
    yield "<!DOCTYPE html>"
    yield '<html lang="en-GB"><head><meta charset="utf-8">'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f"<title>{_safe(table.title)}</title>"
    yield "<style>" + _colours(LIGHT, ":root")
    yield "@media screen and (prefers-color-scheme: dark) {" + _colours(DARK, ":root") + "}"
    yield _STYLE.strip() + "".join(_tone(name) for name in LIGHT) + "</style></head><body>"
    yield f"<header><h1>{_safe(table.title)}</h1><p>{_safe(table.legend)}</p>"
    yield f'<p class="faint">{_safe(table.label)}</p></header>'
    yield "<table>"
    yield from _head(table)
    for group, rows in groupby(table.rows, key=lambda row: row.group):
        yield f'<tbody><tr><th class="group" scope="rowgroup">{_safe(group)}</th>'
        yield f'<td class="group" colspan="{len(table.columns) + bool(table.note)}"></td></tr>'
        for row in rows:
            yield _row(table, row)
        yield "</tbody>"
    yield "</table></body></html>"


def _head(table: Matrix) -> Iterator[str]:
    corner = f"{table.rows_are} / {table.columns_are}"
    yield f'<thead><tr><th class="corner" rowspan="2">{_safe(corner)}</th>'
    if table.note:
        yield f'<th rowspan="2" class="name" scope="col">{_safe(table.note)}</th>'
    for group, inside in groupby(table.columns, key=lambda column: column.group):
        span = len(tuple(inside))
        yield f'<th class="scope" colspan="{span}" scope="colgroup">{_safe(group)}</th>'
    yield "</tr><tr>"
    for column in table.columns:
        tip = f"{column.id}, {column.note}" if column.note else column.id
        yield f'<th class="name" scope="col" title="{_safe(tip)}"><span>{_safe(column.name)}</span></th>'
    yield "</tr></thead>"


def _row(table: Matrix, row: Head) -> str:
    cells = "".join(_cell(row, column, table.cells.get((row.id, column.id), ())) for column in table.columns)
    note = f"<td>{_safe(row.note)}</td>" if table.note else ""
    return f'<tr><th scope="row">{_safe(row.name)}<small>{_safe(row.id)}</small></th>{note}{cells}</tr>'


def _cell(row: Head, column: Head, marks: Sequence[Mark]) -> str:
    return "<td>" + "".join(_mark(row, column, mark) for mark in marks) + "</td>"


def _mark(row: Head, column: Head, mark: Mark) -> str:
    tip = f"{row.name} / {column.name}: {mark_words(mark)}" + (f"   {mark.spot}" if mark.spot else "")
    where = f"<small>{_safe(mark.detail)}</small>" if mark.detail else ""
    return f'<div class="{mark.tone or "plain"}" title="{_safe(tip)}">{_safe(mark.word)}{where}</div>'


def _safe(text: str) -> str:
    return html.escape(printable(text))


def _colours(pairs: Mapping[str, tuple[str, str]], where: str) -> str:
    rules = "".join(f"--{name}-text:{text};--{name}-ground:{ground};" for name, (text, ground) in pairs.items())
    return f"{where} {{{rules}}}"


def _tone(name: str) -> str:
    return f"\ntd .{name} {{ color: var(--{name}-text); background: var(--{name}-ground); }}"
