"""Plain YAML: text stays text, every value keeps its spot, and nothing but faults ever comes out of bad input."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from overlay import BROKEN, SOUND

from lugwright import plain_build
from lugwright.issues import Issue, UnusableInput, render
from lugwright.plain_yaml import BIGGEST, Document, examine_plain, examine_plain_text, read_plain, read_plain_text

TEXTS = sorted({path.read_text(encoding="utf-8") for path in [*SOUND.rglob("*.yaml"), *BROKEN.rglob("*.yaml")]})


def test_words_that_yaml_would_guess_at_stay_text():
    data = {
        "no": "on", "at": "12:30", "big": "1e3", "day": "2024-01-02", "hex": "0x1F", "none": "~", "null": "null",
        "yes": "true", "half": ".5", "sum": "1_000", "tall": "5'", "much": "15 %",
    }  # fmt: skip
    assert read_plain_text("".join(f"{key}: {value}\n" for key, value in data.items()), "x").data == data


def test_quoted_folded_and_literal_texts_are_read_as_yaml_reads_them():
    text = "a: \"x: y\"\nb: 'it''s'\nc: >-\n  one\n  two\nd: |\n  one\n  two\ne: one\n  two\nf: \"\"\n"
    assert read_plain_text(text, "x").data == {
        "a": "x: y", "b": "it's", "c": "one two", "d": "one\ntwo\n", "e": "one two", "f": "",
    }  # fmt: skip


def test_plain_data_agrees_with_the_yaml_library_where_every_scalar_is_text():
    # source: PyYAML's BaseLoader, which reads every scalar as text
    for path in sorted(SOUND.rglob("*.yaml")):
        text = path.read_text(encoding="utf-8")
        assert read_plain_text(text, "x").data == yaml.load(text, yaml.BaseLoader)


def test_every_key_and_value_knows_where_it_stands():
    document = read_plain_text("a:\n  - b: c\n    d: {e: f}\ng:\n  h", "x")
    spots = {way: (str(document.key_spot(way)), str(document.value_spot(way))) for way in document.marks if way}
    assert spots == {
        ("a",): ("x:1:1", "x:2:3"),
        ("a", 0): ("x:2:5", "x:2:5"),
        ("a", 0, "b"): ("x:2:5", "x:2:8"),
        ("a", 0, "d"): ("x:3:5", "x:3:8"),
        ("a", 0, "d", "e"): ("x:3:9", "x:3:12"),
        ("g",): ("x:4:1", "x:5:3"),
    }
    assert str(document.value_spot(("a", 0, "d", "nowhere"))) == "x:3:8"
    assert document.line(3) == "    d: {e: f}"


def test_columns_count_letters_and_lines_count_line_ends_of_every_kind():
    document = read_plain_text("é°: ü\r\nb: c\rd: e", "x")
    assert [str(document.value_spot((key,))) for key in ("é°", "b", "d")] == ["x:1:5", "x:2:4", "x:3:4"]
    assert document.lines == ("é°: ü", "b: c", "d: e")


def test_a_byte_order_mark_is_accepted_and_shifts_nothing(tmp_path):
    path = tmp_path / "bom.yaml"
    path.write_bytes("\ufeffa: b".encode())
    assert str(read_plain(path).value_spot(("a",))).endswith("bom.yaml:1:4")


def test_names_are_shown_as_given(tmp_path, monkeypatch):
    (tmp_path / "broken.yaml").write_text("a: [", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    whole = tmp_path / "broken.yaml"
    for path, shown in ((Path("broken.yaml"), "broken.yaml:"), (whole, f"{tmp_path.as_posix()}/")):
        with pytest.raises(UnusableInput) as caught:
            read_plain(path)
        assert str(caught.value).startswith(shown)


def test_files_that_cannot_be_read_are_faults(tmp_path, monkeypatch):
    def code(path: Path) -> list[str]:
        return [issue.code for issue in examine_plain(path)[1]]

    assert code(tmp_path) == ["not-a-file"]
    assert code(tmp_path / "nowhere.yaml") == ["missing-file"]
    assert code(Path("a\0b.yaml")) in (["unreadable-file"], ["missing-file"])
    assert code(tmp_path / ("x" * 5000)) in (["unreadable-file"], ["missing-file"])
    (tmp_path / "locked.yaml").write_text("a: b", encoding="utf-8")

    def refuse(*_: object, **__: object) -> object:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    assert [render(issue) for issue in examine_plain(Path(tmp_path / "locked.yaml"), shown="locked.yaml")[1]] == [
        "locked.yaml: error[unreadable-file]: this file cannot be read: permission denied\n"
        "  why:  nothing can be read from it\n"
        "  hint: check who may read it"
    ]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.yaml")
    assert [issue.code for issue in examine_plain(tmp_path / "pipe.yaml")[1]] == ["not-a-file"]


def test_a_list_may_be_the_top_level_where_it_is_asked_for():
    assert read_plain_text("- a\n- b", "x", mapping=False).data == ["a", "b"]


def test_empty_values_may_be_left_out_where_it_is_asked_for():
    text = "seen:\nnot_seen:\n  -\n  - a\nmachine: {name: x, sheet: }"
    assert read_plain_text(text, "x", empty_ok=True).data == {"not_seen": ["a"], "machine": {"name": "x"}}


def test_a_key_that_is_repeated_after_an_empty_one_is_still_repeated():
    _, issues = examine_plain_text("a:\na: b", "x", empty_ok=True)
    assert [issue.code for issue in issues] == ["repeated-key"]


def test_one_reading_finds_every_fault_that_does_not_end_it():
    text = "a: &x 1\nb: *x\nc: !!int 3\na: 4\nd:\n<<: {e: f}\ng: {h: 1, h: 2}\n---\nz: 1"
    document, issues = examine_plain_text(text, "x")
    assert document is not None
    assert not document.whole
    assert [(issue.code, issue.spot.line) for issue in issues] == [
        ("anchor", 1), ("alias", 2), ("tag", 3), ("repeated-key", 4), ("empty-value", 5), ("merge-key", 6),
        ("repeated-key", 7), ("several-documents", 8),
    ]  # fmt: skip


def test_the_slow_parser_says_the_same(monkeypatch):
    # source: PyYAML's own parser, against libyaml
    texts = [text for text in TEXTS if len(text) < 4000]
    fast = [examine_plain_text(text, "x") for text in texts]
    monkeypatch.setattr(plain_build, "_PARSER", yaml.SafeLoader)
    for text, (document, issues) in zip(texts, fast, strict=True):
        slow_document, slow_issues = examine_plain_text(text, "x")
        assert [(issue.code, issue.spot.line) for issue in slow_issues] == [(i.code, i.spot.line) for i in issues]
        if document is not None and document.whole and not issues:
            assert slow_document == document


HARD = {
    "open brackets": "[" * 1_900_000,
    "open braces": "{a: " * 470_000,
    "nested keys": "? " * 900_000,
    "aliases": "a: [" + "*a, " * 100_000 + "]",
    "one key again and again": "a: b\n" * 100_000,
    "documents": "---\n" * 400_000,
    "comments": "#" * 1_900_000,
    "an open quote": '"' + "a" * 1_900_000,
    "a long line": "a: " + "b" * 1_900_000,
    "commas": "a: {" + "b, " * 100_000 + "}",
}


@pytest.mark.parametrize("kind", sorted(HARD))
def test_hostile_texts_are_answered_in_short_time_with_short_messages(kind):
    begin = time.perf_counter()
    _, issues = examine_plain_text(HARD[kind], "x")
    assert time.perf_counter() - begin < 5  # a wide margin: the slowest takes 0.6 s
    assert len(issues) <= 63
    assert all(len(render(issue)) < 1000 for issue in issues)


def test_a_text_over_the_limit_is_not_parsed():
    _, issues = examine_plain_text("a: b\n" * (BIGGEST // 5 + 1), "x")
    assert [issue.code for issue in issues] == ["too-large"]


SIGNS = [*":-?,[]{}&*!|>'\"%@`#~é°", "\t", "\n", "\r", "\x00", "\x85", "\u2028", "\ufeff", "\ud800"]
PHRASES = ["<<", "---", "...", "!!str", "&a", "*a", "%YAML", " ", "\n  ", "\n    ", "key: ", "- ", "{a: b}", "[c, d]"]
PIECES = st.sampled_from([*SIGNS, *PHRASES, "\\x41"])


@st.composite
def mangled(draw: st.DrawFn) -> str:
    """A text of the test rule bases with some pieces cut out, doubled, or put in."""
    text = draw(st.sampled_from(TEXTS))
    for _ in range(draw(st.integers(1, 5))):
        at, end = sorted((draw(st.integers(0, len(text))), draw(st.integers(0, len(text)))))
        end = min(end, at + 40)
        put = draw(st.one_of(PIECES, st.just(text[at:end] * 2), st.just(""), st.text(max_size=5)))
        text = text[:at] + put + text[end:]
    return text


def assert_plain(value: object) -> None:
    if isinstance(value, dict):
        assert all(type(key) is str for key in value)
        for inner in value.values():
            assert_plain(inner)
    elif isinstance(value, list):
        for inner in value:
            assert_plain(inner)
    else:
        assert type(value) is str


@settings(max_examples=1500, deadline=None)
@given(mangled() | st.lists(PIECES, max_size=30).map("".join) | st.text(max_size=60))
def test_a_mangled_text_is_read_plainly_or_refused_with_faults(text):
    document, issues = examine_plain_text(text, "x")
    if document is None or issues:
        assert issues
        assert all(isinstance(issue, Issue) and issue.code and issue.what and issue.why for issue in issues)
        with pytest.raises(UnusableInput) as refused:
            read_plain_text(text, "x")
        assert refused.value.issues == issues
        assert str(refused.value)
    else:
        assert isinstance(document, Document)
        assert isinstance(document.data, dict)
        assert_plain(document.data)
        for way in document.marks:
            spot = document.value_spot(way)
            assert 1 <= spot.line <= len(document.lines)
            assert 1 <= spot.column <= len(document.line(spot.line)) + 1
