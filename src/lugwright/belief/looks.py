"""What several further looks together would tell: every outcome with its probability, and the expected gain in bits.

The gain is the expected drop of the binary entropies of the causes. Signs that tell the same thing do not count twice,
because their outcomes are weighed together: with S the signs of a look,

    gain = sum over causes c of H(c) - sum over outcomes o of P(o) H(c | o) = sum over causes c of I(c; S)

Adding up single causes is not the information about all of them jointly; with several causes it can be more or less.
Outcomes come from "also absent" variants by inclusion and exclusion, so all looks share one batch.

A look at many places at once, as when a whole machine is watched, has too many outcomes for that. Of its n signs only
n + 2 are told apart: none, each of them alone, and more than one. What is left when the others are taken away is the
last of these, so n + 1 variants do, and the gain is at most that of the full outcome. Signs that speak against a cause
have no place in such a look, since what is left when the others are taken away would not hold for them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain, combinations

import numpy as np

from lugwright.belief.evidence import Evidence, check_evidence
from lugwright.belief.marks import marginal_link
from lugwright.belief.network import FloatArray, IntArray, Network
from lugwright.belief.problem import Variant, build_problem
from lugwright.belief.solve import solve

#: Signs that one look may join; its outcomes double with each.
MOST_JOINED = 8
#: Signs that a look over many places may join; its outcomes are two more.
MOST_SPREAD = 16
#: An outcome rarer than this is taken as never happening: its probabilities would be differences of nothing.
NEVER = 1e-9


@dataclass(frozen=True, eq=False)
class Look:
    """What looking at some signs at once would do.

    signs:       the columns looked at.
    outcomes:    the signs seen in each outcome; `SEVERAL` for "more than one of them, whichever".
    probability: (outcomes,), P(outcome | findings); adds up to 1.
    marginal:    (outcomes, causes), probability of each cause after that outcome; as now where it never happens.
    gain_bits:   expected drop of uncertainty over the causes that count.
    """

    signs: tuple[int, ...]
    outcomes: tuple[tuple[int, ...], ...]
    probability: FloatArray
    marginal: FloatArray
    gain_bits: float


#: An outcome that stands for more than one sign of a look, whichever.
SEVERAL = (-1,)


def joint_looks(
    network: Network,
    evidence: Evidence,
    groups: Sequence[tuple[int, ...]],
    *,
    spread: Sequence[tuple[int, ...]] = (),
    rows: IntArray | None = None,
    tolerance: float = 1e-8,
) -> tuple[Look, ...]:
    """Every outcome of looking at each group of signs, and what each group is expected to tell.

    groups: each up to 8 signs without a known state; every outcome is told apart. spread: each up to 16 such signs, of
    which none, one alone and several are told apart; their looks come after those of the groups. No sign of these may
    speak against a cause.
    rows: the causes whose uncertainty counts; all without it.
    Raises  ValueError for a sign that is known already, twice in a group, or not to be spread, and what `posterior`
            raises.

    >>> network = Network(causes=("cold",), scopes=(("machine", 0),), axle_of_unit=(0,), signs=("fever", "cough"),
    ...     prior=np.array([[0.5]]), link=np.array([[[0.5, 0.0]]]), leak=np.array([0.0, 0.3]))
    >>> fever, both = joint_looks(network, Evidence((), ()), [(0,), (0, 1)])
    >>> [round(float(one), 4) for one in fever.probability], round(fever.gain_bits, 6)
    ([0.75, 0.25], 0.311278)
    >>> abs(both.gain_bits - fever.gain_bits) < 1e-12  # the cough tells nothing about a cold
    True
    >>> (apart,) = joint_looks(network, Evidence((), ()), [], spread=[(0, 1)])
    >>> apart.outcomes, round(apart.gain_bits, 6)
    (((), (0,), (1,), (-1,)), 0.311278)
    """
    check_evidence(network, evidence)
    known = {*evidence.seen, *evidence.absent}
    for group, most in [*((one, MOST_JOINED) for one in groups), *((one, MOST_SPREAD) for one in spread)]:
        if len(group) > most or len(set(group)) < len(group) or known & set(group):
            raise ValueError(f"a look joins up to {most} further signs, each once, none known yet; not {group}")
    against = network.speaking
    if speaking := against & {sign for group in spread for sign in group}:
        raise ValueError(f"signs that speak against a cause cannot be spread: {sorted(speaking)}")
    table = _absences(network, evidence, groups, spread, against, tolerance)
    counted = slice(None) if rows is None else rows
    outcomes = [_each(group) for group in groups] + [((), *((sign,) for sign in group), SEVERAL) for group in spread]
    return tuple(
        _look(group, told, table, against, counted) for group, told in zip((*groups, *spread), outcomes, strict=True)
    )


def _each(group: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
    """Every outcome of a group: in number o the sign i is seen where bit i of o is set."""
    return tuple(
        tuple(sign for bit, sign in enumerate(group) if outcome >> bit & 1) for outcome in range(1 << len(group))
    )


def _look(
    group: tuple[int, ...],
    outcomes: tuple[tuple[int, ...], ...],
    table: Weighed,
    against: frozenset[int],
    counted: slice | IntArray,
) -> Look:
    """Probability of each outcome and of each cause after it, and by how much the uncertainty is expected to drop."""
    now = table[frozenset(), frozenset()][1]
    share, marginal = np.zeros(len(outcomes)), np.tile(now, (len(outcomes), 1))
    told, told_weighed = 0.0, np.zeros_like(now)
    for at, outcome in enumerate(outcomes):
        seen = frozenset(outcome)
        weight, weighed = (
            (1 - told, now - told_weighed)
            if outcome == SEVERAL
            else _outcome(table, frozenset(group) - seen, seen, frozenset())
        )
        told, told_weighed = told + weight, told_weighed + weighed
        share[at] = max(0.0, weight)
        if seen & against:
            weight, weighed = _outcome(table, frozenset(group) - seen, seen, seen & against)
        if share[at] > NEVER and weight > NEVER:
            marginal[at] = np.clip(weighed / weight, 0.0, 1.0)
    share /= share.sum()
    left = float(sum(p * bits(after[counted]) for p, after in zip(share, marginal, strict=True)))
    return Look(tuple(group), outcomes, share, marginal, bits(now[counted]) - left)


def bits(probability: FloatArray) -> float:
    """Sum of binary entropies, in bits.

    >>> bits(np.array([0.5, 0.5, 1.0]))
    2.0
    """
    inside = probability[(probability > 0) & (probability < 1)]
    entropy = -inside * np.log2(inside) - (1 - inside) * np.log1p(-inside) / np.log(2)
    return float(entropy.sum())


def screen(network: Network, marginal_by_stage: FloatArray) -> FloatArray:
    """A quick guess at what each sign would tell, in bits: as if the causes were independent of one another now.

    marginal_by_stage: (causes, stages), probabilities now. Gives (signs,). Only for choosing what to work out exactly.
    """
    stage = np.clip(marginal_by_stage, 0.0, 1.0)
    present = stage.sum(axis=1)
    link = marginal_link(network)
    shown = np.einsum("cs,csn->cn", stage, link)
    log_none = np.log1p(-np.clip(shown, 0.0, 1 - 1e-12))
    none = np.log1p(-network.leak) + log_none.sum(axis=0)
    others = np.exp(none[None] - log_none)
    if_there = 1 - (1 - shown / np.maximum(present, 1e-300)[:, None]) * others
    seen = 1 - np.exp(none)
    p = present[:, None]
    gain = _entropy(seen)[None] - p * _entropy(if_there) - (1 - p) * _entropy(1 - others)
    total: FloatArray = np.maximum(gain, 0.0).sum(axis=0)
    return total


def _entropy(probability: FloatArray) -> FloatArray:
    inside = np.clip(probability, 1e-300, 1 - 1e-16)
    entropy: FloatArray = -inside * np.log2(inside) - (1 - inside) * np.log1p(-inside) / np.log(2)
    return entropy


#: (signs absent, signs whose `against` factors count) -> P(those absent | findings), and that times each cause then.
Weighed = dict[tuple[frozenset[int], frozenset[int]], tuple[float, FloatArray]]


def _absences(
    network: Network,
    evidence: Evidence,
    groups: Sequence[tuple[int, ...]],
    spread: Sequence[tuple[int, ...]],
    against: frozenset[int],
    tolerance: float,
) -> Weighed:
    """Every subset of every group absent, in one batch; once more for each way in which signs speak against causes.

    Of a group that is spread over many places, all of it absent, and all but one.
    """
    keys: dict[tuple[frozenset[int], frozenset[int]], None] = {(frozenset(), frozenset()): None}
    for group in groups:
        for speaking in _subsets(tuple(sign for sign in group if sign in against)):
            keys.update({(frozenset(absent), frozenset(speaking)): None for absent in _subsets(group)})
    for group in spread:
        for sign in group:
            keys.update({(frozenset(absent), frozenset()): None for absent in (group, {*group} - {sign})})
    variants = [
        Variant(also_absent=tuple(sorted(absent)) or None, speaking=tuple(sorted(speaking)))
        for absent, speaking in keys
    ]
    solution = solve(network, build_problem(network, evidence, variants), tolerance)
    marginal = np.clip(solution.by_stage.sum(axis=2), 0.0, 1.0)
    share = np.exp(solution.log_evidence - solution.log_evidence[0])
    return {key: (float(share[at]), share[at] * marginal[at]) for at, key in enumerate(keys)}


def _outcome(
    table: Weighed, absent: frozenset[int], seen: frozenset[int], speaking: frozenset[int]
) -> tuple[float, FloatArray]:
    """Weight of "these absent and those seen", and that times each cause's probability then."""
    total, weighed = 0.0, np.zeros_like(table[frozenset(), frozenset()][1])
    for part in _subsets(tuple(sorted(seen))):
        share, causes = table[absent | frozenset(part), speaking]
        sign = -1.0 if len(part) % 2 else 1.0
        total += sign * share
        weighed += sign * causes
    return total, weighed


def _subsets(group: tuple[int, ...]) -> chain[tuple[int, ...]]:
    return chain.from_iterable(combinations(group, size) for size in range(len(group) + 1))
