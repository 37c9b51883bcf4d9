"""What a person finds has a sign of its own, counts for the right cause, and stops the machine where the yard would.

source: common practice for each test, named beside it; the probabilities are ours and only their order is held.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from trade_cases import DRIVE, RULEBASE, keys, reading, record, units

from lugwright.belief.ground import ground_network
from lugwright.casefile.record import CaseRecord
from lugwright.chaining.conclude import conclude
from lugwright.places import Place
from lugwright.plan.machine import rate_changes
from lugwright.rulecases.bench import Bench
from lugwright.triage import triage

LAYOUTS = ("two-track", "four-track")
BENCH = Bench(RULEBASE)


def with_extent(case: CaseRecord, extent: str) -> CaseRecord:
    """The same case with every seen sign noted to this extent."""
    return replace(
        case,
        findings=tuple(replace(one, extent=extent) if one.state == "seen" else one for one in case.findings),
    )


def standing(case: CaseRecord) -> dict[str, float]:
    """The probability of each cause, added up over its places."""
    found: dict[str, float] = {}
    for (cause, _), chance in BENCH.answer(case).likely.items():
        found[cause] = found.get(cause, 0.0) + chance
    return found


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize(
    ("symptom", "few", "many"),
    [
        # common practice: low or dripping is topped up and watched; a hub without oil, or losing it, works no further
        ("hub-oil-low", "limit-use", "stop"),
        ("hub-oil-leak", "limit-use", "stop"),
        # common practice: nicks may run, over half of the rubber gone or metal on the belt may not
        ("roller-rubber-chunked", "keep-running", "stop"),
    ],
)
def test_a_dry_hub_and_a_bare_roller_stop_the_machine(layout: str, symptom: str, few: str, many: str) -> None:
    case = record(layout, [f"{symptom}@{units(layout)[0]}"])
    for extent, action in (("few", few), ("many", many)):
        assert triage(with_extent(case, extent), RULEBASE).verdict.action == action


def test_a_running_leak_stops_the_machine_though_the_level_still_holds() -> None:
    case = record("two-track", ["hub-oil-leak@left"], absent=["hub-oil-low@left"])
    assert triage(case, RULEBASE).verdict.action == "keep-running"
    assert triage(with_extent(case, "many"), RULEBASE).verdict.action == "stop"


def test_water_in_the_oil_is_neglect_and_metal_in_it_is_the_bearing() -> None:
    # common practice: milky oil is drained and filled; glitter means the bearing is giving up its metal
    milky, metal = (
        standing(record("two-track", [f"{sign}@left", "hub-oil-low@left"], looked_at=True))
        for sign in ("hub-oil-contaminated", "hub-oil-glitter")
    )
    assert milky["hub-lubrication-neglect"] > milky["failed-bearing-seal"]
    assert metal["failed-bearing-seal"] > metal["hub-lubrication-neglect"]


@pytest.mark.parametrize(
    ("seen", "absent"), [("half-spacing-wrong", "wheel-runout"), ("wheel-runout", "half-spacing-wrong")]
)
@pytest.mark.parametrize("layout", LAYOUTS)
def test_wrong_spacing_and_wobble_are_each_known_by_their_own_sign(layout: str, seen: str, absent: str) -> None:
    # common practice: pointer at the rim for run-out, rule between the halves for spacing; either is enough
    unit = units(layout)[0]
    sound = (absent, "part-does-not-match", "fastener-loose", "wheel-bearing-play", "hub-hot")
    found = standing(record(layout, [f"{seen}@{unit}"], absent=keys(sound, [unit])))
    assert max(found, key=found.__getitem__) == "wheel-spacing-runout"


@pytest.mark.parametrize("layout", LAYOUTS)
def test_width_lost_on_both_faces_speaks_against_a_setting_and_for_what_rubs_both(layout: str) -> None:
    # common practice: alignment and toe wear one face, slack tension, play and dry running wear both
    unit = units(layout)[0]
    # 27 % is gone, and both faces have lost alike
    even = reading("lug-size", Place(unit=unit), width_new=90.0, width_now=66.0, inboard=33.0, outboard=33.0)
    answer = triage(record(layout, [], readings=[even]), RULEBASE)
    states = {one.key: one.state for one in answer.findings}
    assert states[f"lug-width-loss-both@{unit}"] == "seen"
    assert states[f"lug-width-loss@{unit}/inboard"] == states[f"lug-width-loss@{unit}/outboard"] == "absent"
    assert answer.verdict.action == "limit-use"  # common practice: 60 to 75 % of the width left is a limit
    before, after = standing(record(layout, [])), standing(record(layout, [], readings=[even]))
    for cause in ("tension-low", "worn-pivots-bushings", "harsh-turning-or-crossing", "debris-packing"):
        assert after[cause] > before[cause]
    for cause in ("frame-alignment-error", "toe-in-error", "toe-out-error"):
        assert after[cause] < before[cause]


@pytest.mark.parametrize(
    ("fact", "answer", "cause", "times"),
    [
        # judgement of the trade: how much likelier the answer makes the cause on the whole machine
        ("slope-work", "left-uphill", "side-hill-one-side", 6),
        ("turning", "mostly-left", "one-way-turning", 5),
        ("line-of-pull", "to-left", "implement-side-draft", 5),
    ],
)
@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("mirrored", [False, True])
def test_what_is_said_of_one_hand_is_not_diluted_over_both(
    layout: str, fact: str, answer: str, cause: str, times: float, mirrored: bool
) -> None:
    said = answer.replace("left", "right") if mirrored else answer

    def rate(context: dict[str, str]) -> float:
        done = conclude(record(layout, [], context=context), RULEBASE)
        shifts, excluded = rate_changes(done, RULEBASE)
        ground = ground_network(RULEBASE, layout, DRIVE[layout], context=done.context, shifts=shifts, excluded=excluded)
        chances = (
            1 - sum(row) for key, row in zip(ground.causes, ground.network.prior, strict=True) if key[0] == cause
        )
        return sum(-math.log(sound) for sound in chances)

    assert rate({fact: said}) / rate({}) == pytest.approx(times, rel=0.15)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_pull_beside_the_middle_line_is_no_side_draft(layout: str) -> None:
    # statics: a parallel offset turns the machine and pushes no belt sideways; unequal thrust holds it straight
    faces = keys(("lug-face-scuff",), [f"{unit}/inboard" for unit in units(layout)])
    angled, offset = (
        standing(record(layout, faces, context={"line-of-pull": pull})) for pull in ("to-left", "offset-left")
    )
    assert offset["implement-side-draft"] < angled["implement-side-draft"] / 4
    said = str(triage(record(layout, [], context={"line-of-pull": "offset-left"}), RULEBASE).verdict)
    assert "left side has to thrust more" in said


def test_hard_rubber_speaks_for_years_and_against_oil() -> None:
    # common practice: oil softens, age hardens
    before, after = (standing(record("two-track", seen)) for seen in ([], ["rubber-hard@left"]))
    assert after["belt-age-corrosion"] > 2 * before["belt-age-corrosion"]
    assert after["oil-contamination"] < before["oil-contamination"]


def test_one_odd_belt_hints_at_parts_that_do_not_match_and_no_more() -> None:
    # common practice: one odd belt is widely run
    before, after = (standing(record("two-track", seen)) for seen in ([], ["part-of-another-age@left"]))
    assert before["mismatched-parts"] < after["mismatched-parts"] < 5 * before["mismatched-parts"]
