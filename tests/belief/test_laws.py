"""Laws that any answer must obey, whatever the numbers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from belief_networks import findings, random_network, undercarriage
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lugwright.belief.posterior import Evidence, ImpossibleEvidence, Network, Posterior, TooWide, posterior

seeds = st.integers(0, 2**32 - 1)
roads = st.sampled_from(["joint", "conditioned"])
steady = settings(max_examples=40, deadline=None, derandomize=True)


def drawn(seed: int) -> tuple[Network, Evidence, np.random.Generator]:
    rng = np.random.default_rng(seed)
    network = random_network(rng, most_causes=10, most_signs=14)
    state = rng.integers(0, 3, len(network.signs))
    return network, Evidence(tuple(np.flatnonzero(state == 0)), tuple(np.flatnonzero(state == 1))), rng


def solved(network: Network, evidence: Evidence, road: str) -> Posterior:
    try:
        return posterior(network, evidence, road=road, tolerance=1e-12)
    except (ImpossibleEvidence, TooWide):  # too wide: more shared signs than the conditioned road takes
        assume(False)
        raise


def same(left: Posterior, right: Posterior) -> None:
    assert left.by_stage == pytest.approx(right.by_stage, abs=1e-10)
    assert left.log_evidence == pytest.approx(right.log_evidence, abs=1e-9)
    assert left.no_fault == pytest.approx(right.no_fault, abs=1e-10)


@steady
@given(seeds, roads)
def test_the_order_of_the_findings_does_not_matter(seed: int, road: str) -> None:
    network, evidence, rng = drawn(seed)
    shuffled = Evidence(
        tuple(rng.permutation(np.array(evidence.seen, dtype=int))),
        tuple(rng.permutation(np.array(evidence.absent, dtype=int))),
    )
    same(solved(network, evidence, road), solved(network, shuffled, road))


@steady
@given(seeds, roads)
def test_a_sign_nobody_looked_for_changes_nothing(seed: int, road: str) -> None:
    network, evidence, rng = drawn(seed)
    causes, stages, _ = network.link.shape
    more = replace(
        network,
        signs=(*network.signs, "unlooked"),
        link=np.concatenate([network.link, rng.uniform(0, 0.9, (causes, stages, 1))], axis=2),
        leak=np.append(network.leak, 0.3),
    )
    same(solved(network, evidence, road), solved(more, evidence, road))


@steady
@given(seeds, roads)
def test_an_excluded_cause_changes_nothing(seed: int, road: str) -> None:
    network, evidence, rng = drawn(seed)
    stages, signs = network.link.shape[1:]
    more = replace(
        network,
        causes=(*network.causes, "excluded"),
        scopes=(*network.scopes, ("machine", 0)),
        prior=np.concatenate([network.prior, np.zeros((1, stages))]),
        link=np.concatenate([network.link, rng.uniform(0, 0.9, (1, stages, signs))]),
    )
    before, after = solved(network, evidence, road), solved(more, evidence, road)
    assert after.marginal[-1] == 0.0
    same(before, replace(after, by_stage=after.by_stage[:-1]))


@steady
@given(seeds, roads)
def test_a_stage_that_never_occurs_changes_nothing(seed: int, road: str) -> None:
    network, evidence, rng = drawn(seed)
    causes, _, signs = network.link.shape
    more = replace(
        network,
        prior=np.concatenate([network.prior, np.zeros((causes, 1))], axis=1),
        link=np.concatenate([network.link, rng.uniform(0, 0.9, (causes, 1, signs))], axis=1),
    )
    before, after = solved(network, evidence, road), solved(more, evidence, road)
    assert (after.by_stage[:, -1] == 0).all()
    same(before, replace(after, by_stage=after.by_stage[:, :-1]))


@steady
@given(seeds, roads)
def test_two_stages_that_show_the_same_are_one(seed: int, road: str) -> None:
    network, evidence, rng = drawn(seed)
    one = replace(network, prior=network.prior.sum(axis=1, keepdims=True), link=network.link[:, :1])
    share = rng.uniform(0.1, 0.9, (len(network.causes), 1))
    two = replace(one, prior=np.hstack([one.prior * share, one.prior * (1 - share)]), link=one.link.repeat(2, axis=1))
    single, split = solved(one, evidence, road), solved(two, evidence, road)
    assert split.marginal == pytest.approx(single.marginal, abs=1e-10)
    assert split.log_evidence == pytest.approx(single.log_evidence, abs=1e-9)


@steady
@given(seeds, roads)
def test_a_further_finding_multiplies_its_probability(seed: int, road: str) -> None:
    """P(findings, seen) + P(findings, absent) = P(findings), as long as no `against` factor moves the prior."""
    network, evidence, _ = drawn(seed)
    network = replace(network, against=(), leak=np.maximum(network.leak, 0.01))
    free = [sign for sign in range(len(network.signs)) if sign not in (*evidence.seen, *evidence.absent)]
    assume(free)
    now = solved(network, evidence, road).log_evidence
    seen = solved(network, evidence.with_seen(free[0]), road).log_evidence
    absent = solved(network, evidence.with_absent(free[0]), road).log_evidence
    assert np.exp(seen - now) + np.exp(absent - now) == pytest.approx(1.0, abs=1e-10)


@pytest.mark.parametrize("road", ["joint", "conditioned"])
def test_exchanging_units_exchanges_their_answers(road: str) -> None:
    network = undercarriage(7)
    seen, absent = findings(network, 7, seen=16, absent=120)
    per_unit = 89
    swap = {0: 1, 1: 0, 2: 2, 3: 3}

    def mirrored(sign: int) -> int:
        unit, number = divmod(sign, per_unit)
        return swap[unit] * per_unit + number if unit < 4 else sign

    column = [mirrored(sign) for sign in range(len(network.signs))]
    name = {"unit-0": "unit-1", "unit-1": "unit-0"}
    place = {key: row for row, key in enumerate(network.causes)}
    parts = [key.split("@") for key in network.causes]
    row = [place[f"{cause}@{name.get(where, where)}"] for cause, where in parts]
    assert np.array_equal(network.link[row][:, :, column], network.link)
    plain = posterior(network, Evidence(seen, absent), road=road, tolerance=1e-8)
    swapped = posterior(
        network, Evidence(tuple(map(mirrored, seen)), tuple(map(mirrored, absent))), road=road, tolerance=1e-8
    )
    assert np.abs(swapped.marginal[row] - plain.marginal).max() <= plain.bound + swapped.bound + 1e-13
    assert swapped.log_evidence == pytest.approx(plain.log_evidence, abs=plain.bound + swapped.bound + 1e-11)


def test_nothing_found_gives_back_the_prior() -> None:
    network = undercarriage(0, 2)
    for road in ("joint", "conditioned"):
        result = posterior(network, Evidence((), ()), road=road)
        assert result.by_stage == pytest.approx(network.prior, abs=1e-15)
        assert result.log_evidence == pytest.approx(0.0, abs=1e-12)
        assert result.no_fault == pytest.approx(float(np.prod(1 - network.prior.sum(axis=1))), rel=1e-12)
