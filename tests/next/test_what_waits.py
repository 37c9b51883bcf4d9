"""What is found at a place can make a check there wait: work that comes first, a sign to be put right, dirt."""

from __future__ import annotations

import pytest
from next_cases import shipped, weighed, written

from lugwright.plan.waits import DIRTY
from lugwright.triage import triage


def offered(rows: str) -> set[tuple[str, str]]:
    return {(name, place.unit) for name, place in weighed(written(rows, "two-track", "friction"))[1].choice.candidates}


def reasons(rows: str) -> dict[str, set[str]]:
    """Check -> why it is left out."""
    found: dict[str, set[str]] = {}
    for one in weighed(written(rows, "two-track", "friction"))[1].choice.left_out:
        found.setdefault(one.check, set()).add(one.why)
    return found


@pytest.mark.parametrize("check", ["lug-clearance", "turn-repeat"])
def test_a_belt_out_of_its_band_is_set_before_its_place_between_the_rollers_is_read(check: str) -> None:
    """common practice: tension alike and in its band before clearances mean anything."""
    slack = "seen: [{symptom: tension-below-band, unit: left}, {symptom: lug-face-scuff, unit: left, side: inboard}]\n"
    plain = "seen: [{symptom: lug-face-scuff, unit: left, side: inboard}]\n"
    assert {(check, "left"), (check, "right")} <= offered(plain)
    assert (check, "left") not in offered(slack)
    assert (check, "right") in offered(slack)
    assert "first put right what was seen there: Tension reads below its band" in reasons(slack)[check]


def test_no_hand_is_sent_to_a_belt_that_has_come_off() -> None:
    """common practice: a belt off its wheels is under spring load until its tension is proven gone."""
    off = "seen: [{symptom: belt-came-off, unit: left}, {symptom: lug-edge-torn, unit: left, side: outboard}]\n"
    here = {name for name, unit in offered(off) if unit == "left"}
    assert not here
    assert all("first comes the work: A belt has come off" in why for why in (reasons(off)["debris-look"],))
    told = [one.work for one in triage(written(off, "two-track", "friction"), shipped()).verdict.reasons if one.work]
    assert told
    assert all("A belt has come off" in one for one in told)


def test_a_dirty_unit_is_cleaned_before_it_is_read() -> None:
    packed = "seen: [{symptom: lug-gap-packed, unit: left}]\n"
    assert DIRTY in reasons(packed)["lug-clearance"]
    assert ("lug-clearance", "right") in offered(packed)
