"""The page: every part is there in order, nothing comes from elsewhere, colours can be read, no text becomes markup."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from report_answers import EXAMPLES, HOSTILE, crowded, example, poisoned, small
from test_wear_map import contrast

from lugwright.report.graph import reasoning_graph
from lugwright.report.page.html import VOID_TAGS, inline_svg, page_html
from lugwright.report.page.sections import sections
from lugwright.report.page.style import DARK, LIGHT, TRACE_FILLS, style
from lugwright.report.render import renderer

ORDER = ["verdict", "map", "causes", "sound", "not-looked-at", "ruled-out", "open", "next", "work", "trace", "readings",
         "rules", "rulebase"]  # fmt: skip


class Reader(HTMLParser):
    """Tags with the names of their attributes, ids, links, and all text outside the style sheet."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.shape: list[tuple[str, tuple[str, ...]]] = []
        self.open: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.values: list[str] = []
        self.text = ""
        self.wrong: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.shape.append((tag, tuple(sorted(name for name, _ in attrs))))
        self.values += [value or "" for _, value in attrs]
        self.ids += [value or "" for name, value in attrs if name == "id"]
        self.links += [value or "" for name, value in attrs if name in ("href", "src", "xlink:href", "action")]
        if tag not in VOID_TAGS:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.shape.append((tag, tuple(sorted(name for name, _ in attrs))))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.text += data


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_part_is_there_in_order_and_the_page_is_well_formed(path: Path) -> None:
    page = page_html(example(path.stem))
    read = Reader(page)
    assert [name for name in read.ids if name in ORDER] == ORDER
    assert len(read.ids) == len(set(read.ids))
    assert not read.wrong
    assert read.open == []
    assert len(page.encode()) < 500_000


def test_nothing_is_loaded_and_nothing_runs() -> None:
    page = page_html(example("one-unit-off-line"))
    read = Reader(page)
    assert all(link.startswith("#") and link[1:] in read.ids for link in read.links)
    assert {tag for tag, _ in read.shape}.isdisjoint(
        {"script", "link", "iframe", "object", "embed", "img", "base", "form"}
    )
    assert not re.search(r"@import|url\((?!#)", page)
    assert "default-src" in page


def test_what_a_manager_signs_for_stands_on_the_page() -> None:
    answer = example("one-unit-off-line")
    text = " ".join(Reader(page_html(answer)).text.split())
    first = answer.ranked[0]
    for words in (
        "LIMIT USE", first.name, first.place_words, first.word, first.because, first.if_ignored, first.basis,
        first.written, answer.rulebase.version, answer.rulebase.fingerprint, *answer.cautions,
        *(one.words for one in first.without),
        *(reason.limit for reason in answer.verdict.reasons), *(one.name for one in answer.ruled_out),
        *(f"{step.file}:{step.line}" for step in answer.steps if step.line), *(step.because for step in answer.steps),
        *(step.basis for step in answer.steps), *(reading.text for reading in answer.readings),
        *(reading.means for reading in answer.readings), *(step.do for work in answer.work for step in work.steps),
        *(one.asks for one in answer.next_checks),
    ):  # fmt: skip
        assert " ".join(words.split()) in text, words


def test_what_leaving_a_finding_out_would_change_is_said() -> None:
    text = Reader(page_html(small())).text
    assert "93 % → 71 %" in text
    assert "93 % → 95 %" in text


def test_a_caution_stands_before_the_step_it_protects_and_before_any_work() -> None:
    text = Reader(page_html(small())).text
    assert text.index("Hot rubber.") < text.index("Turn the screw.")
    assert text.index("Chock it.") < text.index("Hot rubber.")
    assert text.index("Engine off.") < text.index("Straight coast: front-right")


def test_the_overlay_is_named_where_its_entries_are() -> None:
    read = Reader(page_html(small()))
    assert "face-rubbed [yard rules]" in read.text


def test_every_table_names_its_rows_and_columns() -> None:
    page = page_html(example("one-unit-off-line"))
    for table in re.findall(r"<table\b.*?</table>", page, re.S):
        assert "<caption>" in table
        assert table.count('scope="col"') >= 2
        rows = table.split("<tbody")[1].count("<tr ")
        assert table.count('scope="row"') == rows


@pytest.mark.parametrize("pairs", [LIGHT, DARK], ids=["light", "dark"])
def test_every_colour_pair_can_be_read(pairs: dict[str, tuple[str, str]]) -> None:
    # source: WCAG 2.2, success criterion 1.4.3: 4.5 to 1 for text
    assert {name: round(contrast(*pair), 2) for name, pair in pairs.items() if contrast(*pair) < 4.5} == {}


def test_the_dark_trace_can_be_read() -> None:
    grounds = [TRACE_FILLS[name] for name in TRACE_FILLS if contrast(TRACE_FILLS[name], "#000000") < 4.5]
    ink = TRACE_FILLS["#1a1a1a"]
    assert len(grounds) >= 5
    assert all(contrast(ink, ground) >= 4.5 for ground in grounds)


def test_every_colour_of_the_trace_has_a_dark_one() -> None:
    source = reasoning_graph(example("one-unit-off-line")).source
    used = set(re.findall(r"(?:fillcolor|fontcolor|color)=\"(#[0-9a-f]{6})\"", source))
    assert used
    assert used <= set(TRACE_FILLS)


def test_the_drawn_trace_stands_in_the_page_where_this_machine_can_draw() -> None:
    draw = renderer("svg")
    if draw is None:
        pytest.skip("no program that can draw is installed")
    answer = example("one-unit-off-line")
    page = page_html(answer, draw(reasoning_graph(answer).source).decode())
    assert '<figure class="trace">' in page
    assert "<?xml" not in page
    assert not Reader(page).wrong
    assert len(page.encode()) < 500_000


def test_without_a_drawn_trace_it_stands_as_text() -> None:
    page = page_html(small())
    assert "<pre>" in page
    assert "pip install" in Reader(page).text


@pytest.mark.parametrize(
    "svg",
    [
        "no svg",
        "<svg>",
        "<svg><script>1</script></svg>",
        '<svg onload="1"></svg>',
        '<svg><a href="javascript:1"/></svg>',
        '<svg xmlns="http://www.w3.org/2000/svg"><foreignObject/></svg>',
        '<svg><image href="http://example.org/x"/></svg>',
    ],
)
def test_a_drawing_that_is_none_or_does_more_is_not_let_in(svg: str) -> None:
    assert inline_svg(svg, "words") is None


@pytest.mark.parametrize("bad", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_words_stay_words(bad: str) -> None:
    read, plain = Reader(page_html(poisoned(small(), bad))), Reader(page_html(poisoned(small(), "plain")))
    assert read.shape == plain.shape
    assert not read.wrong
    # the page itself keeps a figure and its unit together with U+00A0; one from a case is shown as \\xa0
    assert all(mark.isprintable() or mark in "\n\xa0" for mark in read.text + "".join(read.values))
    assert not re.search(r"\xa0(?![%A-Za-z°])", read.text)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(bad=st.text(min_size=1, max_size=60))
def test_any_text_leaves_the_page_as_it_is(bad: str) -> None:
    assume(bad.strip())  # a text of blanks alone is an empty one
    read = Reader(page_html(poisoned(small(), bad)))
    assert read.shape == Reader(page_html(poisoned(small(), "plain"))).shape
    shown = bad.split()
    if shown and bad.isprintable():
        assert " ".join(shown) in read.text


def test_a_crowded_case_fits() -> None:
    assert len(page_html(crowded()).encode()) < 500_000


def test_each_section_says_something_even_where_there_is_nothing() -> None:
    empty = small(()).model_copy(
        update={"next_checks": (), "work": (), "ruled_out": (), "readings": (), "steps": (), "not_looked_at": ()}
    )
    assert all(part.blocks for part in sections(empty))
    Reader(page_html(empty))


def test_the_paper_is_named_only_where_it_is_asked_for() -> None:
    assert "size: A4" in style("A4")
    assert "size: Letter" in style("Letter")
    assert "size:" not in re.sub(r"font-size:|max-size:", "", style())


def test_words_that_look_like_code_do_not_keep_a_drawing_out() -> None:
    assert inline_svg("<svg><text> onerror=1 &lt;script</text></svg>", 'say "so"') == (
        '<svg role="img" aria-label="say &quot;so&quot;"><text> onerror=1 &lt;script</text></svg>'
    )
