"""What each finding does to the answer, and what a further look would do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lugwright.belief.evidence import Evidence, ImpossibleEvidence, check_evidence
from lugwright.belief.marks import marginal_link
from lugwright.belief.network import FloatArray, Network
from lugwright.belief.problem import AS_FOUND, Variant, build_problem
from lugwright.belief.solve import MOST_COST, Solution, solve

#: Below this P(seen), "seen by subtraction" would lose too many digits and is solved anew.
LEAST_SUBTRACTED = 1e-3
#: Largest error of a probability "if seen" that comes from weight not visited.
DIGITS_IF_SEEN = 1e-5


@dataclass(frozen=True, eq=False)
class Outcome:
    """What one more look at a sign would do.

    sign:        its column.
    probability: P(seen | findings).
    if_seen, if_absent: (causes,), probability of each cause after that outcome.
    expected_gain_bits: sum over the causes of the expected drop of the binary entropy, in bits. It adds up single
                 causes, so it can exceed what is learnt about all of them together. Never below zero, unless `against`
                 factors of this sign move the prior itself.
    """

    sign: int
    probability: float
    if_seen: FloatArray
    if_absent: FloatArray
    expected_gain_bits: float


def without_each(
    network: Network,
    evidence: Evidence,
    signs: Sequence[int],
    *,
    tolerance: float = 1e-7,
    most_cost: float = MOST_COST,
) -> FloatArray:
    """Probability of each cause with one finding left out at a time, (signs, causes).

    All of them are solved in one batch that shares the plan, and on the conditioned road the units a finding does not
    touch. most_cost: nanoseconds of predicted work allowed, beyond which TooWide is raised. `against`
    factors of the finding are undone with it. Raises ValueError for a sign that is not a finding.

    >>> import numpy as np
    >>> network = Network(causes=("cold",), scopes=(("machine", 0),), axle_of_unit=(0,), signs=("fever",),
    ...     prior=np.array([[0.1]]), link=np.array([[[0.4]]]), leak=np.array([0.02]))
    >>> without_each(network, Evidence(seen=(0,), absent=()), [0]).round(9).tolist()
    [[0.1]]
    """
    check_evidence(network, evidence)
    findings = {*evidence.seen, *evidence.absent}
    for sign in signs:
        if sign not in findings:
            raise ValueError(f"sign {sign} is not among the findings, so it cannot be left out")
    idle = _bears_on_nothing(network)
    base = [Variant()] if any(sign in idle for sign in signs) else []
    tried = [sign for sign in dict.fromkeys(signs) if sign not in idle]
    variants = base + [Variant(left_out=sign) for sign in tried]
    if not variants:
        return np.zeros((0, len(network.causes)))
    solution = solve(network, build_problem(network, evidence, variants), tolerance, most_cost=most_cost)
    marginal = _marginal(solution)
    row = {sign: len(base) + position for position, sign in enumerate(tried)}
    return marginal[[row.get(sign, 0) for sign in signs]]


def outcomes(
    network: Network, evidence: Evidence, signs: Sequence[int], *, tolerance: float = 1e-8
) -> tuple[Outcome, ...]:
    """What seeing, or not seeing, each of some further signs would do. Raises ValueError for a sign already found.

    "Absent" only changes weights, so all of them are one batch; "seen" is the difference to what is now, or is solved
    anew where a difference would lose digits. A sign that the model says cannot be seen at all has probability 0, and
    `if_seen` then repeats what is now.
    """
    check_evidence(network, evidence)
    findings = {*evidence.seen, *evidence.absent}
    for sign in signs:
        if sign in findings:
            raise ValueError(f"sign {sign} is already among the findings")
        if not 0 <= sign < len(network.signs):
            raise ValueError(f"sign {sign} is not in the network, which has signs 0 to {len(network.signs) - 1}")
    if not signs:
        return ()
    variants = [*AS_FOUND, *(Variant(also_absent=sign) for sign in signs)]
    solution = solve(network, build_problem(network, evidence, variants), tolerance)
    marginal = _marginal(solution)
    now = marginal[0]
    against = network.speaking
    idle = _bears_on_nothing(network)
    found = []
    for position, sign in enumerate(signs, start=1):
        if sign in idle:
            found.append(Outcome(sign, float(network.leak[sign]), now, now, 0.0))
            continue
        absent_share = float(np.exp(min(0.0, solution.log_evidence[position] - solution.log_evidence[0])))
        seen = 1 - absent_share
        if_absent = marginal[position]
        if seen < LEAST_SUBTRACTED or float(solution.bound.max()) > DIGITS_IF_SEEN * seen or sign in against:
            seen, if_seen = _seen_anew(network, evidence, sign, seen, solution, tolerance)
        else:
            if_seen = np.clip((now - absent_share * if_absent) / seen, 0.0, 1.0)
        gain = _bits(now) - seen * _bits(if_seen) - (1 - seen) * _bits(if_absent)
        found.append(Outcome(sign, seen, if_seen, if_absent, gain))
    return tuple(found)


def conflict_bits(network: Network, evidence: Evidence, *, log_evidence: float | None = None) -> float:
    """log2 of (product of the probabilities of the single findings / probability of all of them), in bits.

    Negative: the findings support each other. Positive: they pull against each other, as if from two machines. The
    single probabilities are taken under the same prior, `against` factors of the signs seen included.

    log_evidence: natural log of P(evidence) if it is known already; otherwise it is solved for.
    """
    check_evidence(network, evidence)
    if log_evidence is None:
        log_evidence = float(solve(network, build_problem(network, evidence), 1e-9).log_evidence[0])
    prior = network.prior_given(evidence.seen)
    signs = np.array([*evidence.seen, *evidence.absent], dtype=np.intp)
    unshown = 1 - (prior[:, :, None] * marginal_link(network)[:, :, signs]).sum(axis=1)
    log_absent = np.log1p(-network.leak[signs]) + np.log(unshown).sum(axis=0)
    seen = len(evidence.seen)
    single = float(np.log(-np.expm1(log_absent[:seen])).sum() + log_absent[seen:].sum())
    return (single - log_evidence) / float(np.log(2))


def _seen_anew(
    network: Network, evidence: Evidence, sign: int, seen: float, solution: Solution, tolerance: float
) -> tuple[float, FloatArray]:
    """P(seen) and the probabilities if seen, without a difference of near-equal numbers."""
    more = evidence.with_seen(sign)
    if seen < LEAST_SUBTRACTED:
        plain = replace(network, prior=network.prior_given(evidence.seen), against=())
        try:
            check_evidence(plain, more)
        except ImpossibleEvidence:
            return 0.0, _marginal(solution)[0]
        again = solve(plain, build_problem(plain, more), tolerance)
        seen = float(np.exp(again.log_evidence[0] - solution.log_evidence[0]))
    try:
        check_evidence(network, more)
    except ImpossibleEvidence:
        return seen, _marginal(solution)[0]
    return seen, _marginal(solve(network, build_problem(network, more), tolerance))[0]


def _marginal(solution: Solution) -> FloatArray:
    marginal: FloatArray = np.clip(solution.by_stage.sum(axis=2), 0.0, 1.0)
    return marginal


def _bears_on_nothing(network: Network) -> set[int]:
    """Signs that no cause left in the network can show and that speak against none: they change nothing."""
    linked = ((marginal_link(network) > 0) & (network.prior > 0)[:, :, None]).any(axis=(0, 1))
    against = network.speaking
    return {int(sign) for sign in np.flatnonzero(~linked)} - against


def _bits(probability: FloatArray) -> float:
    """Sum of binary entropies, in bits."""
    inside = np.clip(probability, 1e-300, 1 - 1e-16)
    entropy = -inside * np.log2(inside) - (1 - inside) * np.log1p(-inside) / np.log(2)
    return float(entropy.sum())
