"""The case file that a walk-round writes: valid, readable, written whole or not at all."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from walk import ROOT, shipped

from lugwright.casefile.load import case_from_text, load_case
from lugwright.issues import UnusableInput
from lugwright.places import Place
from lugwright.plain_yaml import read_plain_text
from lugwright.walkround.draft import Draft, _scalar, as_text, from_document
from lugwright.walkround.save import load, save

EXAMPLES = sorted((ROOT / "examples").glob("*.yaml"))


@settings(deadline=None)
@given(st.text(st.characters(codec="utf-8", exclude_categories=("C", "Zl", "Zp")), min_size=1, max_size=40))
def test_any_text_comes_back_as_it_was_apart_from_blanks(text: str) -> None:
    flat = " ".join(text.split())
    if flat:
        assert read_plain_text(f"a: {_scalar(text)}\nb: [{_scalar(text)}]\n", "x").data == {"a": flat, "b": [flat]}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_keeps_its_meaning_and_its_head_when_it_is_written_again(path: Path, tmp_path: Path) -> None:
    draft = load(path)
    copy = tmp_path / path.name
    save(draft, copy)
    one, other = load_case(path, shipped()), load_case(copy, shipped())
    assert {(f.key, f.state, f.extent) for f in one.findings} == {(f.key, f.state, f.extent) for f in other.findings}
    assert one.context == other.context
    assert [(r.key, dict(r.texts)) for r in one.readings] == [(r.key, dict(r.texts)) for r in other.readings]
    assert copy.read_text(encoding="utf-8").startswith("# Invented.")


def test_taking_one_place_out_of_an_entry_for_several_keeps_the_others() -> None:
    draft = Draft({"machine": {"name": "U", "layout": "two-track", "drive": "friction"}, "case": "x"})
    draft = draft.put("seen", [{"symptom": "lug-face-scuff", "unit": "all", "side": "both", "extent": "many"}])
    draft = draft.without_sign("lug-face-scuff", Place(unit="left", side="inboard"))
    case = case_from_text(as_text(draft), "x.yaml", shipped())
    assert {one.key for one in case.findings} == {
        "lug-face-scuff@left/outboard", "lug-face-scuff@right/inboard", "lug-face-scuff@right/outboard"
    }  # fmt: skip
    assert {one.extent for one in case.findings} == {"many"}


def test_a_kill_while_writing_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "case.yaml"
    draft = Draft({"case": "first"})
    save(draft, path)

    def killed(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", killed)
    with pytest.raises(KeyboardInterrupt):
        save(draft.put("case", "second"), path)
    assert path.read_text(encoding="utf-8") == "case: first\n"
    assert [one.name for one in tmp_path.iterdir()] == ["case.yaml"]


def test_a_folder_that_cannot_be_written_to_is_told_in_words(tmp_path: Path) -> None:
    with pytest.raises(UnusableInput, match="cannot be written"):
        save(Draft({"case": "x"}), tmp_path / "missing" / "case.yaml")


def test_deleting_the_lines_of_the_walk_round_only_asks_again(tmp_path: Path) -> None:
    path = tmp_path / "case.yaml"
    draft = Draft({"case": "x", "machine": {"name": "U", "layout": "two-track", "drive": "friction"}})
    save(draft.passed("context/visit").passed("part/lugs/left"), path)
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join(one for one in lines if not one.startswith("#")) + "\n", encoding="utf-8")
    again = load(path)
    assert again.asked == ()
    assert again.data == draft.data


NOTED = """\
# Head line.

case: yard-1   # from the phone call
# the customer's own words below
machine:
  name: "Unit 12 # blue"
  layout: two-track  # checked
  drive: friction
context:
  # asked twice
  visit: complaint
seen:
  # seen in the rain
  - {symptom: lug-face-scuff, unit: left, side: inboard}  # photo 3
  - symptom: lug-edge-torn
    # inner remark
    unit: left
    side: inboard
note: >-
  A text # that is no comment
# the end
"""


def test_comments_of_a_hand_written_case_stay_where_they_stand() -> None:
    draft = from_document(read_plain_text(NOTED, "noted"))
    lines = as_text(draft.put_in("context", "belt-hours", "300 h")).splitlines()
    for above, below in (
        ("# Head line.", "case: yard-1  # from the phone call"),
        ("# the customer's own words below", "machine:"),
        ("  # asked twice", "  visit: complaint"),
        ("  # seen in the rain", "  - {symptom: lug-face-scuff, unit: left, side: inboard}  # photo 3"),
    ):
        assert lines[lines.index(above) + 1] == below
    assert "  layout: two-track  # checked" in lines
    assert lines[-1] == "# the end"
    assert sum("#" in line for line in lines) == sum("#" in line for line in NOTED.splitlines())


def test_comments_of_what_is_taken_out_are_kept_at_the_end() -> None:
    draft = from_document(read_plain_text(NOTED, "noted"))
    after = as_text(draft.without_sign("lug-face-scuff", Place(unit="left", side="inboard"))).splitlines()
    assert after[-3:] == ["# seen in the rain", "# photo 3", "# the end"]


@settings(deadline=None)
@given(st.data())
def test_no_comment_is_lost_and_a_written_case_is_written_the_same_again(data: st.DataObject) -> None:
    lines = [line for line in NOTED.splitlines() if not line.lstrip().startswith("#")]
    for number in range(data.draw(st.integers(0, 6))):
        at = data.draw(st.integers(0, len(lines) - 1).filter(lambda at: lines[at - 1 if at else 0] != "note: >-"))
        lines.insert(at, " " * data.draw(st.integers(0, 4)) + f"# remark {number}")
    text = "\n".join(lines) + "\n"
    once = as_text(from_document(read_plain_text(text, "noted")))
    assert sorted(re.findall(r"# remark \d", once)) == sorted(re.findall(r"# remark \d", text))
    assert as_text(from_document(read_plain_text(once, "noted"))) == once
