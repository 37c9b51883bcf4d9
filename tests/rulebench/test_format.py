"""Formatting changes the layout of a file and nothing else."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st
from untidy import Untidy, files

from ruamel.yaml.error import YAMLError

from lugwright.issues import UnusableInput
from lugwright.plain_yaml import read_plain, read_plain_text
from lugwright.rulebase.key_order import ORDER, Shapes, key_order
from lugwright.rulebase.layout import TwoReadingsError, laid_out, wired
from lugwright.rulebase.schema import Cause
from lugwright.rulebase.yaml_tree import comments_of, plain, tree
from lugwright.shapes import keys

ROOT = Path(__file__).resolve().parents[2]


def formatted(text):
    """The new text; what another YAML reader reads differently (a tab in a text, say) is refused, and passed over."""
    try:
        return laid_out(text, "x", Cause, keyed=True)
    except TwoReadingsError:
        reject()


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(st.data())
def test_format_keeps_content_and_comments_and_is_stable(data):
    content = data.draw(files)
    untidy = Untidy(data.draw)
    text = untidy.file(content)
    assert read_plain_text(text, "x").data == content
    made = formatted(text)
    after = read_plain_text(made, "x").data
    assert after == content
    assert list(after) == list(content)
    assert comments_of(made) == comments_of(text)
    assert len(comments_of(made)) == untidy.comments
    assert laid_out(made, "x", Cause, keyed=True) == made


@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(st.data())
def test_the_tree_of_a_text_holds_what_the_plain_reader_reads(data):
    text = Untidy(data.draw).file(data.draw(files))
    try:
        top = tree(text)
    except YAMLError:
        reject()
    assert plain(top) == read_plain_text(text, "x").data
