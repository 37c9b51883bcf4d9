"""Leaving findings out, looking for more, conflict, impossible findings, and refused input."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from belief_networks import findings, random_network, undercarriage
from worlds import all_worlds, priors

from lugwright.belief.posterior import (
    Evidence,
    ImpossibleEvidence,
    Network,
    conflict_bits,
    outcomes,
    posterior,
    without_each,
)


def possible_cases(count: int, seed: int) -> list[tuple[Network, Evidence]]:
    """Small random networks, half with `against` factors, with findings that are possible."""
    rng = np.random.default_rng(seed)
    cases: list[tuple[Network, Evidence]] = []
    while len(cases) < count:
        network = random_network(rng)
        state = rng.integers(0, 3, len(network.signs))
        evidence = Evidence(tuple(np.flatnonzero(state == 0)), tuple(np.flatnonzero(state == 1)))
        if all_worlds(network, evidence.seen, evidence.absent).probability > 0:
            cases.append((network, evidence))
    return cases


def entropy(probability: np.ndarray) -> float:
    inside = probability[(probability > 0) & (probability < 1)]
    return float(-(inside * np.log2(inside) + (1 - inside) * np.log2(1 - inside)).sum())


def test_leaving_a_finding_out_is_the_answer_without_it() -> None:
    with_factor = 0
    for network, evidence in possible_cases(40, seed=2):
        signs = (*evidence.seen, *evidence.absent)
        table = without_each(network, evidence, signs)
        assert table.shape == (len(signs), len(network.causes))
        for line, sign in zip(table, signs, strict=True):
            rest = evidence.without(sign)
            assert line == pytest.approx(all_worlds(network, rest.seen, rest.absent).marginal, abs=1e-6)
            with_factor += any(at == sign and sign in evidence.seen for _, at, _ in network.against)
    assert with_factor >= 5


@pytest.mark.parametrize(("units", "seen", "absent"), [(2, 12, 50), (4, 18, 100), (4, 36, 200)])
def test_leaving_out_agrees_with_solving_anew_on_the_real_size(units: int, seen: int, absent: int) -> None:
    network = undercarriage(3, units)
    network = replace(network, against=((3, 0, 0.1), (60 if units == 4 else 20, 5, 0.2)))
    evidence = Evidence(*findings(network, 3, seen=seen, absent=absent))
    evidence = Evidence(tuple(sorted({*evidence.seen, 0})), tuple(sign for sign in evidence.absent if sign != 0))
    signs = (*evidence.seen, *evidence.absent[:25])
    table = without_each(network, evidence, signs)
    for at in range(0, len(signs), 4):
        anew = posterior(network, evidence.without(signs[at]), tolerance=1e-9)
        assert np.abs(table[at] - anew.marginal).max() < 1e-6


def test_leaving_out_a_sign_that_speaks_against_a_cause_gives_its_odds_back() -> None:
    network = Network(
        ("dirt", "rubbing"),
        (("unit", 0), ("unit", 0)),
        (0,),
        ("clean-face", "polish"),
        np.array([[0.2], [0.1]]),
        np.array([[[0.0, 0.6]], [[0.0, 0.9]]]),
        np.array([0.5, 0.05]),
        ((0, 0, 0.1),),
    )
    both = posterior(network, Evidence((0, 1), ()))
    alone = posterior(network, Evidence((1,), ()))
    assert both.marginal[0] < alone.marginal[0]
    odds = 0.2 / 0.8 * 0.1
    assert network.prior_given((0, 1))[0, 0] == pytest.approx(odds / (1 + odds))
    assert without_each(network, Evidence((0, 1), ()), (0,))[0] == pytest.approx(alone.marginal, abs=1e-12)
    absent = posterior(network, Evidence((1,), (0,)))
    assert absent.marginal == pytest.approx(alone.marginal, abs=1e-12)


def test_a_further_look_against_every_world() -> None:
    looked = 0
    for network, evidence in possible_cases(40, seed=3):
        worlds = all_worlds(network, evidence.seen, evidence.absent)
        free = [sign for sign in range(len(network.signs)) if sign not in (*evidence.seen, *evidence.absent)]
        for outcome in outcomes(network, evidence, free):
            more = evidence.with_seen(outcome.sign)
            unchanged = priors(network, evidence.seen)
            shown = all_worlds(network, more.seen, more.absent, unchanged).probability / worlds.probability
            assert outcome.probability == pytest.approx(shown, abs=1e-9)
            absent = all_worlds(network, evidence.seen, (*evidence.absent, outcome.sign))
            assert outcome.if_absent == pytest.approx(absent.marginal, abs=1e-9)
            seen = all_worlds(network, more.seen, more.absent)
            after = seen.marginal if seen.probability > 0 else worlds.marginal
            assert outcome.if_seen == pytest.approx(after, abs=1e-8)
            gain = entropy(worlds.marginal) - shown * entropy(after) - (1 - shown) * entropy(absent.marginal)
            assert outcome.expected_gain_bits == pytest.approx(gain, abs=1e-7)
            looked += 1
    assert looked > 60


def test_expected_gain_is_the_information_between_the_sign_and_each_cause() -> None:
    """Sum over causes of the mutual information of sign and cause, from the joint table of the two."""
    for network, evidence in possible_cases(25, seed=4):
        network = replace(network, against=())
        worlds = all_worlds(network, evidence.seen, evidence.absent)
        if worlds.probability == 0:
            continue
        free = [sign for sign in range(len(network.signs)) if sign not in (*evidence.seen, *evidence.absent)]
        for outcome in outcomes(network, evidence, free):
            absent = all_worlds(network, evidence.seen, (*evidence.absent, outcome.sign))
            missing = absent.probability / worlds.probability
            information = 0.0
            for now, then in zip(worlds.marginal, absent.marginal, strict=True):
                table = np.array([[then * missing, now - then * missing], [(1 - then) * missing, 0.0]])
                table[1, 1] = 1 - table.sum()
                independent = np.outer(table.sum(axis=1), table.sum(axis=0))
                cells = table > 1e-15
                information += float((table[cells] * np.log2(table[cells] / independent[cells])).sum())
            assert outcome.expected_gain_bits == pytest.approx(information, abs=1e-7)
            assert outcome.expected_gain_bits > -1e-9


def test_a_very_unlikely_sighting_is_not_taken_as_a_difference() -> None:
    network = Network(
        ("a", "b"),
        (("unit", 0), ("machine", 0)),
        (0,),
        ("common", "freak"),
        np.array([[1e-9], [0.1]]),
        np.array([[[0.2, 0.9]], [[0.5, 1e-12]]]),
        np.array([0.05, 1e-13]),
    )
    (outcome,) = outcomes(network, Evidence((0,), ()), (1,))
    anew = posterior(network, Evidence((0, 1), ()))
    assert outcome.if_seen == pytest.approx(anew.marginal, abs=1e-12)
    now = posterior(network, Evidence((0,), ()))
    assert outcome.probability == pytest.approx(np.exp(anew.log_evidence - now.log_evidence), rel=1e-9)
    assert outcome.probability < 1e-7


@pytest.mark.parametrize(("units", "seen", "absent"), [(2, 10, 50), (4, 34, 180)])
def test_further_looks_agree_with_solving_anew_on_the_real_size(units: int, seen: int, absent: int) -> None:
    network = undercarriage(6, units)
    evidence = Evidence(*findings(network, 6, seen=seen, absent=absent))
    free = [sign for sign in range(len(network.signs)) if sign not in {*evidence.seen, *evidence.absent}][:16]
    for outcome in outcomes(network, evidence, free)[::4]:
        seen_anew = posterior(network, evidence.with_seen(outcome.sign), tolerance=1e-10)
        absent_anew = posterior(network, evidence.with_absent(outcome.sign), tolerance=1e-10)
        assert np.abs(outcome.if_absent - absent_anew.marginal).max() < 1e-7
        assert np.abs(outcome.if_seen - seen_anew.marginal).max() < 1e-5


def test_conflict_is_the_product_of_single_probabilities_over_the_joint_one() -> None:
    for network, evidence in possible_cases(30, seed=5):
        prior = priors(network, evidence.seen)
        single = [all_worlds(network, (sign,), (), prior).probability for sign in evidence.seen]
        single += [all_worlds(network, (), (sign,), prior).probability for sign in evidence.absent]
        joint = all_worlds(network, evidence.seen, evidence.absent).probability
        assert conflict_bits(network, evidence) == pytest.approx(
            float(np.log2(single).sum() - np.log2(joint)), abs=1e-9
        )


def test_signs_of_one_cause_support_each_other_and_its_missing_sign_conflicts() -> None:
    network = Network(
        ("a",), (("unit", 0),), (0,), ("x", "y"), np.array([[0.05]]), np.array([[[0.9, 0.9]]]), np.array([0.02, 0.02])
    )
    assert conflict_bits(network, Evidence((0, 1), ())) < -2
    assert conflict_bits(network, Evidence((0,), (1,))) > 0.5


def impossible_network() -> Network:
    """`telling` has one cause, `forbidding` rules it out; `orphan` has only an excluded cause. Both leaks are zero."""
    link = np.zeros((2, 1, 4))
    link[0, 0, 1], link[1, 0, 3], link[0, 0, 0] = 0.5, 0.5, 0.5
    return Network(
        ("able", "excluded"),
        (("unit", 0), ("unit", 0)),
        (0,),
        ("plain", "telling", "forbidding", "orphan"),
        np.array([[0.1], [0.0]]),
        link,
        np.array([0.1, 0.0, 0.2, 0.0]),
        ((0, 2, 0.0),),
    )


@pytest.mark.parametrize(
    ("seen", "absent", "minimal"),
    [((0, 1, 2), (), (1, 2)), ((0, 3), (1,), (3,)), ((3, 2, 1), (0,), (3,)), ((2, 1), (0, 3), (1, 2))],
)
def test_impossible_findings_name_a_smallest_set(
    seen: tuple[int, ...], absent: tuple[int, ...], minimal: tuple[int, ...]
) -> None:
    network = impossible_network()
    assert all_worlds(network, seen, absent).probability == 0
    with pytest.raises(ImpossibleEvidence) as raised:
        posterior(network, Evidence(seen, absent))
    assert raised.value.signs == minimal
    assert all(network.signs[sign] in str(raised.value) for sign in minimal)
    assert all_worlds(network, minimal, ()).probability == 0
    for sign in minimal:
        assert all_worlds(network, [other for other in minimal if other != sign], ()).probability > 0
    for question in (without_each, outcomes):
        with pytest.raises(ImpossibleEvidence):
            question(network, Evidence(seen, absent), ())
    with pytest.raises(ImpossibleEvidence):
        conflict_bits(network, Evidence(seen, absent))


def test_a_sign_that_cannot_be_seen_has_probability_zero_and_changes_nothing() -> None:
    network = impossible_network()
    (outcome,) = outcomes(network, Evidence((0,), ()), (3,))
    assert outcome.probability == 0.0
    assert np.array_equal(outcome.if_seen, posterior(network, Evidence((0,), ())).marginal)


@pytest.mark.parametrize(
    ("seen", "absent", "why"),
    [((1, 1), (), "twice as seen"), ((), (2, 2), "twice as absent"), ((1,), (1,), "both as seen and as absent")],
)
def test_a_finding_entered_twice_is_refused(seen: tuple[int, ...], absent: tuple[int, ...], why: str) -> None:
    with pytest.raises(ValueError, match=why):
        Evidence(seen, absent)


def test_unknown_signs_are_refused() -> None:
    network = impossible_network()
    with pytest.raises(ValueError, match="sign 9 is not in the network"):
        posterior(network, Evidence((9,), ()))
    with pytest.raises(ValueError, match="not among the findings"):
        without_each(network, Evidence((0,), ()), (1,))
    with pytest.raises(ValueError, match="already among the findings"):
        outcomes(network, Evidence((0,), ()), (0,))
    with pytest.raises(ValueError, match="tolerance must be between 0 and 1"):
        posterior(network, Evidence((0,), ()), tolerance=0.0)
    with pytest.raises(ValueError, match="road must be one of"):
        posterior(network, Evidence((0,), ()), road="scenic")  # type: ignore[arg-type]


@pytest.mark.parametrize("road", ["joint", "conditioned"])
def test_empty_networks_have_an_answer(road: str) -> None:
    none = Network((), (), (0, 0), ("x",), np.zeros((0, 1)), np.zeros((0, 1, 1)), np.array([0.25]))
    result = posterior(none, Evidence((0,), ()), road=road)
    assert result.log_evidence == pytest.approx(np.log(0.25))
    assert result.no_fault == pytest.approx(1.0)
    (look,) = outcomes(none, Evidence((), ()), (0,))
    assert (look.probability, look.expected_gain_bits) == (0.25, 0.0)
    silent = Network(("a",), (("machine", 0),), (), (), np.array([[0.1]]), np.zeros((1, 1, 0)), np.zeros(0))
    result = posterior(silent, Evidence((), ()), road=road)
    assert result.marginal == pytest.approx([0.1])
    assert result.no_fault == pytest.approx(0.9)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"prior": np.array([[0.6, 0.4]])}, "cause 'a' must add up to less than 1"),
        ({"prior": np.array([[np.nan, 0.1]])}, "prior of cause 'a'"),
        ({"prior": np.array([[-0.1, 0.1]])}, "prior of cause 'a'"),
        ({"prior": np.array([0.1])}, r"shape \(causes, stages\)"),
        ({"prior": np.full((1, 5), 0.1)}, "1 to 4 stages"),
        ({"link": np.full((1, 2, 1), 1.0)}, r"cause 'a' \(stage 0\) to sign 'x'"),
        ({"link": np.full((1, 2, 1), np.nan)}, "link of cause 'a'"),
        ({"link": np.zeros((1, 1, 1))}, "link must have the shape"),
        ({"leak": np.array([1.0])}, "leak of sign 'x'"),
        ({"leak": np.array([np.inf])}, "leak of sign 'x'"),
        ({"leak": np.zeros(2)}, "leak must have the shape"),
        ({"leak": ["much"]}, "leak must be an array of numbers"),
        ({"scopes": (("wheel", 0),)}, "one of unit, axle, machine"),
        ({"scopes": (("unit", 2),)}, "names unit 2, but there are 2"),
        ({"scopes": ()}, "a scope for each of 1 causes"),
        ({"axle_of_unit": (0, 2)}, "without a gap"),
        ({"against": ((0, 0, -1.0),)}, "finite number of at least 0"),
        ({"against": ((0, 3, 0.5),)}, "not both in the network"),
    ],
)
def test_a_network_with_a_wrong_number_is_refused_by_name(change: dict[str, object], why: str) -> None:
    good: dict[str, object] = {
        "causes": ("a",),
        "scopes": (("unit", 0),),
        "axle_of_unit": (0, 0),
        "signs": ("x",),
        "prior": np.array([[0.1, 0.1]]),
        "link": np.full((1, 2, 1), 0.5),
        "leak": np.array([0.1]),
    }
    Network(**good)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=why):
        Network(**{**good, **change})  # type: ignore[arg-type]
