"""What looking at further signs costs to work out, and which findings to set aside where that would take too long."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lugwright.belief.elimination import CALL, TOUCH, plan_elimination
from lugwright.belief.evidence import Evidence
from lugwright.belief.network import Network
from lugwright.belief.problem import build_problem

#: Predicted nanoseconds of preparing one variant, whatever the findings.
PER_VARIANT = 250_000.0


def affordable(network: Network, evidence: Evidence, work: float) -> int:
    """How many variants of the findings a pass may take for some predicted nanoseconds of work; 0 for none.

    The cost is counted and not timed, so that the same findings get the same number everywhere.
    """
    problem = build_problem(network, evidence)
    plan = plan_elimination(problem.option_cause, problem.link)
    return max(0, int((work - CALL * plan.calls) / (TOUCH * plan.touched + PER_VARIANT)))


def variants_of(network: Network, group: Sequence[int], *, spread: bool = False) -> int:
    """How many variants looking at some signs at once takes."""
    if spread:
        return 1 + len(group)
    against = network.speaking
    return 1 << (len(group) + len(against & set(group)))


def lightened(network: Network, evidence: Evidence, work: float, variants: int = 1) -> Evidence:
    """The findings without those seen signs that say least, until a pass over some variants of
    them costs no more than some predicted work.

    Signs that are common on a sound machine go first. For putting questions in order where an exact answer would take
    too long; never for an answer itself.
    """
    order = sorted(evidence.seen, key=lambda sign: (-network.leak[sign], sign))
    problem = build_problem(network, evidence)

    def without(count: int) -> tuple[int, ...]:
        dropped = set(order[:count])
        return tuple(sign for sign in evidence.seen if sign not in dropped)

    def fits(seen: tuple[int, ...]) -> bool:
        link = problem.link[:, np.isin(problem.sign, seen)]
        causes = np.unique(problem.option_cause[link.any(axis=1)])
        held = np.isin(problem.option_cause, causes)
        return plan_elimination(np.searchsorted(causes, problem.option_cause[held]), link[held]).cost(variants) <= work

    if fits(evidence.seen):
        return evidence
    few, many = 0, len(order)
    while many - few > 1:
        middle = (few + many) // 2
        few, many = (few, middle) if fits(without(middle)) else (middle, many)
    return Evidence(without(many), evidence.absent)
