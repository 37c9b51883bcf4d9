"""The walk-round as a state machine: what is asked, in what order, and what an answer does."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from walk import begun, play, script, shipped, walked

from lugwright.casefile.load import case_from_text
from lugwright.places import Place
from lugwright.plain_yaml import read_plain_text
from lugwright.walkround.draft import Draft, as_text, from_document
from lugwright.walkround.parts import STATIONS
from lugwright.walkround.question import NotUnderstood, Question, Stop
from lugwright.walkround.script import ROUND, State


def asked_in_order(draft: Draft, most: int = 400) -> list[str]:
    """The ids of every question of the walk when each is passed over."""
    state, ids = State(draft), []
    for _ in range(most):
        asked = script().question(state)
        if isinstance(asked, Stop) or asked.id.startswith("check/"):
            break
        ids.append(asked.id)
        state = script().answer(state, asked, "" if asked.empty else asked.choices[0][0] if asked.choices else "x-1")
    return ids


def test_the_work_comes_before_the_walk_and_what_was_done_lately_comes_early() -> None:
    ids = asked_in_order(Draft())
    context = [one for one in ids if one.startswith("context/")]
    assert ids.index(context[-1]) < ids.index(next(one for one in ids if one.startswith("part/")))
    assert context[0] == "context/visit"
    assert {"context/recent-parts", "context/recent-undercarriage-work"} <= set(context[:6])
    assert not [one for one in context if shipped().context[one.split("/")[1]].derived]


@pytest.mark.parametrize(("layout", "drive"), [("two-track", "friction"), ("four-track", "positive")])
def test_each_part_of_each_unit_is_asked_about_once_in_walking_order(layout: str, drive: str) -> None:
    ids = [one for one in asked_in_order(begun(layout, drive)) if one.startswith("part/")]
    assert len(ids) == len(set(ids))
    units = [one.split("/")[2] for one in ids]
    assert tuple(dict.fromkeys(units)) == ROUND[layout]
    assert units == sorted(units, key=ROUND[layout].index)
    stations = list(STATIONS)
    for unit in ROUND[layout]:
        mine = [stations.index(one.split("/")[1]) for one in ids if one.endswith(f"/{unit}")]
        assert mine == sorted(mine)


def test_a_towed_machine_is_not_asked_about_its_drive_wheel_signs() -> None:
    towed = asked_in_order(begun("four-track", "none"))
    driven = asked_in_order(begun("four-track", "positive"))
    assert "part/drive-wheel/front-left" in driven
    signs = script().signs.of("drive-wheel", begun("four-track", "none"))
    assert ("part/drive-wheel/front-left" in towed) == bool(signs)
    assert all("none" in shipped().symptoms[one].drives for one in signs)


def test_one_answer_clears_a_part_and_did_not_look_leaves_it_open() -> None:
    first = script().question(State(begun()))
    assert isinstance(first, Question)
    state, _ = play(begun(), ["n"])
    part, unit = first.id.split("/")[1:]
    assert state.draft.was_looked(part, unit)
    state, _ = play(begun(), [""])
    assert not state.draft.was_looked(part, unit)
    assert state.draft.entries("seen") == state.draft.entries("not_seen") == []


def to_lugs(draft: Draft) -> Draft:
    for part in STATIONS:
        if part == "lugs":
            break
        for unit in ROUND[draft.layout]:
            draft = draft.passed(f"part/{part}/{unit}")
    return draft


def number_of(symptom: str) -> str:
    return str(script().signs.of("lugs", begun()).index(symptom) + 1)


def test_a_sign_is_written_with_its_side_and_extent_and_the_rest_of_the_part_as_looked_at() -> None:
    state, asked = play(to_lugs(begun()), [number_of("lug-face-scuff"), "in", "many"])
    assert state.draft.entries("seen") == [
        {"symptom": "lug-face-scuff", "unit": "left", "side": "inboard", "extent": "many"}
    ]
    assert state.draft.entries("looked_at") == [{"component": "lugs", "units": ["left"]}]
    assert isinstance(asked, Question)
    assert asked.id.startswith("part/")


def test_signs_are_looked_at_only_once_all_that_was_chosen_is_written() -> None:
    """A kill between the choice and the side must not leave the sign as looked for and absent."""
    state, asked = play(to_lugs(begun()), [number_of("lug-face-scuff")])
    assert state.draft.entries("looked_at") == []
    assert isinstance(asked, Question)
    assert asked.id == "side|lug-face-scuff|left"
    again = from_document(read_plain_text(as_text(state.draft), "draft"))
    assert again == state.draft
    assert script().question(State(again)) == asked


def test_both_sides_and_a_difference_between_sides() -> None:
    state, _ = play(to_lugs(begun()), [number_of("lug-face-scuff"), "both", ""])
    assert {one["side"] for one in state.draft.entries("seen")} == {"inboard", "outboard"}
    directed = next(name for name, one in shipped().symptoms.items() if one.directed)
    waiting = Draft(begun().data, open=(f"side|{directed}|left",))
    asked = script().question(State(waiting))
    assert isinstance(asked, Question)
    assert [word for word, _ in asked.choices] == ["inboard", "outboard"]


def test_ordinary_marks_are_asked_for_and_never_taken_as_missing_without_being_asked() -> None:
    state, asked = play(to_lugs(begun()), ["n"])
    assert isinstance(asked, Question)
    assert asked.id == "ordinary|lugs|left"
    assert not state.draft.was_looked("lugs", "left")
    state = script().answer(state, asked, "1")
    assert state.draft.was_looked("lugs", "left")
    assert len(state.draft.entries("seen")) == 1


def test_going_through_the_signs_one_by_one_tells_seen_not_seen_and_did_not_look_apart() -> None:
    state, asked = play(to_lugs(begun()), ["each"])
    signs = script().signs.of("lugs", begun())
    assert isinstance(asked, Question)
    assert asked.id == f"each|{signs[0]}|left"
    state, asked = play(state.draft, ["n", "", "y"])
    third = shipped().symptoms[signs[2]].where
    assert isinstance(asked, Question)
    assert asked.id.startswith("side|" if third == "side" else "extent|")
    absent = {one["symptom"] for one in state.draft.entries("not_seen")}
    assert absent == {signs[0]}
    assert not state.draft.was_looked("lugs", "left")


@pytest.mark.parametrize(
    ("text", "said"),
    [("99", "not one of the numbers"), ("perhaps", "not an answer"), ("1 x", "not one of the numbers")],
)
def test_an_answer_that_cannot_be_used_says_what_would_do(text: str, said: str) -> None:
    state = State(to_lugs(begun()))
    asked = script().question(state)
    assert isinstance(asked, Question)
    with pytest.raises(NotUnderstood, match=said):
        script().answer(state, asked, text)


def test_a_figure_without_its_unit_is_refused_with_the_reason() -> None:
    draft = Draft({"case": "x", "machine": {"name": "U", "layout": "two-track", "drive": "friction"}})
    asked = script().asking.context("roading-share")
    assert script().answer(State(draft), asked, "12").draft.data["context"] == {"roading-share": "12 %"}
    with pytest.raises(NotUnderstood):
        script().answer(State(draft), asked, "12 mm")


def test_a_part_can_be_answered_again() -> None:
    state, _ = play(to_lugs(begun()), [number_of("lug-face-scuff"), "in", "many"])
    again = script().again(state, "lugs left")
    assert again.draft.entries("seen") == []
    assert not again.draft.was_looked("lugs", "left")
    asked = script().question(again)
    assert isinstance(asked, Question)
    assert asked.id == "part/lugs/left"
    with pytest.raises(NotUnderstood, match="write for instance"):
        script().again(state, "engine left")


def test_changing_one_part_keeps_what_another_still_waits_for() -> None:
    state, _ = play(to_lugs(begun()), [number_of("lug-face-scuff")])
    again = script().again(state, "visit")
    assert again.draft.open == state.draft.open


def test_the_rest_of_a_section_can_be_left_out() -> None:
    state = State(begun())
    asked = script().question(state)
    assert isinstance(asked, Question)
    after = script().question(script().skip_section(state, asked))
    assert isinstance(after, Stop) or after.id.startswith("check/")


# --- after the walk ---------------------------------------------------------------------------------------------------


def scuffed() -> Draft:
    return walked().with_sign("lug-face-scuff", Place(unit="left", side="inboard"), "seen")


def test_a_check_is_asked_with_why_and_what_each_outcome_would_do() -> None:
    _, asked = play(scuffed(), [])
    assert isinstance(asked, Question)
    assert asked.id.startswith("check/")
    text = "\n".join(asked.why)
    assert "So far:" in text
    assert "expected to tell" in text
    assert "If " in text
    assert "->" in text
    assert any(line.startswith("Caution:") for line in asked.help)


def test_a_check_that_is_done_is_answered_and_not_asked_again() -> None:
    state, asked = play(scuffed(), ["done"])
    seen = set()
    while isinstance(asked, Question) and "|" in asked.id:
        state, asked = play(state.draft, ["none" if asked.id.startswith("signs") else ""])
    before = next(one for one in state.draft.asked if one.startswith("check/"))
    while isinstance(asked, Question) and len(seen) < 6:
        assert asked.id != before
        seen.add(asked.id)
        state, asked = play(state.draft, ["later"])
    assert state.draft.entries("not_seen")


def test_figures_become_a_reading_and_what_the_rules_conclude_is_not_asked_again() -> None:
    draft = scuffed()
    state = State(Draft(draft.data, draft.head, draft.asked, ("figures|toe|main-axle", "signs|toe|main-axle")))
    asked = script().question(state)
    assert isinstance(asked, Question)
    with pytest.raises(NotUnderstood, match="not a figure of this check"):
        script().answer(state, asked, "width 3 mm")
    with pytest.raises(NotUnderstood):
        script().answer(state, asked, "leading 2212")
    after = script().answer(state, asked, "leading: 2212 mm, trailing 2224 mm")
    assert after.draft.entries("measured") == [
        {"check": "toe", "axle": "main", "leading": "2212 mm", "trailing": "2224 mm"}
    ]
    left = script().adviser.open_signs(after.draft, "toe", Place(axle="main"))
    assert len(left) < len(shipped().checks["toe"].decides)


def test_it_stops_when_the_answer_stands() -> None:
    draft = walked()
    for unit in ("left", "right"):
        draft = draft.with_sign("lug-face-scuff", Place(unit=unit, side="inboard"), "seen")
        draft = draft.with_sign("idler-flank-polish", Place(unit=unit, side="inboard"), "seen")
        for part in STATIONS:
            draft = draft.looked(part, unit) if script().signs.of(part, draft) else draft
    draft = draft.measured("toe", Place(axle="main"), {"leading": "2200 mm", "trailing": "2216 mm"})
    _, asked = play(draft, [])
    assert isinstance(asked, Stop)
    assert asked.reason == "settled"
    assert "Toe-in" in asked.lines[0]


def test_declining_every_check_ends_with_a_reason_that_names_what_would_split() -> None:
    state, asked = play(scuffed(), [])
    for _ in range(60):
        if isinstance(asked, Stop):
            break
        state, asked = play(state.draft, ["later"])
    assert isinstance(asked, Stop)
    assert asked.reason in ("undecided", "nothing-left")
    if asked.reason == "undecided":
        assert "To split them:" in asked.lines[1]


# --- laws -------------------------------------------------------------------------------------------------------------


TYPED = ["n", "", "1", "2", "1 2", "each", "y", "inboard", "outboard", "both", "few", "none"]


@settings(max_examples=25, deadline=None)
@given(st.lists(st.sampled_from(TYPED), max_size=14))
def test_whatever_is_answered_the_file_stays_a_valid_case(answers: list[str]) -> None:
    state = State(to_lugs(begun()))
    for text in answers:
        asked = script().question(state)
        if isinstance(asked, Stop) or asked.id.startswith("check/"):
            break
        try:
            state = script().answer(state, asked, text)
        except NotUnderstood:
            continue
        case_from_text(as_text(state.draft), "made-up.yaml", shipped())
        again = from_document(read_plain_text(as_text(state.draft), "draft"))
        assert (as_text(again), again.asked, again.open) == (as_text(state.draft), state.draft.asked, state.draft.open)


def test_back_is_the_state_before() -> None:
    state, _ = play(to_lugs(begun()), ["n"])
    assert state.before is not None
    assert state.before.draft == to_lugs(begun())
