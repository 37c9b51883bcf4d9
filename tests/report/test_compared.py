"""Two answers against each other: matched by place, symmetric, side by side or stacked."""

from __future__ import annotations

import pytest
from make_snapshots import changed
from report_answers import HOSTILE, example, finding, poisoned, small

from lugwright.report.compared import Comparison, compared
from lugwright.report.compared_text import compared_lines
from lugwright.report.lines import laid_out


def rows(both: Comparison, part: str) -> dict[str, tuple[str, str]]:
    return {one.what: (one.before, one.after) for one in both.changes if one.part == part}


def test_an_answer_against_itself_has_no_change() -> None:
    both = compared(small(), small())
    assert not [one for one in both.changes if one.changed]
    assert both.summary[:1] == ("The verdict stays LIMIT USE.",)
    assert "No sign changed." in both.summary
    assert (both.same_rules, both.same_machine) == (True, True)


def test_the_other_way_round_is_the_same_with_the_sides_exchanged() -> None:
    one, other = example("signs-only"), example("one-unit-off-line")
    there, back = compared(one, other), compared(other, one)
    for part in ("verdict", "causes", "findings", "readings"):
        assert rows(there, part) == {what: (after, before) for what, (before, after) in rows(back, part).items()}
    moves = {one.what: one.change for one in there.changes if one.change is not None}
    assert moves == {one.what: -one.change for one in back.changes if one.change is not None}


def test_a_sign_that_went_and_one_that_came_are_told_with_their_place() -> None:
    before = small((finding("a", "lugs", "front-left/inboard"), finding("b", "hubs", "rear-left", "absent")))
    after = small((finding("a", "lugs", "front-left/inboard", "absent"), finding("b", "hubs", "rear-left")))
    both = compared(before, after)
    assert rows(both, "findings") == {
        "A, front-left, inboard": ("seen", "looked for, not found"),
        "B, rear-left": ("looked for, not found", "seen"),
    }
    assert "Signs: 1 new, 1 gone." in both.summary


def test_a_sign_not_looked_at_again_is_not_called_gone() -> None:
    both = compared(small((finding("a", "lugs", "front-left/inboard"),)), small(()))
    assert rows(both, "findings") == {"A, front-left, inboard": ("seen", "not looked at")}
    assert "Signs: 1 not looked at again." in both.summary


def test_one_cause_at_two_places_is_two_rows() -> None:
    one = example("one-unit-off-line")
    moved = one.ranked[0].model_copy(update={"unit": "rear-left", "place_words": "rear-left, inboard"})
    both = compared(one, one.model_copy(update={"ranked": (moved, *one.ranked[1:])}))
    named = [what for what in rows(both, "causes") if what.startswith(one.ranked[0].name)]
    assert len(named) == 2


def test_another_rule_base_is_said() -> None:
    other = small().model_copy(update={"rulebase": small().rulebase.model_copy(update={"fingerprint": "ffff0000"})})
    both = compared(small(), other)
    assert not both.same_rules
    assert any("different rule bases" in text for text in both.summary)


@pytest.mark.parametrize("width", [40, 60, 89, 90, 100, 110])
def test_nothing_is_wider_than_the_window_and_nothing_is_lost(width: int) -> None:
    both = compared(small(), changed(small()))
    printed = [text for text, _ in laid_out(compared_lines(both, width), width)]
    assert max(len(text.rstrip()) for text in printed) <= width
    letters = "".join("".join(printed).split())
    if width < 90:
        for one in both.changes:
            assert "".join(one.after.split()) in letters


def test_a_wide_window_has_both_sides_in_one_row() -> None:
    both = compared(small(), changed(small()))
    printed = [text for text, _ in laid_out(compared_lines(both, 100), 100)]
    assert any("very unlikely, 3 %" in text and "very likely, 80 %" in text for text in printed)
    assert not any("before  " in text for text in printed)


@pytest.mark.parametrize("bad", HOSTILE, ids=range(len(HOSTILE)))
def test_no_text_can_steer_the_terminal(bad: str) -> None:
    both = compared(poisoned(small(), bad), poisoned(changed(small()), bad))
    for width in (60, 100):
        assert all(mark.isprintable() for text, _ in laid_out(compared_lines(both, width), width) for mark in text)
