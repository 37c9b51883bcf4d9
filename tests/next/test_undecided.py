"""What an undecided answer stands between, and the check that is named to split it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from next_cases import example, shipped, weighed, written

from lugwright.belief.looks import Look, joint_looks, screen
from lugwright.plan.candidates import Candidate
from lugwright.plan.next_checks import TOLERANCE
from lugwright.plan.undecided import LEAST_APART_BITS, NO_FAULT, Tie, apart_bits, splitters, tie

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
    look = Look((0, 1), ((), (0,), (1,), (0, 1)), share, causes, 0.0)
    kept = causes[:, [0, 2]]
    if sound:
        kept = np.column_stack([kept, 1 - kept.sum(axis=1)])
    joint = share[:, None] * kept / (share[:, None] * kept).sum()
    by_outcome = joint.sum(axis=1)
    expected = entropy_of(joint.sum(axis=0)) - sum(by_outcome[at] * entropy_of(joint[at]) for at in range(4))
    told = apart_bits(look, Tie((0, 2), (), sound, ()))
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


PLACES = {
    "toe-marks-beside-a-tape": "seen: [{symptom: lug-face-scuff, unit: left, side: inboard},"
    " {symptom: lug-face-scuff, unit: right, side: inboard}]\nlooked_at: [{component: lugs, units: all}]\n"
    "measured: [{check: toe, leading: 2206 mm, trailing: 2211 mm}]\n",
    "squeal-after-wash": "seen: [{symptom: squeal-after-wash, unit: left}, {symptom: wheel-runout, unit: left}]\n",
    "debond": "context: {belt-hours: 200 h}\nseen: [{symptom: tread-clean-debond, unit: left},"
    " {symptom: lug-missing-single, unit: left}]\n",
}


@pytest.mark.parametrize("name", sorted(PLACES))
def test_a_check_is_tried_as_splitter_by_its_best_place(name: str) -> None:
    """A check stands as high as the place where it tells most, not as low as the place where it tells nothing."""
    seen, found = weighed(written(PLACES[name], "two-track", "friction"))
    between = tie(seen.judgement, seen.ground, shipped())
    assert between is not None
    assert found.undecided is not None
    assert found.undecided.check
    worth = screen(seen.ground.network, kept_rows(seen.judgement.posterior.by_stage, between.rows))

    def rate(one: Candidate) -> float:
        best = sorted(one.signs, key=lambda at: -worth[at])[:3]
        return float(sum(worth[at] for at in best)) / found.choice.minutes([one.task])

    tried = splitters(between, found.choice, worth)
    unnamed = [one for one in tried if one.check not in dict(between.named)]
    left = [rate(one) for one in found.choice.candidates.values() if one.check not in {row.check for row in tried}]
    assert min(rate(one) for one in unnamed) >= max(left, default=0.0) - 1e-6


def kept_rows(by_stage: np.ndarray, rows: tuple[int, ...]) -> np.ndarray:
    kept = np.zeros_like(by_stage)
    kept[list(rows)] = by_stage[list(rows)]
    return kept


RIVALS = {
    "one hot hub": ("seen: [{symptom: hub-hot, unit: left}]\nnot_seen: [{symptom: hub-hot, unit: right}]\n", "left"),
    "oil near a brake": ("seen: [{symptom: oil-near-brake, unit: left}]\n", "left"),
    "two tight belts": ("seen: [{symptom: belt-over-tight, unit: all}]\n", ""),
}


@pytest.mark.parametrize("name", sorted(RIVALS))
def test_only_causes_that_could_account_for_the_same_sign_stand_between(name: str) -> None:
    """The same fault on another unit, and a cause that stands where it stood beforehand, are no rivals."""
    seen, found = weighed(written("context: {visit: complaint}\n" + RIVALS[name][0], "two-track", "friction"))
    between = tie(seen.judgement, seen.ground, shipped())
    assert between is not None
    head = between.rows[0]
    signs = {sign for sign in seen.judgement.evidence.seen if head in seen.ground.linked(sign)}
    assert signs
    for row in between.rows[1:]:
        assert any(row in seen.ground.linked(sign) for sign in signs)
    assert found.undecided is not None
    assert len(found.undecided.words) == len(found.undecided.between)


def test_what_moves_for_a_splitter_is_told_of_what_stands_between() -> None:
    _, found = weighed(written(HOT_AND_WET, "two-track", "friction"))
    assert found.undecided is not None
    assert {one.moves for one in found.rows[0].outcomes} <= set(found.undecided.between)


def test_a_named_splitter_that_cannot_be_done_now_is_named_with_the_reason() -> None:
    text = (
        "context: {visit: complaint}\nseen: [{symptom: tension-keeps-dropping, unit: rear-right},"
        " {symptom: belt-sag-slap, unit: rear-right}]\nlooked_at: [{component: tensioner, units: all},"
        " {component: drive-wheel, units: all}, {component: lugs, units: all}, {component: carcass, units: all},"
        " {component: tread, units: all}, {component: idlers, units: all}, {component: mid-rollers, units: all},"
        " {component: hubs, units: all}]\n"
    )
    _, found = weighed(written(text))
    assert found.undecided is not None
    if found.undecided.check == "tension-leak-down":
        assert "must stand" in found.undecided.not_now
        assert found.undecided.not_now in found.undecided.split_words
    else:
        assert found.rows[0].check == found.undecided.check


def test_belts_that_are_all_too_tight_are_not_a_heavy_machine() -> None:
    """common practice: weight does not tighten a belt; four belts too tight were charged too far at one sitting."""
    text = "context: {visit: complaint, tension-changed: raised}\nseen: [{symptom: belt-over-tight, unit: all}]\n"
    for layout, drive in (("two-track", "friction"), ("four-track", "positive")):
        seen, found = weighed(written(text, layout, drive))
        first = seen.judgement.leaders[0].cause[0]
        assert first == "tension-high"
        assert found.rows[0].check == "debris-look"  # clean first, then read the tension


STOPS = [
    "seen: [{symptom: oil-near-brake, unit: left}, {symptom: pulls-to-one-side}]\n",
    "seen: [{symptom: carcass-bulge, unit: left}, {symptom: fine-surface-cracks, unit: left}]\n",
    "seen: [{symptom: belt-twisted-or-snapped, unit: left}, {symptom: pulls-to-one-side}]\n",
]


@pytest.mark.parametrize("text", STOPS)
def test_a_machine_that_must_stand_is_never_told_to_drive_roll_or_bring_its_belt_round(text: str) -> None:
    _, found = weighed(written("context: {visit: complaint}\n" + text, "two-track", "friction"))
    for row in found.rows:
        for check in (row.check, *row.after):
            assert not shipped().checks[check].moves
    if found.undecided and found.undecided.check:
        assert not shipped().checks[found.undecided.check].moves or found.undecided.not_now


#: Words in the steps of a check that say that the machine or the belt moves, and the checks in which they mean
#: something else, with what they mean.
MOVING = ("let the machine run", "work straight", "drive ", "roll ", "coast", "brought round", "bring the ",
          "round the belt", "walking pace", "let it run")  # fmt: skip
STILL = {
    "drive-wheel-look": "a place in reach will do", "lug-size": "lugs in reach will do",
    "identity-check": "asks about the past", "belt-edge-lengths": "the edge is taped as the belt lies",
    "belt-grip": "figures of a drive wheel",
}  # fmt: skip


def test_every_check_for_which_the_machine_moves_says_so() -> None:
    for name, check in shipped().checks.items():
        said = " ".join(check.steps).lower()
        if any(word in said for word in MOVING) and name not in STILL:
            assert check.moves, name


def test_what_one_in_five_sound_units_shows_calls_for_no_explanation() -> None:
    """source: the words of the rule base: "sometimes" on a sound machine is one unit in five, "never" a slip."""
    rows = (
        "seen: [{symptom: scraper-edge-worn, unit: left}, {symptom: lug-face-scuff, unit: right, side: inboard},"
        " {symptom: carcass-bulge, unit: right}]\n"
        "looked_at: [{component: scrapers, units: all}, {component: lugs, units: all}]\n"
    )
    seen, _ = weighed(written(rows, "two-track", "friction"))
    assert {name for name, _ in seen.judgement.unexplained} <= {"carcass-bulge"}
    for symptom, place in seen.judgement.unexplained:
        linked = seen.ground.linked(seen.ground.sign_index[symptom, place])
        assert seen.judgement.posterior.marginal[linked].sum() < 0.5


def test_no_fault_stands_between_only_where_it_is_likely_enough() -> None:
    """Where no cause comes near the first one, the next of them stands beside it, and not a "no fault" of 5 %."""
    rows = (
        "context: {visit: complaint, belt-hours: 160 h, since-fitted: from-the-start, recent-parts: yes}\n"
        "seen: [{symptom: lug-face-scuff, unit: left, side: outboard, extent: many},"
        " {symptom: adjuster-at-limit, unit: left}, {symptom: fault-follows-belt, unit: right}]\n"
        "looked_at: [{component: lugs, units: all}, {component: idlers, units: all}, {component: frame, units: all}]\n"
        "measured: [{check: lug-clearance, unit: left, inboard: 15 mm, outboard: 2 mm},"
        " {check: lug-clearance, unit: right, inboard: 8 mm, outboard: 8 mm}]\n"
    )
    seen, _ = weighed(written(rows, "two-track", "friction"))
    between = tie(seen.judgement, seen.ground, shipped())
    assert between is not None
    assert seen.judgement.no_fault < seen.judgement.leaders[0].probability / 3
    assert not between.sound
    assert len(between.rows) == 2
