"""What an undecided answer stands between, and the check that is named to split it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from next_cases import example, shipped, weighed, written

from lugwright.belief.looks import Look, joint_looks
from lugwright.plan.next_checks import TOLERANCE
from lugwright.plan.undecided import LEAST_APART_BITS, NO_FAULT, Tie, apart_bits, tie

EXAMPLES = ("signs-only", "one-unit-off-line", "packed-dirt", "new-belt-scuffing")
HOT_AND_WET = "seen: [{symptom: hub-hot, unit: left}, {symptom: hub-oil-leak, unit: left}]\n"
UNEVEN = "seen: [{symptom: tread-fast-even-wear, unit: all}]\n"


def entropy_of(weights: np.ndarray) -> float:
    shares = weights[weights > 0] / weights.sum()
    return float(-(shares * np.log2(shares)).sum())


@given(st.integers(0, 2**32 - 1), st.booleans())
def test_what_a_check_tells_of_the_leaders_is_mutual_information_and_never_below_zero(seed: int, sound: bool) -> None:
    """Source: I(X; O) = H(X) - sum of P(o) H(X | o), any textbook on information; X is which of the leaders it is."""
    random = np.random.default_rng(seed)
    share = random.dirichlet(np.ones(4))
    causes = random.dirichlet(np.ones(4), size=4)[:, :3] if sound else random.random((4, 3))
    look = Look((0, 1), share, causes, 0.0)
    kept = causes[:, [0, 2]]
    if sound:
        kept = np.column_stack([kept, 1 - kept.sum(axis=1)])
    joint = share[:, None] * kept / (share[:, None] * kept).sum()
    by_outcome = joint.sum(axis=1)
    expected = entropy_of(joint.sum(axis=0)) - sum(by_outcome[at] * entropy_of(joint[at]) for at in range(4))
    told = apart_bits(look, Tie((0, 2), ("a", "c"), sound, ()))
    assert told == pytest.approx(expected, abs=1e-9)
    assert told > -1e-12


def test_a_check_that_tells_nothing_of_the_leaders_is_never_named() -> None:
    """A look over the belt lowers the doubt about stones and grit, and says nothing about two bent frames."""
    bent = "seen: [{symptom: frame-crack-or-kink, unit: left}, {symptom: lug-face-scuff, unit: left, side: inboard}]\n"
    texts = [HOT_AND_WET, UNEVEN, bent]
    cases = [*(written(text, "two-track", "friction") for text in texts), *(example(name) for name in EXAMPLES)]
    split = 0
    for case in cases:
        seen, found = weighed(case)
        between = tie(seen.judgement, seen.ground, shipped())
        assert (between is None) == (found.undecided is None)
        if between is None or found.undecided is None or found.undecided.check is None or not found.rows:
            continue
        rows_of_it = [row for row in found.rows if row.check == found.undecided.check]
        if not rows_of_it:
            continue  # it cannot be done now
        split += 1
        index = {key: at for at, key in enumerate(seen.ground.network.signs)}
        group = tuple(index[key] for key in rows_of_it[0].signs)
        (look,) = joint_looks(
            seen.ground.network, seen.judgement.evidence, [group], rows=found.counted, tolerance=TOLERANCE
        )
        assert apart_bits(look, between) >= LEAST_APART_BITS - 1e-6
        assert found.rows[0].check in (found.undecided.check, *rows_of_it[0].after)
    assert split >= 2


def test_a_hot_wet_hub_is_split_by_its_oil_where_it_stands() -> None:
    """common practice: look at the oil first, and never turn or lift a hub that is a stop to find out."""
    _, found = weighed(written(HOT_AND_WET, "two-track", "friction"))
    assert found.undecided is not None
    assert found.undecided.between[:2] == ("failed-bearing-seal@left", "hub-lubrication-neglect@left")
    assert (found.rows[0].check, found.rows[0].unit) == ("hub-oil-look", "left")
    assert found.undecided.check == "hub-oil-look"
    assert "bearing-play" in {one.check for one in found.choice.left_out}


def test_a_reading_against_the_faces_is_not_answered_by_a_look_for_stones() -> None:
    """Toe-in by tape beside outboard faces rubbed: the next look is at the faces, not at cuts in the tread."""
    faces = "seen: [{symptom: lug-face-scuff, unit: all, side: outboard}]\n"
    tape = "measured: [{check: toe, leading: 1200 mm, trailing: 1220 mm}]\n"
    _, found = weighed(written(faces + tape, "two-track", "friction"))
    assert found.rows
    assert found.rows[0].check != "belt-surface-look"
    assert found.rows[0].check == "eight-face-compare"


def test_no_fault_stands_among_what_is_undecided_where_it_is_close() -> None:
    looked = "looked_at: [{component: idlers, units: all}]\n"
    scuff = "seen: [{symptom: lug-face-scuff, unit: all, side: inboard}]\n"
    _, found = weighed(written(scuff + looked, "two-track", "friction"))
    assert found.undecided is not None
    assert NO_FAULT in found.undecided.between


def test_only_causes_that_could_account_for_something_seen_count() -> None:
    seen, found = weighed(written(UNEVEN, "two-track", "friction"))
    linked = {row for sign in seen.judgement.evidence.seen for row in seen.ground.linked(sign)}
    assert set(found.counted.tolist()) == linked - set(seen.ground.harmless)
    _, nothing = weighed(written("", "two-track", "friction"))
    assert len(nothing.counted) == len(seen.ground.causes) - len(seen.ground.harmless)
