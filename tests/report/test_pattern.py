"""The pattern of signs in words, and the law that a mirror only exchanges left and right."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from report_answers import example, finding, small

from lugwright.places import SIDES, UNITS, swap_hands
from lugwright.report.pattern import Mark, pattern, pattern_lines


def marks(layout: str) -> st.SearchStrategy[list[Mark]]:
    one = st.builds(
        Mark, st.sampled_from(UNITS[layout]), st.sampled_from(["", *SIDES]), st.sampled_from(["", "front", "rear"])
    )
    return st.lists(one, max_size=10)


def mirrored(words: str) -> str:
    flip = {"left": "right", "right": "left"}
    return re.sub(r"\b(left|right)\b", lambda found: flip[found[1]], words)


@pytest.mark.parametrize("layout", ["two-track", "four-track"])
@given(data=st.data())
def test_a_mirror_image_gives_the_same_words_with_left_and_right_exchanged(layout: str, data: st.DataObject) -> None:
    found = data.draw(marks(layout))
    image = [Mark(swap_hands(mark.unit), mark.side, mark.end) for mark in found]
    assert pattern(layout, image).words == mirrored(pattern(layout, found).words)


@given(found=marks("four-track"))
def test_order_and_repetition_do_not_matter(found: list[Mark]) -> None:
    assert pattern("four-track", [*reversed(found), *found]) == pattern("four-track", found)


# common practice: what one-sided, mirrored, same-hand and diagonal wear mean on an undercarriage
@pytest.mark.parametrize(
    ("layout", "places", "kind"),
    [
        ("two-track", [("left", "inboard")], "one unit"),
        ("two-track", [("left", "inboard"), ("left", "outboard")], "one unit"),
        ("two-track", [("left", "inboard"), ("right", "inboard")], "mirrored"),
        ("two-track", [("left", "outboard"), ("right", "inboard")], "same hand"),
        ("two-track", [(unit, side) for unit in UNITS["two-track"] for side in SIDES], "both faces"),
        ("four-track", [("rear-left", "outboard"), ("rear-right", "outboard")], "mirrored"),
        ("four-track", [(unit, "inboard") for unit in UNITS["four-track"]], "mirrored"),
        ("four-track", [("front-left", "inboard"), ("rear-left", "inboard")], "none"),
        (
            "four-track",
            [
                ("front-left", "outboard"),
                ("front-right", "inboard"),
                ("rear-left", "inboard"),
                ("rear-right", "outboard"),
            ],
            "diagonal",
        ),
        ("four-track", [("front-left", ""), ("rear-right", "")], "across corners"),
        ("four-track", [("front-left", ""), ("rear-left", "")], "units of a hand"),
        ("four-track", [], "nothing"),
    ],
)
def test_the_kind_of_a_pattern(layout: str, places: list[tuple[str, str]], kind: str) -> None:
    assert pattern(layout, [Mark(unit, side) for unit, side in places]).kind == kind


def test_wheels_that_are_noted_show_a_diagonal_on_a_two_track() -> None:
    ends = {"front": {"left": "outboard", "right": "inboard"}, "rear": {"left": "inboard", "right": "outboard"}}
    found = [Mark(unit, side, end) for end, sides in ends.items() for unit, side in sides.items()]
    assert pattern("two-track", found).words == "diagonal (left-hand faces in front, right-hand faces at the rear)"


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("one-unit-off-line", "one unit (front-right, inboard)"),
        ("mirrored-toe-in", "mirrored (inboard on both units)"),
        ("side-hill-look-alike", "same hand (the left-hand face of every unit)"),
        ("new-belt-scuffing", "both faces of every unit"),
    ],
)
def test_the_examples_show_the_patterns_they_were_written_for(name: str, words: str) -> None:
    assert words in pattern_lines(example(name))[0]


def test_absent_signs_form_no_pattern() -> None:
    assert pattern_lines(small((finding("x", "lugs", "front-left/inboard", "absent"),))) == (
        "Nothing was seen on any unit.",
    )
