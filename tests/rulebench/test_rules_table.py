"""`rules table`: every link stands in its cell, the page is harmless and readable, the CSV cannot run as a formula."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path

import pytest
import typer
from hypothesis import given
from hypothesis import strategies as st
from rulebench_bases import HOSTILE, SOUND, edited, shipped
from test_rules_draw import contrast
from typer.testing import CliRunner

from lugwright.cli.rules.table import TableKind, table_command
from lugwright.issues import UnusableInput
from lugwright.report.rule_table import KINDS, as_csv, count_lines, harmless, matrix
from lugwright.report.rule_table_html import DARK, LIGHT, as_html
from lugwright.rulebase.load import load

BASE = shipped()
CAUSES = next((SOUND / "causes").glob("*.yaml")).relative_to(SOUND).as_posix()
SYMPTOMS = next((SOUND / "symptoms").glob("*.yaml")).relative_to(SOUND).as_posix()
VOID = {"meta", "br"}


class Page(HTMLParser):
    """Reads a page: tags in balance, cells by row, attributes."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: Counter[str] = Counter()
        self.attributes: set[tuple[str, str]] = set()
        self.tips: list[str] = []
        self.rows: list[list[list[str]]] = []
        self.text: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        self.attributes.update((tag, name) for name, _ in attrs)
        self.tips += [value or "" for name, value in attrs if name == "title"]
        if tag not in VOID:
            self.open.append(tag)
        if tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th"):
            self.rows[-1].append([])

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text.append(data)
        if {"td", "th"} & set(self.open):
            self.rows[-1][-1].append(data)


def test_every_link_stands_in_its_cell_and_no_other_cell_says_anything() -> None:
    table = matrix(BASE)
    page = Page(as_html(table))
    body = [row for row in page.rows[2:] if len(row) > 2]
    assert [row[0][1] for row in body] == [row.id for row in table.rows]
    for symptom, row in zip(table.rows, body, strict=True):
        assert row[1] == [BASE.symptoms[symptom.id].sound]
        for cause, cell in zip(table.columns, row[2:], strict=True):
            entry = BASE.causes[cause.id]
            wanted = [show.how_often.replace("-", " ") for show in entry.shows if show.symptom == symptom.id]
            wanted += ["against" for show in entry.never_shows if show.symptom == symptom.id]
            usual = {"almost always", "usually", "often", "sometimes", "rarely", "never", "against"}
            assert sorted(text for text in cell if text in usual) == sorted(wanted)


def test_the_other_kinds_hold_every_look_alike_and_every_decision() -> None:
    pairs = {(name, one.cause, one.split_by) for name, cause in BASE.causes.items() for one in cause.look_alikes}
    cells = matrix(BASE, "look-alikes").cells
    assert {(*key, mark.word) for key, marks in cells.items() for mark in marks} == pairs
    decided = {(name, symptom) for name, check in BASE.checks.items() for symptom in check.decides}
    assert set(matrix(BASE, "checks").cells) == decided


@pytest.mark.parametrize("kind", KINDS)
def test_the_csv_has_one_header_row_and_every_row_and_column(kind: str) -> None:
    table = matrix(BASE, kind)
    rows = list(csv.reader(io.StringIO(as_csv(table))))
    lead = 4 if table.note else 3
    assert rows[0][lead:] == [column.id for column in table.columns]
    assert [row[0] for row in rows[1:]] == [row.id for row in table.rows]
    assert {len(row) for row in rows} == {len(rows[0])}
    filled = {(row[0], rows[0][n]) for row in rows[1:] for n in range(lead, len(row)) if row[n]}
    assert filled == set(table.cells)


def test_rows_stand_in_the_groups_of_their_component() -> None:
    table = matrix(BASE)
    groups = [row.group for row in table.rows]
    assert len(list(dict.fromkeys(groups))) == sum(a != b for a, b in zip(["", *groups], groups, strict=False))
    for row in table.rows:
        assert row.group == BASE.symptoms[row.id].component.replace("-", " ")


def test_hostile_text_stays_text_in_page_and_csv(tmp_path: Path) -> None:
    name = HOSTILE.replace("\u202e", "").replace("\u200b", "")
    quoted = "name: '" + name.replace("'", "''") + "'"
    edits = [(CAUSES, "name: Frame out of line", quoted), (SYMPTOMS, "name: Scuffed face", quoted)]
    rulebase = edited(tmp_path, edits)
    for kind in KINDS:
        plain, page = (Page(as_html(matrix(base, kind))) for base in (load(SOUND), rulebase))
        assert page.tags == plain.tags
        assert page.attributes == plain.attributes
        assert "script" not in page.tags
        assert name in "\n".join(page.text)
    rows = list(csv.reader(io.StringIO(as_csv(matrix(rulebase)))))
    assert any(name in row for row in rows)


@given(st.text(max_size=12), st.sampled_from(("=", "+", "-", "@", "\t", "\r", " =", "  +", "")))
def test_no_cell_begins_like_a_formula(text: str, first: str) -> None:
    # source: OWASP, "CSV Injection": cells that begin with = + - @ tab or carriage return (from memory)
    safe = harmless(first + text)
    assert not safe.lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r"))
    assert safe.isprintable()


def test_a_name_that_is_a_formula_gets_an_apostrophe_in_the_csv(tmp_path: Path) -> None:
    rulebase = edited(tmp_path, [(SYMPTOMS, "name: Scuffed face", 'name: "=HYPERLINK(1)"')])
    row = next(row for row in csv.reader(io.StringIO(as_csv(matrix(rulebase)))) if row[0] == "face-scuff")
    assert row[1] == "'=HYPERLINK(1)"


def test_the_page_loads_nothing_and_runs_nothing() -> None:
    for kind in KINDS:
        text = as_html(matrix(BASE, kind))
        page = Page(text)
        assert not {"script", "link", "img", "iframe", "object", "base"} & set(page.tags)
        assert not {name for _, name in page.attributes if name.startswith("on") or name in ("src", "href", "style")}
        assert "url(" not in text
        assert "@import" not in text


def test_every_colour_pair_can_be_read_in_light_and_in_dark() -> None:
    # source: WCAG 2.1, 1.4.3, level AA: 4.5 to 1
    assert set(LIGHT) == set(DARK)
    for pairs in (LIGHT, DARK):
        for name, (text, ground) in pairs.items():
            assert contrast(text, ground) >= 4.5, name
    page = as_html(matrix(BASE))
    used = set(re.findall(r"var\(--([a-z-]+)-(?:text|ground)\)", page))
    assert used <= set(LIGHT)
    assert {mark.tone for marks in matrix(BASE).cells.values() for mark in marks} <= set(LIGHT)


def test_heads_stay_in_sight_and_the_page_prints_with_light_colours() -> None:
    text = as_html(matrix(BASE))
    assert "thead { position: sticky; top: 0;" in text
    assert "tbody th { position: sticky; left: 0;" in text
    assert "@media screen and (prefers-color-scheme: dark)" in text
    assert "@media print" in text
    assert 'lang="en-GB"' in text


def test_the_place_stands_under_the_word_and_in_the_tooltip_with_the_file_and_line() -> None:
    page = Page(as_html(matrix(load(SOUND))))
    line = next(n for n, text in enumerate((SOUND / CAUSES).read_text(encoding="utf-8").splitlines(), 1)
                if "face-scuff, how_often: usually, side: same" in text)  # fmt: skip
    tip = next(tip for tip in page.tips if tip.startswith("Scuffed face / Frame out of line: usually (same side)"))
    assert f"{CAUSES}:{line}:" in tip
    assert ["usually", "same side"] in [cell for row in page.rows for cell in row]


def test_counts_add_up_to_the_links_of_the_rule_base() -> None:
    total = sum(len(cause.shows) + len(cause.never_shows) for cause in BASE.causes.values())
    lines = list(count_lines(matrix(BASE)))
    starts = [n for n, line in enumerate(lines) if line.tone == "head"]
    first, second = (lines[start + 1 :] for start in starts)
    for block in (first[: starts[1] - starts[0] - 2], second):
        figures = [[0 if cell == "." else int(cell) for cell in line.text.split()] for line in block]
        assert sum(row[-1] for row in figures) == total
        assert all(sum(row[:-1]) == row[-1] for row in figures)
    assert max(line.label_width + len(line.text) for line in lines) <= 100


def command(*words: str) -> tuple[int, str, str, BaseException | None]:
    app = typer.Typer()
    app.command()(table_command)
    done = CliRunner().invoke(app, list(words))
    return done.exit_code, done.stdout, done.stderr, done.exception


def test_the_command_writes_the_file_whole_and_says_so_on_standard_error(tmp_path: Path) -> None:
    for kind in KINDS:
        for ending, view in ((".html", as_html), (".CSV", as_csv)):
            target = tmp_path / f"{kind}{ending}"
            code, out, err, _ = command("-o", str(target), "--kind", kind, "--rules", str(SOUND))
            assert (code, out) == (0, "")
            assert "written:" in err
            assert target.read_bytes() == view(matrix(load(SOUND), kind)).encode("utf-8")
    assert len(list(tmp_path.iterdir())) == 2 * len(KINDS)
    assert [one.value for one in TableKind] == list(KINDS)


@pytest.mark.parametrize("name", ["table.xlsx", "table", "nowhere/table.html"])
def test_a_file_that_cannot_be_written_is_told_in_words(name: str, tmp_path: Path) -> None:
    *_, problem = command("-o", str(tmp_path / name))
    assert isinstance(problem, UnusableInput)
    assert re.search(r"HTML or CSV|cannot be written", str(problem))
    assert list(tmp_path.iterdir()) == []


def test_without_a_file_the_command_prints_counts() -> None:
    code, out, _, _ = command()
    assert code == 0
    assert out.startswith(f"Symptoms and causes: {len(BASE.symptoms)} x {len(BASE.causes)}\n")
