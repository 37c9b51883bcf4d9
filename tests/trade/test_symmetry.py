"""Laws that hold for every rule base written in places: mirror the notes, and the answer is mirrored.

source: the places themselves. Left and right are the same machine seen in a mirror; inboard and outboard exchange
toe-in and toe-out by the statics of a guide lug (the values differ where the trade says so, the order does not).
"""

from __future__ import annotations

import random
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from trade_cases import DRIVE, RULEBASE, keys, record, swept, units

from lugwright.belief.ground import applies, sign_places
from lugwright.diagnosis import Diagnosis
from lugwright.places import swap_hands
from lugwright.triage import triage

LAYOUTS = ("two-track", "four-track")
HANDED_CONTEXT = ("slope-work", "turning", "line-of-pull", "road-side")


def every_sign(layout: str) -> list[str]:
    """Every sign key of a layout, in a fixed order."""
    drive = DRIVE[layout]
    return [
        f"{name}@{place.key}"
        for name, symptom in RULEBASE.symptoms.items()
        if applies(symptom, layout, drive)
        for place in sign_places(symptom, layout)
    ]


SIGNS = {layout: every_sign(layout) for layout in LAYOUTS}


def mirrored_key(key: str) -> str:
    name, _, place = key.partition("@")
    unit, slash, side = place.partition("/")
    return f"{name}@{swap_hands(unit)}{slash}{side}"


def one_sided(signs: list[str]) -> list[str]:
    """Drop a directed sign whose other side was kept already: a difference points one way only."""
    kept: list[str] = []
    for key in signs:
        name, _, place = key.partition("@")
        unit = place.partition("/")[0]
        if RULEBASE.symptoms[name].directed and any(k.startswith(f"{name}@{unit}/") for k in kept):
            continue
        kept.append(key)
    return kept


def table(answer: Diagnosis) -> dict[str, float]:
    return {one.key: one.probability for one in answer.ranked}


@st.composite
def findings(draw: st.DrawFn) -> tuple[str, list[str], list[str], dict[str, str | float]]:
    layout = draw(st.sampled_from(LAYOUTS))
    chosen = draw(st.lists(st.sampled_from(SIGNS[layout]), min_size=1, max_size=14, unique=True))
    cut = draw(st.integers(1, len(chosen)))
    context: dict[str, str | float] = {}
    for name in HANDED_CONTEXT:
        answer = draw(st.sampled_from(["", *RULEBASE.context[name].answers]))
        if answer:
            context[name] = answer
    return layout, one_sided(chosen[:cut]), chosen[cut:], context


@settings(max_examples=25, deadline=None, derandomize=True)
@given(findings())
def test_swapping_left_and_right_everywhere_swaps_the_answer(
    case: tuple[str, list[str], list[str], dict[str, str]],
) -> None:
    layout, seen, absent, context = case
    plain = triage(record(layout, seen, absent=absent, context=context), RULEBASE)
    flipped = {name: swap_hands(answer) for name, answer in context.items()}
    mirror = triage(
        record(layout, map(mirrored_key, seen), absent=list(map(mirrored_key, absent)), context=flipped), RULEBASE
    )
    assert plain.verdict.action == mirror.verdict.action
    assert plain.no_fault == pytest.approx(mirror.no_fault, abs=1e-6)
    there = table(mirror)
    for one in plain.ranked[:6]:
        key = f"{one.cause}@{one.place.mirrored().key}"
        assert there.get(key, 0.0) == pytest.approx(one.probability, abs=2e-6), key


@settings(max_examples=15, deadline=None, derandomize=True)
@given(findings(), st.randoms(use_true_random=False))
def test_the_order_of_findings_never_matters(
    case: tuple[str, list[str], list[str], dict[str, str]], shuffler: random.Random
) -> None:
    layout, seen, absent, context = case
    first = record(layout, seen, absent=absent, context=context)
    shuffled = list(first.findings)
    shuffler.shuffle(shuffled)
    again = replace(first, findings=tuple(shuffled), context=dict(reversed(list(context.items()))))
    assert triage(first, RULEBASE).model_dump_json() == triage(again, RULEBASE).model_dump_json()


@pytest.mark.parametrize("layout", LAYOUTS)
def test_swapping_inboard_and_outboard_swaps_toe_in_and_toe_out(layout: str) -> None:
    axle_units = units(layout)[:2]
    rubbed = ("lug-face-scuff", "idler-flank-polish")
    inward = triage(record(layout, keys(rubbed, [f"{u}/inboard" for u in axle_units]), looked_at=True), RULEBASE)
    outward = triage(record(layout, keys(rubbed, [f"{u}/outboard" for u in axle_units]), looked_at=True), RULEBASE)
    assert inward.ranked[0].cause == "toe-in-error"
    assert outward.ranked[0].cause == "toe-out-error"
    assert inward.ranked[0].place == outward.ranked[0].place


@pytest.mark.parametrize("layout", LAYOUTS)
def test_what_was_not_looked_at_is_no_evidence(layout: str) -> None:
    """A sign without a finding leaves every probability as it is, whatever the sign; only findings are evidence."""
    seen = keys(("lug-face-scuff", "hub-hot"), [])
    unit = units(layout)[0]
    seen = [f"lug-face-scuff@{unit}/inboard", f"hub-hot@{unit}"]
    answer = triage(record(layout, seen), RULEBASE)
    drive = DRIVE[layout]
    assert {one.key for one in answer.findings if one.source != "rule"} == set(seen)
    assert len(swept(layout, drive)) > 50
    assert answer.not_looked_at


def test_every_chaining_rule_that_names_a_hand_has_its_mirror_image() -> None:
    """Rules that speak of one hand come in pairs, so that no machine is judged by the hand it happens to be worn on."""
    from lugwright.rulebase.rules import ChainingRule

    def shape(rule: ChainingRule, flip: bool) -> str:
        parts = (rule.when, rule.unless, rule.then)
        said = {"limit", "number"}  # prose, not places
        text = repr([[one.model_dump(exclude_none=True, exclude=said) for one in part] for part in parts])
        if not flip:
            return text
        # `left` as a field of a reading is the width that is left, not a hand
        return re.sub(r"(left|right)(?!':)", lambda one: "right" if one[0] == "left" else "left", text)

    shapes = {shape(rule, flip=False) for rule in RULEBASE.rules.values()}
    lonely = [name for name, rule in RULEBASE.rules.items() if shape(rule, flip=True) not in shapes]
    assert lonely == []
