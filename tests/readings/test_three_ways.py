"""Inside, outside, too close to call; and what cannot be a reading at all."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.casefile.load import case_from_text
from lugwright.issues import UnusableInput
from lugwright.readings import COMPUTATIONS, ReadingRefused, derive
from lugwright.readings.alignment import after_turns, coast_faults, end, ends_pattern, pattern, same_room
from lugwright.readings.gap import round_the_wheel
from lugwright.readings.side_temperature import toward
from lugwright.readings.uncertainty import against, within
from lugwright.readings.wheel_heat import against_peers
from lugwright.rulebase.bolts import PROOF, Bolt, NoSuchBolt
from lugwright.rulebase.load import load
from lugwright.rulebase.reading_fields import DERIVED, derived_answers
from lugwright.rulebase.schema import Check, ReadingField
from lugwright.triage import triage
from lugwright.units import KINDS

ROOT = Path(__file__).parents[2]
numbers = st.floats(-1000, 1000)
HEAD = "case: one\nmachine: {name: a, layout: two-track, drive: friction, sheet: demo-two-track}\nmeasured:\n  - "


@given(numbers, numbers, st.floats(0.001, 100))
def test_the_three_ways_are_apart_and_turn_with_the_limit(value: float, limit: float, half: float) -> None:
    state = against(value, limit, half)
    assert (state == "outside") == (value - limit > half)
    assert (state == "inside") == (limit - value > half)
    mirrored = against(-value, -limit, half, "below")
    assert mirrored == state


@given(numbers, st.floats(0, 100), st.floats(0, 50))
def test_a_surer_reading_never_says_the_opposite(value: float, half: float, less: float) -> None:
    rough, fine = against(value, 0.0, half + less), against(value, 0.0, half)
    assert rough in (fine, "too-close")


def test_a_band_knows_four_ways() -> None:
    assert [within(x, 10, 20, 1) for x in (5, 9.5, 15, 20.5, 25)] == [
        "below",
        "too-close",
        "inside",
        "too-close",
        "above",
    ]
    with pytest.raises(ValueError, match="below its beginning"):
        within(1, 2, 1, 0)


def test_every_condition_of_the_coast_is_named_when_it_is_broken() -> None:
    # common practice: 45 m or 150 ft, no brake or steering, flat, clean, tension in band
    assert coast_faults(45_720.0, "none", "flat", "clean", "inside") == ()
    assert len(coast_faults(20_000.0, "used", "sloping", "packed", "above")) == 5
    assert coast_faults() == ()


def test_front_and_rear_tell_offset_from_skew() -> None:
    assert ends_pattern(end(1, 15), end(3, 13)) == "offset"
    assert ends_pattern(end(1, 15), end(15, 1)) == "skew"
    assert ends_pattern(end(2, 2), end(8, 8)) == "tight-both"
    assert pattern("none", "inboard") == "offset"


def test_play_is_told_from_misalignment() -> None:
    # common practice: under 2-3 mm repeatable, over 4-6 mm not
    assert after_turns([6.0, 6.2, 5.9], [6.1, 6.0, 6.4]).says == "repeatable"
    assert after_turns([6.0, 6.2, 5.9], [0.5, 0.2, 0.9]).says == "play"
    assert after_turns([6.0, 6.2, 12.0], [6.1, 6.0, 6.4]).says == "play"  # scatters by itself
    assert after_turns([6.0, 6.2, 5.9], [2.5, 2.6, 2.4]).says == "too-close"
    with pytest.raises(ReadingRefused, match="two at least"):
        after_turns([6.0], [6.0, 6.1])


@given(st.floats(0, 20), st.floats(0, 20))
def test_swapping_the_faces_turns_the_offset_round(inboard: float, outboard: float) -> None:
    one, other = end(inboard, outboard), end(outboard, inboard)
    assert one.offset == -other.offset
    assert one.total == pytest.approx(other.total)
    assert one.states == other.states[::-1]


def test_the_belt_moves_toward_the_cooler_side() -> None:
    assert (toward(61, 48), toward(48, 61), toward(55, 54)) == ("outboard", "inboard", "nowhere")


def test_a_hot_wheel_does_not_hide_behind_its_own_heat() -> None:
    hubs = {"a": 80.0, "b": 45.0, "c": 46.0, "d": 44.0}
    rims = {"a": 60.0, "b": 50.0, "c": 90.0, "d": 50.0}
    said = {one.wheel: one.says for one in against_peers(hubs, rims)}
    assert said == {"a": "hub-hot", "b": "even", "c": "rim-hot", "d": "even"}
    with pytest.raises(ReadingRefused, match="5 min"):
        against_peers(hubs, minutes=12)
    with pytest.raises(ReadingRefused, match="three or more"):
        against_peers({"a": 1.0, "b": 2.0})


def test_a_hub_and_its_peers_give_the_excess_that_the_map_of_all_wheels_gives() -> None:
    (worst, *_) = against_peers({"a": 74.0, "b": 45.0, "c": 47.0})
    found = derive("hub-heat", {"hub": 74.0, "peer-1": 45.0, "peer-2": 47.0}, {})
    assert found["excess"] == pytest.approx(worst.hub_excess)
    assert found["state"] == worst.state
    # common practice: rubber over 65 °C at its surface is too hot, however hot the hub beside it is
    rims = {(72.0, 51.0): "outside", (72.0, 72.0): "outside", (66.0, 40.0): "too-close", (60.0, 40.0): "inside"}
    for (rim, hub), state in rims.items():
        assert derive("hub-heat", {"rim": rim, "rim-hub": hub}, {})["rim-state"] == state


BAD = [
    ("hub-heat", {"hub": 74.0, "peer-1": 45.0}, "two or more like hubs"),
    ("hub-heat", {"peer-1": 45.0, "peer-2": 44.0}, "no hub is written"),
    ("hub-heat", {"hub": 74.0, "peer-1": 45.0, "peer-2": 47.0, "excess": 12.0}, "hub and peers give 28 K"),
    ("hub-heat", {"hub": 740.0, "peer-1": 45.0, "peer-2": 47.0}, "slipped digit"),
    ("hub-heat", {"rim": 70.0}, "hub of the same wheel"),
    ("hub-heat", {"hub": 74.0, "peer-1": 45.0, "peer-2": 47.0, "apart": 0.2}, "may take 5 min"),
    ("hub-heat", {}, "neither a hub nor a rim"),
    ("side-clearance", {"inboard": 4.0}, "one side"),
    ("side-clearance", {}, "neither"),
    ("side-clearance", {"inboard": 400.0, "outboard": 4.0}, "slipped digit"),
    ("side-clearance", {"inboard": -1.0, "outboard": 4.0}, "below zero"),
    ("side-clearance", {"inboard": 1.0, "outboard": 14.0, "inboard-shim": "goes", "outboard-shim": "binds"}, "swapped"),
    (
        "side-clearance",
        {"inboard": 2.0, "outboard": 14.0, "inboard-shim": "goes", "outboard-shim": "goes"},
        "one of the two",
    ),
    (
        "side-clearance",
        {"inboard": 8.0, "outboard": 9.0, "inboard-shim": "binds", "outboard-shim": "goes"},
        "one of the two",
    ),
    ("turn-repeat", {"left": 5.0, "left-again": 5.0, "right": 400.0, "right-again": 11.0}, "slipped digit"),
    ("leak-down", {"evening": 10_000.0, "morning": 20_000.0}, "swapped"),
    ("tension", {"pressure": 18_000.0, "band": "above"}, "gauge"),
    ("side-temperature", {"inboard": 61.0, "outboard": 480.0}, "wrong unit"),
    ("side-temperature", {"inboard": 61.0, "outboard": 48.0, "air": 90.0}, "hotter than both"),
    ("toe", {"leading": 2210.0, "trailing": 725.0}, "same features"),
    ("toe", {"leading": 87.0, "trailing": 97.0}, "is it 87 in or cm"),
    ("toe", {"leading": 2210.0, "trailing": 7.25}, "look at the unit"),
    ("toe", {"leading": 0.0, "trailing": 10.0}, "measure again"),
    ("side-temperature", {"inboard": 60.0, "outboard": 50.0, "apart": 0.25}, "both sides at once"),
    ("gap", {"largest": 3.0, "smallest": 9.0}, "swapped"),
    ("gap", {"largest": 900.0}, "unit"),
    ("tension", {"pressure": 15_000.0, "band": "above"}, "gauge"),
    ("leak-down", {"evening": 0.0, "morning": 10.0}, "charge"),
    ("leak-down", {"evening": 20_000.0, "morning": 19_000.0, "evening-temperature": 20.0}, "both, or neither"),
    ("lug-size", {"width-new": 60.0, "width-now": 90.0}, "swapped"),
    ("lug-size", {"width-new": 0.9, "width-now": 0.8}, "look at the unit"),
    ("lug-size", {"width-new": 9000.0, "width-now": 8000.0}, "look at the unit"),
    ("lug-size", {"width-new": 90.0, "width-now": 80.0, "inboard": 60.0, "outboard": 40.0}, "middle line"),
    ("turn-repeat", {"left": -1.0, "left-again": 1.0, "right": 1.0, "right-again": 1.0}, "below zero"),
    ("tread-profile", {"inboard": 41.0, "outboard": 4100.0}, "unit"),
    ("tread-profile", {"inboard": 41.0, "outboard": 40.0, "inboard-spread": 1.0}, "missing"),
    (
        "tread-profile",
        {"inboard": 41.0, "outboard": 40.0, "inboard-spread": -1.0, "outboard-spread": 1.0, "bars": 4.0},
        "below zero",
    ),
    ("weighing", {"front": 10_000.0, "rear": 9_000.0, "left": 9_000.0}, "left and right"),
    ("weighing", {"front": 10_000.0, "rear": 9_000.0, "left": 900.0, "right": 9_000.0}, "slipped digit"),
]


@pytest.mark.parametrize(("computation", "fields", "says"), BAD)
def test_numbers_that_cannot_be_a_reading_are_refused(
    computation: str, fields: dict[str, float | str], says: str
) -> None:
    with pytest.raises(ReadingRefused) as caught:
        derive(computation, fields, {"tension-low": 19_000.0, "tension-high": 21_000.0})
    assert says in f"{caught.value} {caught.value.hint}"
    assert caught.value.field


@cache
def _computed() -> tuple[Check, ...]:
    return tuple(one for _, one in sorted(load().checks.items()) if one.computation)


def _values(field: ReadingField) -> st.SearchStrategy[float | str]:
    if field.quantity == "word":
        return st.sampled_from(field.answers or ("some word",))
    kind = KINDS[field.quantity]
    return st.one_of(st.floats(max(kind.least, -1e6), min(kind.most, 1e6)), st.sampled_from([0.0, 1.0]))


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_whatever_a_case_can_hold_is_read_or_refused_in_words(data: st.DataObject) -> None:
    """No field a case may carry, and no number a sheet may carry, ends in anything but an answer or a refusal."""
    check = data.draw(st.sampled_from(_computed()))
    fields: dict[str, float | str] = {}
    for name, field in check.reading.items():
        if field.needed or data.draw(st.booleans()):
            fields[name] = data.draw(_values(field))
    names = ("shim-thickness", "straight-run", "toe-limit", "lug-temperature-limit", "hub-temperature-excess",
             "tension-low", "tension-high", "scraper-gap-least", "scraper-gap-most")  # fmt: skip
    sheet = data.draw(st.dictionaries(st.sampled_from(names), st.floats(0, 60_000)))
    refused: ReadingRefused | None = None
    found: dict[str, float | str] = {}
    try:
        found = derive(check.computation, fields, sheet)
    except ReadingRefused as problem:
        refused = problem
    assert refused is None or (str(refused) and refused.field in check.reading)
    for name, value in found.items():
        if name not in fields and isinstance(value, str) and name != "refused":
            assert value in derived_answers(check, name)


def test_a_band_of_a_sheet_that_is_upside_down_is_told() -> None:
    with pytest.raises(ReadingRefused, match="upside down"):
        derive("tension", {"pressure": 20_000.0}, {"tension-low": 21_000.0, "tension-high": 19_000.0})


@pytest.mark.parametrize(
    ("asked", "run", "counts"),
    [
        (None, 45.0, True), (None, 44.9, False),  # common practice: 45 m or 150 ft
        (50.0, 50.0, True), (50.0, 47.0, False),  # what this sheet asks for
        (45.72, 45.0, True),  # 150 ft and 45 m are one figure
        (30.0, 40.0, False),  # a sheet cannot make the run shorter
    ],
)  # fmt: skip
def test_the_run_of_the_sheet_is_asked_for_and_never_less_than_is_common(
    asked: float | None, run: float, counts: bool
) -> None:
    sheet = {} if asked is None else {"straight-run": asked * 1000}
    found = derive("side-clearance", {"inboard": 2.0, "outboard": 14.0, "run": run * 1000}, sheet)
    assert ("refused" not in found) == counts
    if not counts:
        assert f"at least {max(45.0, asked or 0):g} m is needed" in str(found["refused"])


def test_every_class_of_the_standard_is_known_to_the_bolts() -> None:
    # source: ISO 898-1 lists nine property classes for bolts; proof stresses in MPa
    assert sorted(PROOF) == ["10.9", "12.9", "4.6", "4.8", "5.6", "5.8", "6.8", "8.8", "9.8"]
    for klass, proof in PROOF.items():
        tensile, share = (int(part) for part in klass.split("."))
        yielding = tensile * 100 * share / 10
        assert 0.85 * yielding <= proof < yielding, f"proof stress of {klass} lies a little under its yield"
    with pytest.raises(NoSuchBolt, match="up to M16"):
        Bolt.read("M20-9.8")


def test_a_sum_of_gaps_that_changes_is_refused() -> None:
    with pytest.raises(ReadingRefused, match="add up to"):
        same_room(end(4, 14), end(4, 8))


def test_fewer_than_three_points_round_a_wheel_are_refused() -> None:
    with pytest.raises(ReadingRefused, match="three at least"):
        round_the_wheel([4, 5])
    assert round_the_wheel([4, 5, 0.2]).touches


def test_a_refused_reading_is_told_at_its_line_with_the_reason() -> None:
    rulebase = load()
    text = (
        HEAD
        + "{check: lug-clearance, unit: left, inboard: 4 mm}\n"
        + "  - {check: scraper-gap, unit: left, largest: 3 mm, smallest: 9 mm}\n"
    )
    case = case_from_text(text, "bad.yaml", rulebase)
    with pytest.raises(UnusableInput) as caught:
        triage(case, rulebase)
    assert [(one.code, one.spot.line) for one in caught.value.issues] == [
        ("reading-refused", 4),
        ("reading-refused", 5),
    ]
    assert "one side alone says nothing" in str(caught.value)
    assert [one.text for one in caught.value.issues] == text.splitlines()[3:5]


FED = [
    ("{check: lug-clearance, unit: left, inboard: 2 mm, outboard: 14 mm}", {"belt-off-centre-coast"}),
    ("{check: lug-clearance, unit: left, inboard: 5.8 mm, outboard: 10 mm}", set()),  # too close to call
    ("{check: lug-clearance, unit: left, inboard: 2 mm, outboard: 14 mm, run: 30 m}", set()),  # not a coast
    ("{check: lug-clearance, unit: left, inboard-shim: binds, outboard-shim: goes}", {"belt-off-centre-coast"}),
    ("{check: lug-clearance, unit: left, inboard: 1 mm, outboard: 15 mm, rear-inboard: 15 mm, rear-outboard: 1 mm}",
     {"belt-off-centre-coast", "belt-crosses-front-to-rear"}),
    ("{check: toe, leading: 2210 mm, trailing: 2219 mm}", {"toe-in-measured"}),
    ("{check: toe, leading: 2210 mm, trailing: 2217 mm}", set()),
    ("{check: tension, unit: left, pressure: 160 bar}", {"tension-below-band"}),
    ("{check: tension, unit: left, pressure: 188 bar}", set()),
    ("{check: lug-side-temperature, unit: left, inboard: 60 °C, outboard: 58 °C, air: 20 °C}", {"lug-both-faces-hot"}),
    ("{check: tension-leak-down, unit: left, evening: 200 bar, morning: 160 bar}", {"tension-leaks-down"}),
    ("{check: turn-repeat, unit: left, left: 5 mm, left-again: 5 mm, right: 12 mm, right-again: 11 mm}",
     {"belt-shifts-after-turn"}),
    ("{check: lug-size, unit: left, width-new: 90 mm, width-now: 80 mm, inboard: 37 mm, outboard: 43 mm}",
     {"lug-width-loss"}),
    ("{check: weighing, front: 14 t, rear: 6 t, plate: 19 t}", {"weight-front-heavy", "weight-over-plate"}),
]  # fmt: skip


@pytest.mark.parametrize(("reading", "seen"), FED)
def test_a_reading_feeds_chaining_only_where_it_is_clear(reading: str, seen: set[str]) -> None:
    rulebase = load()
    answer = triage(case_from_text(HEAD + reading + "\n", "one.yaml", rulebase), rulebase)
    drawn = {key for shown in answer.readings for key in shown.findings}
    found = {one.symptom for one in answer.findings if one.state == "seen" and any(one.symptom in key for key in drawn)}
    assert found == seen
    if "run: 30 m" in reading:
        assert "straight run of 30 m" in answer.readings[0].refused


def test_fields_worked_out_are_those_the_rules_may_read() -> None:
    rulebase = load()
    assert set(DERIVED) == set(COMPUTATIONS)
    worked = [
        ("side-clearance", {"inboard": 1.0, "outboard": 9.0, "inboard-shim": "binds", "outboard-shim": "goes",
                            "rear-inboard": 1.0, "rear-outboard": 9.0}),
        ("toe", {"leading": 2210.0, "trailing": 2211.0}),
        ("side-temperature", {"inboard": 50.0, "outboard": 49.0, "air": 20.0}),
        ("gap", {"largest": 5.0, "smallest": 4.0}),
        ("hub-heat", {"hub": 74.0, "peer-1": 45.0, "peer-2": 47.0, "rim": 50.0, "rim-hub": 44.0}),
        ("tension", {"pressure": 20_000.0, "band": "inside"}),
        ("leak-down", {"evening": 20_000.0, "morning": 19_900.0}),
        ("turn-repeat", {"left": 1.0, "left-again": 1.0, "right": 1.0, "right-again": 1.0}),
        ("lug-size", {"width-new": 90.0, "width-now": 80.0, "inboard": 41.0, "outboard": 39.0,
                      "height-new": 70.0, "height-now": 68.0}),
        ("tread-profile", {"inboard": 40.0, "outboard": 41.0}),
        ("weighing", {"front": 1.0, "rear": 1.0, "left": 1.0, "right": 1.0, "plate": 3.0}),
        ("slip", {"slip": 0.05}),
        ("side-slope", {"slope": 8.0, "gauge": 2200.0, "height": 1100.0, "uphill": "left"}),
        ("road-run", {"distance": 40.0, "speed": 25.0, "air": 20.0}),
        ("belt-grip", {"pressure": 20_000.0, "bore": 80.0, "mass": 8000.0, "film": "dry"}),
        ("ground-pressure", {"mass": 10_000.0, "length": 2500.0, "width": 630.0, "limit": 60.0}),
        ("sag-tension", {"span": 1600.0, "sag": 12.0, "bore": 80.0, "metre-mass": 110.0}),
        ("plain", {"inboard": 1.0, "outboard": 2.0}),
    ]  # fmt: skip
    assert {name for name, _ in worked} == set(COMPUTATIONS)
    for name, fields in worked:
        found = derive(name, fields, {"tension-low": 19_000.0, "tension-high": 21_000.0})
        new = set(found) - set(fields)
        assert new == set(DERIVED[name]) - ({"refused"} if name == "side-clearance" else set()), name
        check = next((one for one in rulebase.checks.values() if one.computation == name), None)
        for field in new if check else ():
            if isinstance(found[field], str):
                assert found[field] in derived_answers(check, field)
