"""Marks (signs a cause marks alike or not at all) against summing over every world, mark states included."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest

from lugwright.belief.marks import marginal_link
from lugwright.belief.network import Mark, Network
from lugwright.belief.posterior import Evidence, conflict_bits, outcomes, posterior, without_each


def random_network(pick: random.Random) -> Network:
    """Two units, one axle: four causes of two stages, six signs, up to three marks; some priors and links zero."""
    causes, stages, signs = 4, 2, 6
    scopes = (("unit", 0), ("unit", 1), ("axle", 0), ("machine", 0))
    prior = np.array([[pick.choice((0.0, 0.02, 0.1, 0.3)) for _ in range(stages)] for _ in range(causes)])
    link = np.zeros((causes, stages, signs))
    for at in itertools.product(range(causes), range(stages), range(signs)):
        link[at] = pick.choice((0.0, 0.0, 0.2, 0.7))
    marks, taken = [], set()
    for _ in range(3):
        cause, group = pick.randrange(causes), tuple(sorted(pick.sample(range(signs), pick.choice((2, 3)))))
        if taken.isdisjoint((cause, sign) for sign in group):
            taken |= {(cause, sign) for sign in group}
            share = np.array([pick.choice((0.0, 0.3, 0.8, 1.0)) for _ in range(stages)])
            marks.append(Mark(cause, share, group, np.array([pick.choice((0.5, 0.9)) for _ in group])))
    leak = np.array([pick.choice((0.01, 0.1, 0.4)) for _ in range(signs)])
    against = ((pick.randrange(causes), pick.randrange(signs), 0.2),)
    names = tuple(f"c{n}" for n in range(causes)), tuple(f"s{n}" for n in range(signs))
    return Network(names[0], scopes, (0, 0), names[1], prior, link, leak, against, tuple(marks))


def every_world(network: Network, evidence: Evidence) -> tuple[float, np.ndarray, float]:
    """P(evidence), P(cause at stage and evidence), P(no cause and evidence), by the definition."""
    prior = network.prior_given(evidence.seen)
    total, joint, none = 0.0, np.zeros_like(prior), 0.0
    for world in itertools.product(range(-1, network.stages), repeat=len(network.causes)):
        weight = 1.0
        for cause, stage in enumerate(world):
            weight *= prior[cause, stage] if stage >= 0 else 1 - prior[cause].sum()
        for marked in itertools.product((False, True), repeat=len(network.marks)):
            state, unshown = weight, 1 - network.leak.copy()
            for cause, stage in enumerate(world):
                if stage >= 0:
                    unshown = unshown * (1 - network.link[cause, stage])
            for mark, there in zip(network.marks, marked, strict=True):
                stage = world[mark.cause]
                share = mark.share[stage] if stage >= 0 else 0.0
                state *= share if there else 1 - share
                if there:
                    unshown[list(mark.signs)] *= 1 - mark.weight
            for sign in evidence.seen:
                state *= 1 - unshown[sign]
            for sign in evidence.absent:
                state *= unshown[sign]
            total += state
            none += state * all(stage < 0 for stage in world)
            for cause, stage in enumerate(world):
                if stage >= 0:
                    joint[cause, stage] += state
    return total, joint, none


def random_evidence(pick: random.Random) -> Evidence:
    state = [pick.choice(("seen", "seen", "absent", "open")) for _ in range(6)]
    return Evidence(*(tuple(n for n, one in enumerate(state) if one == wanted) for wanted in ("seen", "absent")))


@pytest.mark.parametrize("road", ["joint", "conditioned"])
@pytest.mark.parametrize("seed", range(25))
def test_marks_are_summed_over_exactly(seed: int, road: str) -> None:
    pick = random.Random(seed)
    network, evidence = random_network(pick), random_evidence(pick)
    total, joint, none = every_world(network, evidence)
    result = posterior(network, evidence, road=road, tolerance=1e-12)  # type: ignore[arg-type]
    assert np.exp(result.log_evidence) == pytest.approx(total, rel=1e-10)
    assert result.by_stage == pytest.approx(joint / total, abs=1e-10)
    assert result.no_fault == pytest.approx(none / total, abs=1e-10)


@pytest.mark.parametrize("seed", range(15))
def test_leaving_a_finding_out_and_looking_further_respect_marks(seed: int) -> None:
    pick = random.Random(1000 + seed)
    network, evidence = random_network(pick), random_evidence(pick)
    findings = [*evidence.seen, *evidence.absent]
    for sign, row in zip(findings, without_each(network, evidence, findings), strict=True):
        total, joint, _ = every_world(network, evidence.without(sign))
        assert row == pytest.approx(joint.sum(axis=1) / total, abs=1e-6)
    now, _, _ = every_world(network, evidence)
    open_signs = [sign for sign in range(6) if sign not in findings]
    for told in outcomes(network, evidence, open_signs):
        seen, joint, _ = every_world(network, evidence.with_seen(told.sign))
        absent, gone, _ = every_world(network, evidence.with_absent(told.sign))
        speaks_against = any(sign == told.sign for _, sign, _ in network.against)
        if not speaks_against:  # such a sign moves the prior itself when it is seen, so the two do not add up
            assert told.probability == pytest.approx(seen / now, abs=1e-9)
        assert told.if_seen == pytest.approx(joint.sum(axis=1) / seen, abs=1e-6)
        assert told.if_absent == pytest.approx(gone.sum(axis=1) / absent, abs=1e-6)


def test_conflict_counts_each_finding_with_its_marks() -> None:
    pick = random.Random(7)
    network = random_network(pick)
    network = Network(**{**vars(network), "against": ()})
    evidence = Evidence((0, 2), (4,))
    singles = [every_world(network, Evidence((0,), ()))[0], every_world(network, Evidence((2,), ()))[0],
               every_world(network, Evidence((), (4,)))[0]]  # fmt: skip
    both = every_world(network, evidence)[0]
    assert conflict_bits(network, evidence) == pytest.approx(float(np.log2(np.prod(singles) / both)), abs=1e-9)


def test_a_cause_that_marks_both_faces_explains_wear_on_one_face_badly() -> None:
    """The reason for marks: with each face on its own, the same words would make one-sided wear look even."""
    alike = Mark(0, np.array([0.5]), (0, 1), np.array([0.9, 0.9]))
    shape = {"causes": ("even",), "scopes": (("machine", 0),), "axle_of_unit": (0, 0), "signs": ("in", "out"),
             "prior": np.array([[0.2]]), "leak": np.array([0.1, 0.1])}  # fmt: skip
    marked = Network(**shape, link=np.zeros((1, 1, 2)), marks=(alike,))  # type: ignore[arg-type]
    apart = Network(**shape, link=marginal_link(marked))  # type: ignore[arg-type]
    one_face, both = Evidence((0,), (1,)), Evidence((0, 1), ())
    assert marginal_link(marked)[0, 0] == pytest.approx([0.45, 0.45])
    assert posterior(marked, one_face).marginal[0] < posterior(apart, one_face).marginal[0] / 1.5
    assert posterior(marked, both).marginal[0] > posterior(apart, both).marginal[0]


def test_a_mark_that_cannot_be_is_refused() -> None:
    network = random_network(random.Random(3))
    twice = Mark(0, np.array([0.5, 0.5]), (1, 1), np.array([0.5, 0.5]))
    with pytest.raises(ValueError, match="marks a sign twice"):
        Network(**{**vars(network), "marks": (twice,)})
