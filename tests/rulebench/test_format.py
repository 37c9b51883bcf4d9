"""Formatting changes the layout of a file and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest
from bench_calls import Bench
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st
from ruamel.yaml.error import YAMLError
from untidy import Untidy, files

from lugwright.cli.rules.file_kinds import FILE_KINDS, SHAPES, kind_of
from lugwright.plain_yaml import read_plain_text
from lugwright.rulebase import layout
from lugwright.rulebase.base import KINDS
from lugwright.rulebase.key_order import ORDER, REST, key_order
from lugwright.rulebase.known import known
from lugwright.rulebase.layout import LayoutError, TwoReadingsError, laid_out, wired
from lugwright.rulebase.schema import Cause
from lugwright.rulebase.skeleton import skeleton
from lugwright.rulebase.skeleton_cases import skeleton_cases
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


FILES = sorted([*(ROOT / "rules").rglob("*.yaml"), *(ROOT / "examples").rglob("*.yaml")])


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_format_keeps_every_shipped_file_and_is_stable(path):
    text = path.read_text(encoding="utf-8")
    document = read_plain_text(text, path.name)
    kind = kind_of(path, document.data)
    assert kind is not None
    made = laid_out(text, path.name, kind.shape, SHAPES, keyed=kind.keyed)
    after = read_plain_text(made, path.name).data
    assert after == document.data
    assert list(after) == list(document.data) or not kind.keyed
    assert comments_of(made) == comments_of(text)
    assert max(len(line) for line in made.splitlines() if not line.lstrip().startswith("#")) <= 120
    assert laid_out(made, path.name, kind.shape, SHAPES, keyed=kind.keyed) == made


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_skeleton_is_laid_out_already(kind):
    there = known()
    for part, text in ((kind, skeleton(kind, "sand-thing", there)), ("cases", skeleton_cases(kind, "sand", there))):
        if text:
            text = wired(text, f"../.schema/{part}.json")
            assert laid_out(text, "x", FILE_KINDS[part].shape, SHAPES, keyed=True) == text


UNTIDY = """\
# yaml-language-server: $schema=old.json

# About sand.
sand:   # the id
    basis:   'judgement'
    # why it is so
    because: "It grinds."
    name: Sand   # short
    shows:
    -  how_often: often
       symptom: hub-hot     # the hot one
    - {how_often: often,   symptom: 'hub-oil-low'}
    - {symptom: wheel-bearing-play,   # a comment in brackets
       how_often: often}
    acts_on: unit
    if_ignored: >-
        It seizes.
    remedy: Wash it and wash it again until the oil runs clear, then fill it with fresh oil to the mark,
     run it for an hour and look.
    beforehand: rare
    odd: 'yes: and no'
    # the end of sand
other: {name: x}
"""
TIDY = """\
# yaml-language-server: $schema=old.json

# About sand.
sand:  # the id
  name: Sand  # short
  acts_on: unit
  beforehand: rare
  # why it is so
  because: It grinds.
  basis: judgement
  if_ignored: It seizes.
  remedy: >-
    Wash it and wash it again until the oil runs clear, then fill it with fresh oil to the mark, run it for an hour and
    look.
  shows:
    - symptom: hub-hot  # the hot one
      how_often: often
    - {symptom: hub-oil-low, how_often: often}
    - symptom: wheel-bearing-play  # a comment in brackets
      how_often: often
  odd: 'yes: and no'
  # the end of sand

other: {name: x}
"""


def test_the_layout_is_this_one():
    assert laid_out(UNTIDY, "x", Cause, keyed=True) == TIDY


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("a: 'one'", "a: one"),
        ("a: '12'", "a: '12'"),  # an editor would take it for a number
        ("a: 12", "a: 12"),
        ('a: "it\'s"', "a: it's"),
        ("a: 'x: it''s'", 'a: "x: it\'s"'),
        ("a: '#1'", "a: '#1'"),
        ('a: {b: "sheet:x else 6 mm"}', 'a: {b: "sheet:x else 6 mm"}'),
        ("a:\n  one\n  two", "a: one two"),
        ("a: |\n  one\n  two\n", "a: |\n  one\n  two"),
        ("a: >\n  one\n\n  two\n", "a: >\n  one\n\n  two"),
        ("a: [x,\n  y]", "a: [x, y]"),
        ("a:\n- x\n-   y", "a:\n  - x\n  - y"),
        ("a: [" + ", ".join(["word"] * 30) + "]", "a:\n" + "\n".join(["  - word"] * 30)),
        ("a:   # why\n  - x", "a:  # why\n  - x"),
        ("a: []   # none", "a: []  # none"),
        ("---\na: b\n...", "a: b"),
        ("\ufeffa: b\r\nc: d\r\n\r\n\r\ne: f", "a: b\nc: d\n\ne: f"),
        ("a:\n  - # first\n    b: c", "a:\n  # first\n  - b: c"),
        ("a: " + "x" * 112 + " # far", "# far\na: " + "x" * 112),
    ],
)
def test_one_way_of_writing(before, after):
    assert laid_out(before, "x") == after + "\n"


def test_every_reading_order_names_keys_of_its_shape():
    for order in (ORDER, SHAPES._order):
        for shape, listed in order.items():
            assert set(listed) - {REST} <= set(keys(shape))
            assert len(set(listed)) == len(listed)
            assert set(key_order(shape)) - {REST} == set(keys(shape))


def test_a_text_that_two_readers_read_differently_is_refused():
    with pytest.raises(TwoReadingsError):
        laid_out("a: one\ttwo", "x")


def test_a_writer_that_would_change_the_content_is_stopped(monkeypatch):
    monkeypatch.setattr(layout, "write", lambda top, spaced: "a: c\n")
    with pytest.raises(LayoutError, match="say something else"):
        laid_out("a: b", "x")
    monkeypatch.setattr(layout, "write", lambda top, spaced: "a: b\n")
    with pytest.raises(LayoutError, match="lose a comment"):
        laid_out("a: b # c", "x")
    monkeypatch.setattr(layout, "write", lambda top, spaced: "a: [\n")
    with pytest.raises(LayoutError, match="could not be read"):
        laid_out("a: b", "x")


@pytest.fixture
def bench(tmp_path, capsys, monkeypatch):
    bench = Bench(tmp_path, capsys, monkeypatch)
    (bench.yard / "causes").mkdir()
    (bench.yard / "causes" / "sand.yaml").write_text(UNTIDY, encoding="utf-8")
    return bench


def test_check_writes_nothing_and_names_what_would_change(bench):
    before = bench.files()
    code, out, err = bench("format", "yard", "--check")
    assert (code, err) == (1, "")
    assert out == "would change: yard/causes/sand.yaml\n1 of 2 files would change.\n"
    assert bench.files() == before


def test_format_writes_what_check_named_and_is_then_content(bench):
    code, out, err = bench("format", "yard")
    assert (code, out, err) == (0, "1 of 2 files changed.\n", "formatted: yard/causes/sand.yaml\n")
    assert bench.files()["causes/sand.yaml"] == TIDY
    assert bench("format", "yard", "--check") == (0, "0 of 2 files would change.\n", "")


def test_files_may_be_named_one_by_one(bench):
    assert bench("format", "yard/causes/sand.yaml", "yard/overlay.yaml")[1] == "1 of 2 files changed.\n"
    assert bench.files()["causes/sand.yaml"] == TIDY


def test_wire_names_the_schema_on_the_first_line_once(bench):
    for _ in range(2):
        assert bench("format", "yard", "--wire")[0] == 0
        files = bench.files()
        assert files["causes/sand.yaml"] == TIDY.replace("old.json", "../.schema/causes.json")
        assert files["overlay.yaml"].split("\n")[0] == "# yaml-language-server: $schema=.schema/overlay.json"


def test_a_file_that_cannot_be_read_is_told_and_the_others_are_done(bench):
    (bench.yard / "causes" / "bad.yaml").write_text("a: b: c\n", encoding="utf-8")
    code, out, err = bench("format", "yard")
    assert code == 2
    assert out == "1 of 3 files changed.\n"
    assert "yard/causes/bad.yaml:1:5: error[yaml-syntax]" in err
    assert bench.files()["causes/sand.yaml"] == TIDY
    assert bench.files()["causes/bad.yaml"] == "a: b: c\n"


def test_a_file_that_would_change_its_meaning_is_left_alone(bench):
    text = "a:\n    name: one\ttwo\n"
    (bench.yard / "causes" / "tab.yaml").write_text(text, encoding="utf-8")
    code, _, err = bench("format", "yard")
    assert code == 2
    assert "yard/causes/tab.yaml: error[layout-changes-content]: another YAML reader cannot read this file" in err
    assert bench.files()["causes/tab.yaml"] == text


def test_a_place_that_is_not_there_is_told(bench):
    code, _, err = bench("format", "nowhere")
    assert code == 2
    assert "nowhere: error[missing-file]" in err


def test_schemas_are_left_alone(bench):
    bench("schema", "causes", "-o", "yard/.schema")
    (bench.yard / ".schema" / "odd.yaml").write_text("a:   b\n", encoding="utf-8")
    assert bench("format", "yard")[1] == "1 of 2 files changed.\n"
