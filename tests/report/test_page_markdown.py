"""The page as Markdown: the same sections; no text of a case or rule file becomes markup."""

from __future__ import annotations

import re

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from report_answers import HOSTILE, example, poisoned, small

from lugwright.diagnosis import Diagnosis
from lugwright.report.page.markdown import escaped, page_markdown
from lugwright.report.page.sections import sections

markdown_it = pytest.importorskip("markdown_it")


def shape(answer: Diagnosis) -> list[tuple[str, str]]:
    """What a reader of Markdown makes of it. source: markdown-it, with tables and raw HTML allowed"""
    reader = markdown_it.MarkdownIt("commonmark", {"html": True, "linkify": False}).enable(["table", "strikethrough"])
    tokens = reader.parse(page_markdown(answer))
    return [
        (one.type, one.tag)
        for token in tokens
        for one in (token, *(token.children or []))
        if one.type != "text_special"
    ]


def test_the_sections_are_those_of_the_page() -> None:
    answer = example("one-unit-off-line")
    titles = re.findall(r"^## (.*)$", page_markdown(answer), re.M)
    assert titles == [escaped(part.title) for part in sections(answer)]


@pytest.mark.parametrize("bad", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_words_stay_words(bad: str) -> None:
    found = {kind for kind, _ in shape(poisoned(small(), bad))}
    assert found <= {kind for kind, _ in shape(poisoned(small(), "plain"))}
    assert not {"html_inline", "html_block", "link_open", "image", "code_inline", "fence"} & (
        found - {"code_inline"}  # the page itself names two commands
    )


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(bad=st.text(min_size=1, max_size=40))
def test_any_text_leaves_the_mail_as_it_is(bad: str) -> None:
    assume(bad.strip())  # a text of blanks alone is an empty one
    assert shape(poisoned(small(), bad)) == shape(poisoned(small(), "plain"))


@given(text=st.text(max_size=60))
def test_an_escaped_text_reads_as_it_was_written(text: str) -> None:
    from lugwright.report.lines import printable

    wanted = printable(" ".join(text.split()))
    tokens = markdown_it.MarkdownIt("commonmark").enable("table").parse(escaped(text))
    shown = "".join(child.content for token in tokens for child in (token.children or []))
    assert shown == wanted
