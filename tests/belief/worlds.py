"""The slow and obvious way: add up every world. An oracle that shares no code with the package."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from lugwright.belief.network import Network


@dataclass(frozen=True, eq=False)
class Worlds:
    """P(findings), P(cause at stage | findings), P(no cause | findings)."""

    probability: float
    by_stage: np.ndarray
    no_fault: float

    @property
    def marginal(self) -> np.ndarray:
        return np.asarray(self.by_stage.sum(axis=1))


def priors(network: Network, seen: Sequence[int]) -> np.ndarray:
    """Prior odds times the `against` factors of the signs seen, written out cause by cause."""
    prior = np.array(network.prior)
    for row in range(len(prior)):
        factor = np.prod([value for cause, sign, value in network.against if cause == row and sign in seen])
        odds = network.prior[row] / (1 - network.prior[row].sum()) * factor
        prior[row] = odds / (1 + odds.sum())
    return prior


def all_worlds(network: Network, seen: Sequence[int], absent: Sequence[int], prior: np.ndarray | None = None) -> Worlds:
    """Sum over every combination of stages of every cause."""
    causes, stages = network.prior.shape
    prior = priors(network, seen) if prior is None else prior
    total, by_stage, none = 0.0, np.zeros((causes, stages)), 0.0
    for world in itertools.product(range(stages + 1), repeat=causes):
        weight, unshown = 1.0, 1 - network.leak
        for cause, state in enumerate(world):
            weight *= 1 - prior[cause].sum() if state == 0 else prior[cause, state - 1]
            if state:
                unshown = unshown * (1 - network.link[cause, state - 1])
        weight *= float(np.prod(1 - unshown[list(seen)]) * np.prod(unshown[list(absent)]))
        total += weight
        none += weight * (not any(world))
        for cause, state in enumerate(world):
            if state:
                by_stage[cause, state - 1] += weight
    if total == 0:
        return Worlds(0.0, by_stage, 0.0)
    return Worlds(total, by_stage / total, none / total)


def exact_sum(
    prior: Sequence[Fraction],
    link: Sequence[Sequence[Fraction]],
    leak: Sequence[Fraction],
    seen: Sequence[int],
    absent: Sequence[int],
) -> tuple[Fraction, list[Fraction]]:
    """P(findings) and P(findings, cause) by inclusion and exclusion over the seen signs, in exact fractions.

    One stage per cause. All numbers are brought to one denominator per factor, so the sum runs over whole numbers.
    """
    causes = range(len(prior))
    on = [prior[i] * _product(1 - link[i][j] for j in absent) for i in causes]
    constant = _product(1 - leak[j] for j in absent)
    scale = [_denominator([1 - prior[i], on[i]]) for i in causes]
    off_whole = [int((1 - prior[i]) * scale[i]) for i in causes]
    on_whole = [int(on[i] * scale[i]) for i in causes]
    per_sign = [_denominator([1 - link[i][j] for i in causes] + [1 - leak[j]]) for j in seen]
    miss = [[int((1 - link[i][j]) * per_sign[at]) for at, j in enumerate(seen)] for i in causes]
    sound = [int((1 - leak[j]) * per_sign[at]) for at, j in enumerate(seen)]
    total, present = Fraction(0), [Fraction(0) for _ in causes]
    sums: dict[tuple[int, ...], None] = {}
    for size in range(len(seen) + 1):
        for subset in itertools.combinations(range(len(seen)), size):
            sums[subset] = None
    whole_total, whole_present = 0, [0 for _ in causes]
    full = [1] * len(prior)
    for i in causes:
        for at in range(len(seen)):
            full[i] *= per_sign[at]
    leak_full = 1
    for at in range(len(seen)):
        leak_full *= per_sign[at]
    for subset in sums:
        sign = -1 if len(subset) % 2 else 1
        outside = [at for at in range(len(seen)) if at not in subset]
        rest = 1
        for at in outside:
            rest *= per_sign[at]
        term = rest
        for at in subset:
            term *= sound[at]
        shares = []
        factors = []
        for i in causes:
            hit = on_whole[i] * rest
            for at in subset:
                hit *= miss[i][at]
            factor = off_whole[i] * full[i] + hit
            term *= factor
            shares.append(hit)
            factors.append(factor)
        whole_total += sign * term
        for i in causes:
            if shares[i]:
                whole_present[i] += sign * (term // factors[i]) * shares[i]
    denominator = leak_full
    for i in causes:
        denominator *= scale[i] * full[i]
    total = Fraction(whole_total, denominator) * constant
    present = [Fraction(value, denominator) * constant for value in whole_present]
    return total, present


def alternating_sum(network: Network, seen: Sequence[int], absent: Sequence[int]) -> np.ndarray:
    """Posterior by the textbook alternating sum over subsets of the seen signs, in floating point. One stage."""
    prior = network.prior[:, 0]
    on = prior * np.prod(1 - network.link[:, 0][:, list(absent)], axis=1)
    total, present = 0.0, np.zeros(len(prior))
    subsets = (np.arange(1 << len(seen))[:, None] >> np.arange(len(seen))) & 1
    for chunk in np.array_split(subsets, max(1, len(subsets) // 4096)):
        hit = on * np.exp(chunk @ np.log1p(-network.link[:, 0][:, list(seen)]).T)
        factor = 1 - prior + hit
        term = (-1.0) ** chunk.sum(axis=1) * factor.prod(axis=1) * np.exp(chunk @ np.log1p(-network.leak[list(seen)]))
        total += term.sum()
        present += (term[:, None] * hit / factor).sum(axis=0)
    return np.asarray(present / total)


def _product(values: object) -> Fraction:
    out = Fraction(1)
    for value in values:  # type: ignore[attr-defined]
        out *= value
    return out


def _denominator(values: Sequence[Fraction]) -> int:
    out = 1
    for value in values:
        out = out * value.denominator // np.gcd(out, value.denominator) if False else _lcm(out, value.denominator)
    return out


def _lcm(a: int, b: int) -> int:
    import math

    return a * b // math.gcd(a, b)
