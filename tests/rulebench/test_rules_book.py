"""`rules book`: everything the rule base says stands in it, in plain words; links lead somewhere; nothing is markup."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from markdown_it import MarkdownIt
from rulebench_bases import HOSTILE, SOUND, edited, shipped
from typer.testing import CliRunner

from lugwright.cli import app
from lugwright.report.book.book import book
from lugwright.report.book.causes import cause_page
from lugwright.report.book.conditions import rule_words
from lugwright.report.book.headings import TITLES, entry_heading
from lugwright.report.book.markdown import anchor
from lugwright.report.book.words import place_words
from lugwright.report.page.markdown import escaped
from lugwright.rulebase.base import KINDS, RuleBase
from lugwright.rulebase.load import load, load_layers
from lugwright.rulebase.schema import Shows

CAUSES, SYMPTOMS, RULES = "causes/all.yaml", "symptoms/all.yaml", "chaining/all.yaml"
OUT = "out-of-line:\n  name: Frame out of line\n"


class Page:
    """The book as an independent Markdown reader sees it. source: CommonMark with tables, by markdown-it."""

    def __init__(self, text: str) -> None:
        tokens = MarkdownIt("commonmark").enable("table").parse(text)
        self.headings, self.links, self.text, self.markup = [], [], [], []
        for at, token in enumerate(tokens):
            if token.type == "html_block":
                self.markup.append(token.content)
            for inner in token.children or ():
                if inner.type == "link_open":
                    self.links.append(str(inner.attrs["href"]))
                elif inner.type in ("html_inline", "image"):
                    self.markup.append(inner.content)
                elif inner.type in ("text", "code_inline"):
                    self.text.append(inner.content)
            if token.type == "heading_open":
                self.headings.append("".join(i.content for i in tokens[at + 1].children or ()))
        self.rows = [[]] if not text else _rows(tokens)


def _rows(tokens: list) -> list[list[str]]:
    rows: list[list[str]] = []
    for at, token in enumerate(tokens):
        if token.type == "tr_open":
            rows.append([])
        elif token.type in ("td_open", "th_open"):
            inner = tokens[at + 1].children or ()
            rows[-1].append("".join(i.content for i in inner if i.type in ("text", "code_inline")))
    return rows


def page_of(rulebase: RuleBase, cause: str) -> str:
    return "\n".join(cause_page(rulebase, cause))


@pytest.mark.parametrize("rulebase", [shipped(), load(SOUND)], ids=["shipped", "tiny"])
def test_every_link_leads_to_a_heading_of_the_page(rulebase: RuleBase) -> None:
    page = Page(book(rulebase))
    anchors = [anchor(heading) for heading in page.headings]
    assert len(set(anchors)) == len(anchors)
    assert page.links
    assert {link.removeprefix("#") for link in page.links} <= set(anchors)
    assert not [text for text in page.text if "][" in text]


def test_every_entry_of_the_shipped_rule_base_stands_in_the_book_with_what_it_rests_on() -> None:
    rulebase, page = shipped(), book(shipped())
    parts = [line for line in page.splitlines() if line.startswith("|")] + page.split("\n### ")
    for kind in KINDS:
        for name, entry in rulebase.entries(kind).items():
            assert f"`{name}`" in page, f"{kind}/{name}"
            assert escaped(entry.name) in page
            beside = [part for part in parts if f"`{name}`" in part]
            assert any(escaped(entry.basis.short) in part for part in beside), f"{kind}/{name}"
    for sheet in rulebase.machines.values():
        assert all(f"| `{name}` | {escaped(one.value)} |" in page for name, one in sheet.numbers.items())
    for rule in rulebase.rules.values():
        for one in rule.then:
            assert escaped(getattr(one, "number", "")) in page


def test_the_page_of_a_cause_says_everything_the_cause_says() -> None:
    rulebase = shipped()
    for name, cause in rulebase.causes.items():
        page = page_of(rulebase, name)
        for text in (cause.because, cause.if_ignored, cause.remedy, cause.points, cause.practice_differs):
            assert escaped(text) in page
        for show in (*cause.shows, *cause.never_shows):
            assert escaped(rulebase.symptoms[show.symptom].name) in page
            assert escaped(show.because.rstrip(".")) in page
        for alike in cause.look_alikes:
            assert escaped(alike.how) in page
            assert f"settled by {rulebase.checks[alike.split_by].name}" in page
        assert page.count("\n| ") == len(cause.shows) + 1 + (len(cause.never_shows) + 1 if cause.never_shows else 0)


def test_a_page_of_the_tiny_rule_base_reads_as_it_should() -> None:
    assert page_of(load(SOUND), "out-of-line") == PAGE


PAGE = """\
### Frame out of line

- **Id:** `out-of-line`
- **Acts on:** One unit, that is one belt and its frame; it points to one side of the unit, inboard or outboard: \
the face that rubs.
- **Beforehand:** common (weight 8). It begins mild and grows.
- **Because:** Invented for tests.
- **If ignored:** The face wears away.
- **Remedy:** Align it.
- **Work:** Align a unit (`align`)
- **Rests on:** judgement (low)
- **Brings about:** [Axle splayed]

**What it shows**

| how often | sign | where | comes | only, and why |
|---|---|---|---|---|
| usually | Scuffed face | own side of its unit | at once | - |
| often | One side hot | own side of its unit | soon | - |

**What speaks against it when it is seen**

| sign | where | only, and why |
|---|---|---|
| Even polish | its unit | - |

**Taken for**

- [Axle splayed], settled by Clearance at the lug (10 min). One unit or both.
"""


def test_a_sign_of_a_hand_is_told_toward_or_away_from_that_hand() -> None:
    rulebase = load(SOUND)
    scuff, slope, frame = rulebase.symptoms["face-scuff"], rulebase.causes["side-slope"], rulebase.causes["out-of-line"]
    away = Shows(symptom="face-scuff", how_often="often", side="opposite", units="front")
    assert place_words(away, scuff, slope) == "side away from that hand, on the front units (of a four-track)"
    other = Shows(symptom="face-scuff", how_often="often", side="opposite", units="partner")
    assert place_words(other, scuff, frame) == "other side of the partner unit"
    leans = Shows(symptom="unit-leans", how_often="often")
    assert place_words(leans, rulebase.symptoms["unit-leans"], frame) == "the axle of the unit"
    assert place_words(leans, rulebase.symptoms["pulls-aside"], frame) == "the machine as a whole"


def test_a_rule_is_told_with_its_numbers_its_exceptions_and_its_places() -> None:
    rulebase = load(SOUND)
    assert rule_words(rulebase.rules["tight-inboard"], rulebase) == (
        "When “Clearance at the lug” was read with offset is above the toe limit of the machine sheet "
        "(6 mm without one) and tight is inboard and the other unit is its partner on the axle, unless “Scuffed face” "
        "was looked for and is absent at the inboard side, then “Scuffed face” is seen at the inboard side; "
        "limit use at the other unit: no roading"
    )
    said = rule_words(rulebase.rules["young-belt"], rulebase)
    assert "“Work along a slope” becomes less likely at the left hand" in said
    assert said.endswith("“Axle splayed” is ruled out")


def test_a_pair_that_only_one_cause_names_stands_on_both_pages() -> None:
    page = page_of(load(SOUND), "splayed-axle")
    assert "[Frame out of line], settled by Clearance at the lug (" in page
    assert "(from the page of that cause). One unit or both." in page


def test_a_disputed_point_stands_on_the_page_of_its_cause_and_in_the_list(tmp_path: Path) -> None:
    point = "Some align at once, some drive first. Here one drives first."
    edit = (CAUSES, OUT, f"{OUT}  practice_differs: {point}\n")
    sign = (SYMPTOMS, "face-scuff:\n", "face-scuff:\n  practice_differs: Some call any shine a scuff.\n")
    rulebase = edited(tmp_path, [edit, sign])
    page = book(rulebase)
    assert f"- [Frame out of line] (cause `out-of-line`): {point}" in page
    assert "- Scuffed face (sign `face-scuff`): Some call any shine a scuff." in page
    assert f"**Where practice differs**\n\n- {point}\n- See [{TITLES[-1]}] about Scuffed face." in page


def test_without_disputed_points_there_is_no_such_part() -> None:
    page = book(load(SOUND))
    assert TITLES[-1] not in page
    assert "Where practice differs" not in page


def test_a_published_basis_is_cited(tmp_path: Path) -> None:
    edit = (CAUSES, OUT, OUT)
    old = "  because: Invented for tests.\n  basis: judgement\nsplayed-axle:"
    new = old.replace("judgement", "{kind: published, source: An invented handbook, confidence: high}")
    rulebase = edited(tmp_path, [edit, (CAUSES, old, new)])
    assert "- **Rests on:** published: An invented handbook (high)" in page_of(rulebase, "out-of-line")


def test_no_text_of_a_rule_base_becomes_markup_a_link_or_a_cell(tmp_path: Path) -> None:
    hostile = HOSTILE + " [x](y) | a | ![i](j) `code` **bold** # no"
    quoted = "'" + hostile.replace("'", "''") + "'"
    edits = [(CAUSES, "name: Frame out of line", f"name: {quoted}"), (CAUSES, "remedy: Align it.", f"remedy: {quoted}"),
             (SYMPTOMS, "recognise: One face is matt.", f"recognise: {quoted}"),
             (RULES, "name: Young belt", f"name: {quoted}"), (CAUSES, "One unit or both.", quoted)]  # fmt: skip
    before, after = Page(book(load(SOUND))), Page(book(edited(tmp_path, edits)))
    assert after.markup == []
    assert "y" not in after.links
    assert [len(row) for row in after.rows] == [len(row) for row in before.rows]
    assert "\u202e" not in "".join(after.text)
    assert {link.removeprefix("#") for link in after.links} <= {anchor(heading) for heading in after.headings}


def test_two_entries_of_one_name_keep_their_headings_apart(tmp_path: Path) -> None:
    rulebase = edited(tmp_path, [(CAUSES, "name: Frame out of line", "name: Checks")])
    assert entry_heading(rulebase, "causes", "out-of-line") == "Checks `out-of-line`"
    assert entry_heading(rulebase, "causes", "splayed-axle") == "Axle splayed"


def test_an_entry_of_an_overlay_has_its_title_beside_it(tmp_path: Path) -> None:
    yard = tmp_path / "yard"
    (yard / "causes").mkdir(parents=True)
    (yard / "overlay.yaml").write_text("title: yard rules\nversion: 1.2.0\nover: shipped\n", encoding="utf-8")
    (yard / "causes" / "gate.yaml").write_text(
        "gate-post:\n  name: Scrapes along the gate post\n  acts_on: machine\n  beforehand: rare\n"
        "  because: Invented for tests.\n  basis: judgement\n  if_ignored: It scrapes.\n  remedy: Open the gate.\n"
        "  shows:\n    - {symptom: wear-rate-rising, how_often: often}\n",
        encoding="utf-8",
    )
    page = book(load_layers([yard]))
    assert "- **Overlay:** yard rules 1.2.0; its entries have its title in brackets" in page
    assert "| [Scrapes along the gate post] \\[yard rules\\] `gate-post` |" in page
    assert "- **Comes from:** yard rules" in page


def test_the_fingerprint_is_not_in_the_book_and_the_same_rules_give_the_same_bytes() -> None:
    one, two = load(), load()
    assert book(one) == book(two)
    assert one.fingerprint not in book(one)


def test_the_command_prints_or_writes_the_book(tmp_path: Path) -> None:
    wanted = book(load(SOUND))
    printed = CliRunner().invoke(app, ["rules", "book", "--rules", str(SOUND)])
    assert (printed.exit_code, printed.stdout) == (0, wanted)
    target = tmp_path / "rules.md"
    done = CliRunner().invoke(app, ["rules", "book", "-o", str(target), "--rules", str(SOUND)])
    assert (done.exit_code, done.stdout) == (0, "")
    assert target.read_text(encoding="utf-8") == wanted


def test_a_book_is_only_written_as_markdown(tmp_path: Path) -> None:
    from lugwright.issues import UnusableInput

    done = CliRunner().invoke(app, ["rules", "book", "-o", str(tmp_path / "rules.pdf")])
    assert isinstance(done.exception, UnusableInput)
    assert not list(tmp_path.iterdir())


def test_what_the_shipped_rule_base_leaves_open_is_said_where_it_stands() -> None:
    """Each point names what is taken here. common practice: the yard must know which end of a range it works to."""
    marked = [(kind, name, entry.practice_differs) for kind in KINDS
              for name, entry in shipped().entries(kind).items() if entry.practice_differs]  # fmt: skip
    assert len(marked) >= 20
    assert len({text for _, _, text in marked}) == len(marked)
    unsaid = [f"{kind}/{name}" for kind, name, text in marked if not re.search(r"\bhere\b", text, re.I)]
    assert unsaid == []
