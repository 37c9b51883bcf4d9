"""The slow and obvious way: add up every world. An oracle that shares no code with the package."""

from __future__ import annotations

import itertools
import math
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
    """P(findings) and the posterior of each cause by inclusion and exclusion over the seen signs, in whole numbers.

    One stage per cause. Every factor is multiplied by a common denominator, so nothing is ever rounded.
    """
    causes, count = range(len(prior)), len(seen)
    step = math.lcm(*(link[i][j].denominator for i in causes for j in seen), *(leak[j].denominator for j in seen))
    on = [prior[i] * math.prod(1 - link[i][j] for j in absent) for i in causes]
    scale = [math.lcm(prior[i].denominator, on[i].denominator) for i in causes]
    whole_on = [int(on[i] * scale[i]) for i in causes]
    whole_off = [int((1 - prior[i]) * scale[i]) * step**count for i in causes]
    unshown = [[int((1 - link[i][j]) * step) for j in seen] for i in causes]
    sound = [int((1 - leak[j]) * step) for j in seen]
    total, present = 0, [0 for _ in causes]
    for subset in range(1 << count):
        inside = [at for at in range(count) if subset >> at & 1]
        rest = step ** (count - len(inside))
        hit = [whole_on[i] * rest * math.prod(unshown[i][at] for at in inside) for i in causes]
        factor = [whole_off[i] + hit[i] for i in causes]
        term = (-1) ** len(inside) * rest * math.prod(sound[at] for at in inside) * math.prod(factor)
        total += term
        for i in causes:
            present[i] += term // factor[i] * hit[i]
    denominator = step**count * math.prod(scale[i] * step**count for i in causes)
    constant = math.prod(1 - leak[j] for j in absent)
    return Fraction(total, denominator) * constant, [Fraction(value, total) for value in present]


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
