"""Both exact roads against the sum over all worlds, against each other, and against two libraries."""

from __future__ import annotations

import itertools
from fractions import Fraction

import numpy as np
import pytest
from belief_networks import findings, random_network, undercarriage
from worlds import all_worlds, alternating_sum, exact_sum

from lugwright.belief.elimination import plan_elimination
from lugwright.belief.logspace import solve_in_logs
from lugwright.belief.posterior import Evidence, ImpossibleEvidence, Network, TooWide, posterior
from lugwright.belief.problem import build_problem


def random_evidence(network: Network, rng: np.random.Generator) -> Evidence:
    state = rng.integers(0, 3, len(network.signs))
    return Evidence(tuple(np.flatnonzero(state == 0).tolist()), tuple(np.flatnonzero(state == 1).tolist()))


@pytest.mark.parametrize(("road", "allowed"), [("joint", 1e-12), ("conditioned", 1e-10), (None, 1e-10)])
def test_every_world_added_up(road: str | None, allowed: float) -> None:
    rng = np.random.default_rng(1)
    solved = 0
    for stages in (1, 2, 3) * 25:
        network = random_network(rng, most_causes={1: 9, 2: 6, 3: 5}[stages], stages=stages)
        evidence = random_evidence(network, rng)
        worlds = all_worlds(network, evidence.seen, evidence.absent)
        if worlds.probability == 0:
            with pytest.raises(ImpossibleEvidence):
                posterior(network, evidence, road=road)
            continue
        result = posterior(network, evidence, road=road, tolerance=1e-12)
        assert result.by_stage == pytest.approx(worlds.by_stage, abs=allowed)
        assert result.marginal == pytest.approx(worlds.marginal, abs=allowed)
        assert result.log_evidence == pytest.approx(np.log(worlds.probability), abs=allowed)
        assert result.no_fault == pytest.approx(worlds.no_fault, abs=allowed)
        solved += 1
    assert solved > 60


@pytest.mark.parametrize(("units", "seen", "absent"), [(2, 9, 40), (2, 14, 90), (4, 20, 120), (4, 28, 200)])
def test_the_two_roads_agree_on_networks_of_the_real_size(units: int, seen: int, absent: int) -> None:
    for seed in range(3):
        network = undercarriage(seed, units)
        evidence = Evidence(*findings(network, seed, seen=seen, absent=absent))
        joint = posterior(network, evidence, road="joint")
        searched = posterior(network, evidence, road="conditioned", tolerance=1e-7)
        assert joint.bound == 0.0
        assert searched.bound <= 1e-5
        assert np.abs(joint.by_stage - searched.by_stage).max() <= searched.bound + 1e-12
        assert abs(joint.log_evidence - searched.log_evidence) <= searched.bound + 1e-10
        assert abs(joint.no_fault - searched.no_fault) <= searched.bound + 1e-12


def test_one_axle_with_very_many_causes_is_searched_instead_of_enumerated() -> None:
    network = undercarriage(5, 4, unit_types=4, axle_types=6, machine_types=3, unit_signs=12)
    evidence = Evidence(*findings(network, 5, seen=9, absent=14))
    joint = posterior(network, evidence, road="joint")
    searched = posterior(network, evidence, road="conditioned", tolerance=1e-11)
    assert searched.by_stage == pytest.approx(joint.by_stage, abs=1e-10)


def test_signs_shared_by_several_units_and_leaks_of_zero() -> None:
    rng = np.random.default_rng(8)
    for seed in range(6):
        plain = undercarriage(seed, 4, unit_types=3, axle_types=2, machine_types=3, unit_signs=7, machine_signs=3)
        leak = np.where(rng.random(len(plain.signs)) < 0.5, 0.0, plain.leak)
        network = Network(
            plain.causes, plain.scopes, plain.axle_of_unit, plain.signs, plain.prior, plain.link, leak, plain.against
        )
        able = np.flatnonzero(network.link.any(axis=(0, 1)))
        shared = [sign for sign in able if sign >= 28]
        seen = tuple(int(sign) for sign in [*able[able < 28][::6], *shared])
        evidence = Evidence(seen, tuple(int(sign) for sign in able if sign not in seen)[:8])
        joint = posterior(network, evidence, road="joint")
        searched = posterior(network, evidence, road="conditioned", tolerance=1e-11)
        assert searched.by_stage == pytest.approx(joint.by_stage, abs=1e-10)
        assert searched.log_evidence == pytest.approx(joint.log_evidence, abs=1e-10)


def test_a_looser_tolerance_never_breaks_its_bound() -> None:
    network = undercarriage(3, 2)
    evidence = Evidence(*findings(network, 3, seen=16, absent=80))
    exact = posterior(network, evidence, road="joint")
    bounds = []
    for tolerance in (1e-2, 1e-4, 1e-6):
        result = posterior(network, evidence, road="conditioned", tolerance=tolerance)
        assert result.bound <= tolerance
        assert np.abs(result.marginal - exact.marginal).max() <= result.bound
        bounds.append(result.bound)
    assert bounds == sorted(bounds, reverse=True)


def test_the_road_is_chosen_by_cost_and_the_choice_is_repeatable() -> None:
    small, wide = undercarriage(1), undercarriage(3)
    few = Evidence(*findings(small, 1, seen=8, absent=20))
    many = Evidence(*findings(wide, 3, seen=40, absent=220))
    assert posterior(small, few).road == "joint"
    first, second = posterior(wide, many, tolerance=1e-7), posterior(wide, many, tolerance=1e-7)
    assert first.road == second.road == "conditioned"
    assert first.by_stage.tobytes() == second.by_stage.tobytes()


def test_findings_that_only_hopeless_causes_can_explain_do_not_underflow() -> None:
    # 60 absent signs speak against the only two causes that can show the two seen ones: each weight is about 1e-390.
    signs = 62
    link = np.zeros((3, 1, signs))
    link[0, 0, :61], link[1, 0, :60], link[2, 0, 60:] = 1 - 3e-7, 1 - 3e-7, 0.5
    link[1, 0, 61] = 0.25
    network = Network(
        ("a", "b", "c"),
        (("machine", 0),) * 3,
        (0,),
        tuple(f"s{j}" for j in range(signs)),
        np.array([[0.1], [0.1], [0.0]]),
        link,
        np.zeros(signs),
    )
    evidence = Evidence((60, 61), tuple(range(60)))
    result = posterior(network, evidence)
    by_hand = 2 * np.log(0.1) + 120 * np.log(3e-7) + np.log1p(-3e-7) + np.log(0.25)
    assert result.log_evidence == pytest.approx(by_hand, rel=1e-9)
    assert result.marginal == pytest.approx([1.0, 1.0, 0.0], abs=1e-12)
    assert result.no_fault == 0.0


def test_the_pass_in_logarithms_gives_the_same_numbers() -> None:
    rng = np.random.default_rng(4)
    for _ in range(20):
        network = random_network(rng, stages=2)
        evidence = random_evidence(network, rng)
        if all_worlds(network, evidence.seen, evidence.absent).probability == 0:
            continue
        problem = build_problem(network, evidence)
        answer = solve_in_logs(problem, plan_elimination(problem.option_cause, problem.link))
        result = posterior(network, evidence, road="joint")
        assert answer.log_total + problem.log_constant == pytest.approx([result.log_evidence], abs=1e-12)
        ours = result.by_stage[problem.cause[problem.option_cause], problem.option_stage]
        assert answer.present[0] == pytest.approx(ours, abs=1e-12)


def test_a_plain_alternating_sum_fails_on_surprising_findings_and_this_does_not() -> None:
    """Twelve seen signs, each shown weakly by a few rare causes; the oracle is the same sum in exact fractions."""
    rng = np.random.default_rng(11)
    causes, signs = 20, 20
    prior = [Fraction(int(p), 1000) for p in rng.integers(5, 30, causes)]
    shown = rng.integers(2, 25, (causes, signs)) * (rng.random((causes, signs)) < 0.3)
    link = [[Fraction(int(w), 200) for w in row] for row in shown]
    leak = [Fraction(1, 1000)] * signs
    network = Network(
        tuple(f"c{i}" for i in range(causes)),
        (("machine", 0),) * causes,
        (0,),
        tuple(f"s{j}" for j in range(signs)),
        np.array(prior, dtype=float)[:, None],
        np.array(link, dtype=float)[:, None, :],
        np.array(leak, dtype=float),
    )
    seen, absent = tuple(range(12)), tuple(range(12, 20))
    probability, exact = exact_sum(prior, link, leak, seen, absent)
    truth = np.array([float(value) for value in exact])
    assert float(probability) < 1e-18
    joint = posterior(network, Evidence(seen, absent), road="joint")
    assert joint.marginal == pytest.approx(truth, abs=1e-14)
    searched = posterior(network, Evidence(seen, absent), road="conditioned", tolerance=1e-4)
    assert np.abs(searched.marginal - truth).max() <= searched.bound
    with np.errstate(all="ignore"):
        textbook = alternating_sum(network, seen, absent)
    assert not np.abs(textbook - truth).max() < 0.05
    # the same textbook sum is fine where the findings are no surprise, so it is not merely written wrongly
    easy = posterior(network, Evidence((0, 1), absent), road="joint")
    assert alternating_sum(network, (0, 1), absent) == pytest.approx(easy.marginal, abs=1e-9)


def test_too_wide_is_said_and_not_guessed() -> None:
    rng = np.random.default_rng(0)
    network = Network(
        tuple(f"c{i}" for i in range(60)),
        (("machine", 0),) * 60,
        (0,),
        tuple(f"s{j}" for j in range(45)),
        np.full((60, 1), 0.05),
        rng.uniform(0.1, 0.3, (60, 1, 45)),
        np.full(45, 0.01),
    )
    with pytest.raises(TooWide, match="too many findings hang together"):
        posterior(network, Evidence(tuple(range(45)), ()), road="joint")


def small_linked_network(seed: int, stages: int) -> Network:
    """At most four causes per sign, so that a library can hold every table."""
    rng = np.random.default_rng(seed)
    causes, signs = 7, 9
    link = np.zeros((causes, stages, signs))
    for sign in range(signs):
        parents = rng.choice(causes, size=int(rng.integers(1, 5)), replace=False)
        link[parents, :, sign] = rng.uniform(0.1, 0.95, (len(parents), stages))
    return Network(
        tuple(f"c{i}" for i in range(causes)),
        (("unit", 0), ("unit", 1), ("unit", 2), ("axle", 0), ("axle", 1), ("machine", 0), ("machine", 0)),
        (0, 0, 1, 1),
        tuple(f"s{j}" for j in range(signs)),
        rng.dirichlet(np.array([8.0] + [1.0] * stages), causes)[:, 1:],
        link,
        rng.uniform(0.01, 0.2, signs),
    )


@pytest.mark.outside
@pytest.mark.parametrize("seed", range(6))
def test_causes_with_stages_against_pyagrum(seed: int) -> None:
    # source: pyAgrum 3.3.1, VariableElimination on explicit tables; causes are variables with three states
    gum = pytest.importorskip("pyagrum")
    network = small_linked_network(seed, stages=2)
    net = gum.BayesNet()
    for row, key in enumerate(network.causes):
        net.add(gum.LabelizedVariable(key, key, 3))
        net.cpt(key)[:] = [1 - network.prior[row].sum(), *network.prior[row]]
    for column, key in enumerate(network.signs):
        net.add(gum.LabelizedVariable(key, key, 2))
        parents = [row for row in range(len(network.causes)) if network.link[row, :, column].any()]
        for row in parents:
            net.addArc(network.causes[row], key)
        for states in itertools.product(range(3), repeat=len(parents)):
            absent = 1 - network.leak[column]
            for row, state in zip(parents, states, strict=True):
                absent *= 1 - network.link[row, state - 1, column] if state else 1
            net.cpt(key)[{network.causes[row]: s for row, s in zip(parents, states, strict=True)}] = [
                absent,
                1 - absent,
            ]
    evidence = Evidence((0, 2, 4, 5), (1, 3, 7))
    engine = gum.VariableElimination(net)
    engine.setEvidence(
        {**{network.signs[s]: 1 for s in evidence.seen}, **{network.signs[s]: 0 for s in evidence.absent}}
    )
    theirs = np.array([engine.posterior(key).toarray()[1:] for key in network.causes])
    for road in ("joint", "conditioned"):
        assert posterior(network, evidence, road=road, tolerance=1e-12).by_stage == pytest.approx(theirs, abs=1e-9)


@pytest.mark.outside
@pytest.mark.parametrize("seed", range(4))
def test_causes_without_stages_against_pyagrum_noisy_or(seed: int) -> None:
    # source: pyAgrum 3.3.1, addNoisyORNet with LazyPropagation; absent signs are entered as evidence, not multiplied in
    gum = pytest.importorskip("pyagrum")
    network = small_linked_network(seed + 100, stages=1)
    net = gum.BayesNet()
    for row, key in enumerate(network.causes):
        net.add(gum.LabelizedVariable(key, key, 2))
        net.cpt(key)[:] = [1 - network.prior[row, 0], network.prior[row, 0]]
    for column, key in enumerate(network.signs):
        net.addNoisyORNet(gum.LabelizedVariable(key, key, 2), float(network.leak[column]))
        for row in np.flatnonzero(network.link[:, 0, column]):
            net.addWeightedArc(network.causes[row], key, float(network.link[row, 0, column]))
    evidence = Evidence((0, 2, 4, 5, 8), (1, 3))
    engine = gum.LazyPropagation(net)
    engine.setEvidence(
        {**{network.signs[s]: 1 for s in evidence.seen}, **{network.signs[s]: 0 for s in evidence.absent}}
    )
    engine.makeInference()
    theirs = np.array([engine.posterior(key).toarray()[1] for key in network.causes])
    for road in ("joint", "conditioned"):
        assert posterior(network, evidence, road=road, tolerance=1e-12).marginal == pytest.approx(theirs, abs=1e-9)
    assert posterior(network, evidence).log_evidence == pytest.approx(np.log(engine.evidenceProbability()), abs=1e-9)
