"""The orders a practitioner expects, on the shipped rule base, with everything else looked at and sound.

source: common practice (field reading of belt wear: one unit, mirrored, same hand, both faces), and the statics of a
guide lug between two wheel flanks. The probabilities are ours: they pin what the shipped rule base says.
"""

from __future__ import annotations

import pytest
from trade_cases import RULEBASE, keys, record, units

from lugwright.diagnosis import Diagnosis
from lugwright.places import SIDES, axle_of, side_of, units_of
from lugwright.triage import triage

RUBBED = ("lug-face-scuff", "idler-flank-polish", "lug-edge-torn")
LAYOUTS = ("two-track", "four-track")


def unit_of(layout: str) -> str:
    return "right" if layout == "two-track" else "front-right"


def answer_for(layout: str, seen: list[str], **more: object) -> Diagnosis:
    return triage(record(layout, seen, **more), RULEBASE)  # type: ignore[arg-type]


def probability(answer: Diagnosis, cause: str, place: str | None = None) -> float:
    found = [one.probability for one in answer.ranked if one.cause == cause and place in (None, one.place.key)]
    return max(found, default=0.0)


@pytest.mark.parametrize(("layout", "at_least"), [("two-track", 0.6), ("four-track", 0.5)])
def test_one_unit_rubbed_on_one_face_points_at_that_units_alignment(layout: str, at_least: float) -> None:
    unit = unit_of(layout)
    answer = answer_for(layout, keys(RUBBED, [f"{unit}/inboard"]), looked_at=True)
    assert answer.ranked[0].key == f"frame-alignment-error@{unit}/inboard"
    assert answer.ranked[0].probability >= at_least
    assert answer.ranked[0].probability > answer.no_fault
    assert 0 < probability(answer, "bent-frame-or-axle") < answer.ranked[0].probability / 4
    assert probability(answer, "toe-in-error") < answer.ranked[0].probability / 4


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_straight_coast_off_centre_and_hot_on_that_face_settles_alignment(layout: str) -> None:
    unit = unit_of(layout)
    seen = keys((*RUBBED, "belt-off-centre-coast", "lug-side-hot"), [f"{unit}/inboard"])
    answer = answer_for(layout, seen, looked_at=True)
    assert answer.ranked[0].key == f"frame-alignment-error@{unit}/inboard"
    assert answer.ranked[0].probability >= 0.85
    assert answer.no_fault < 0.01


@pytest.mark.parametrize(("layout", "at_least"), [("two-track", 0.7), ("four-track", 0.9)])
def test_inboard_on_both_units_of_an_axle_points_at_toe_in(layout: str, at_least: float) -> None:
    axle = axle_of(unit_of(layout))
    answer = answer_for(layout, keys(RUBBED, [f"{unit}/inboard" for unit in units_of(axle)]), looked_at=True)
    assert answer.ranked[0].key == f"toe-in-error@{axle}-axle"
    assert answer.ranked[0].probability >= at_least


@pytest.mark.parametrize(("layout", "at_least"), [("two-track", 0.5), ("four-track", 0.85)])
def test_one_hand_of_every_unit_points_at_side_hill_or_draft_of_that_hand(layout: str, at_least: float) -> None:
    faces = [f"{unit}/{side_of(unit, 'left')}" for unit in units(layout)]
    answer = answer_for(layout, keys(RUBBED, faces), looked_at=True)
    # The face that looks uphill rubs; a pull to one side rubs the faces that look away from it.
    assert answer.ranked[0].key in ("side-hill-one-side@left-hand", "implement-side-draft@right-hand")
    assert answer.ranked[0].probability >= at_least
    assert probability(answer, "frame-alignment-error") < answer.ranked[0].probability / 2


@pytest.mark.parametrize("layout", LAYOUTS)
def test_the_same_signs_with_nothing_else_looked_at_ask_instead_of_telling(layout: str) -> None:
    answer = answer_for(layout, keys(RUBBED, [f"{unit_of(layout)}/inboard"]))
    assert answer.undecided is not None
    assert answer.ranked[0].probability < 0.6
    assert answer.next_checks
    assert not answer.work


@pytest.mark.parametrize("layout", LAYOUTS)
def test_centred_and_even_tempered_after_a_straight_coast_puts_duty_before_alignment(layout: str) -> None:
    unit = unit_of(layout)
    calm = keys(("belt-off-centre-coast", "lug-side-hot"), [f"{unit}/{side}" for side in SIDES])
    answer = answer_for(layout, keys(RUBBED, [f"{unit}/inboard"]), absent=calm)
    duty = max(probability(answer, cause) for cause in ("side-hill-one-side", "implement-side-draft"))
    assert duty > probability(answer, "frame-alignment-error")
    assert duty > probability(answer, "toe-in-error")


@pytest.mark.parametrize("layout", LAYOUTS)
def test_smear_and_torn_edges_on_both_faces_everywhere_are_break_in(layout: str) -> None:
    faces = [f"{unit}/{side}" for unit in units(layout) for side in SIDES]
    answer = answer_for(layout, keys(("lug-face-smear", "lug-edge-torn"), faces), looked_at=True)
    assert answer.ranked[0].cause == "improper-break-in"
    assert answer.ranked[0].probability >= 0.85


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_healthy_machine_looked_at_all_round_has_no_fault(layout: str) -> None:
    answer = answer_for(layout, [], looked_at=True, context={"visit": "routine"})
    assert answer.no_fault >= 0.9
    assert answer.undecided is None
