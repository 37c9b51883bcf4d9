"""Choose a road by its predicted cost, walk it, and put the answer together.

The joint road costs a fixed amount that doubles with each seen sign that hangs with the others. The conditioned road
splits the machine into units, given which causes of the whole machine are there; its cost depends on how many sets of
those causes matter. Both are exact up to a bound that is reported. Costs are counted, not timed: the same findings take
the same road everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lugwright.belief.conditioned import fits, prepare, preparing_cost, sort_out
from lugwright.belief.elimination import Plan, plan_elimination
from lugwright.belief.evidence import TooWide
from lugwright.belief.joint import Answer, solve_jointly
from lugwright.belief.logspace import solve_in_logs
from lugwright.belief.network import FloatArray, Network
from lugwright.belief.problem import Problem
from lugwright.belief.search import solve_conditioned

ROADS = ("joint", "conditioned")

#: Below this log weight a plain pass may have lost numbers to underflow; logarithms take over.
LOG_SAFE = -450.0
#: Numbers one variant may keep for the pass back (1 GB), and nanoseconds of predicted work, before giving up.
MOST_STORED = 1.2e8
MOST_COST = 6.0e9
#: A joint pass predicted to be cheaper than this (in nanoseconds) is walked without looking at the other road.
CHEAP = 2.0e7
#: Share of the predicted cost of the joint road that may be spent on finding out that the other road is longer, and the
#: fewest sets of causes for which the other road is worth preparing.
PATIENCE = 0.4
LEAST_ROWS = 100
#: A larger share of unvisited weight than this is no answer.
WORST_BOUND = 1e-2


@dataclass(frozen=True, eq=False, repr=False)
class Solution:
    """Answers for every variant of a problem.

    by_stage: (V, causes, stages); log_evidence, no_fault, bound: (V,).
    """

    by_stage: FloatArray
    log_evidence: FloatArray
    no_fault: FloatArray
    bound: FloatArray
    road: str
    width: int


def solve(
    network: Network, problem: Problem, tolerance: float, road: str | None = None, most_cost: float = MOST_COST
) -> Solution:
    """Solve all variants of a problem. road: None lets the predicted cost choose; most_cost: nanoseconds of predicted
    work allowed.

    Raises TooWide when neither road can be walked within memory and work allowed.
    """
    if road not in (None, *ROADS):
        raise ValueError(f"road must be one of {', '.join(ROADS)}, or None, not {road!r}")
    if not 0 < tolerance < 1:
        raise ValueError(f"tolerance must be between 0 and 1, not {tolerance}")
    plan = plan_elimination(problem.option_cause, problem.link)
    answer, road = _walk(network, problem, plan, tolerance, road, most_cost)
    by_version = problem.settled.copy()
    by_version[:, problem.cause[problem.option_cause], problem.option_stage] = answer.present
    by_stage = np.stack(
        [(by_version * (problem.version_stage == stage)).sum(axis=2) for stage in range(network.stages)], axis=2
    )
    log_evidence = problem.log_constant + answer.log_total
    log_no_fault = problem.log_no_fault - log_evidence
    return Solution(by_stage, log_evidence, np.exp(log_no_fault), answer.bound, road, plan.width)


def _walk(
    network: Network, problem: Problem, plan: Plan, tolerance: float, road: str | None, most_cost: float = MOST_COST
) -> tuple[Answer, str]:
    affordable = plan.stored <= MOST_STORED and plan.cost(problem.variants) <= most_cost
    if road == "joint" and not affordable:
        raise TooWide(f"{plan.width} seen signs are open at once on the joint road")
    if road == "joint" or (road is None and affordable and plan.cost(problem.variants) <= CHEAP):
        return _jointly(problem, plan), "joint"
    fall_back = affordable and road is None
    limit = PATIENCE * plan.cost(problem.variants) if fall_back else most_cost
    found = sort_out(network, problem)
    room = fits(problem, found)
    left = limit - preparing_cost(problem, found) if room else 0.0
    if left > 0:
        parts = prepare(network, problem, found)
        if LEAST_ROWS * parts.row_cost < left:
            answer = solve_conditioned(parts, tolerance, left, tolerance if fall_back else WORST_BOUND)
            if answer is not None and float(answer.log_total.min()) > LOG_SAFE:
                return answer, "conditioned"
    heavy = not room and problem.variants > 1 and plan.cost(problem.variants) > 50 * CHEAP
    if fall_back and not heavy:
        return _jointly(problem, plan), "joint"
    if problem.variants > 1 and road is None:
        return _in_halves(network, problem, plan, tolerance, most_cost / 2)
    if not room:
        raise TooWide(f"{plan.width} seen signs are open at once, and too many are shared by units or open on one")
    raise TooWide(f"{plan.width} seen signs are open at once, and too many sets of causes matter")


def _in_halves(
    network: Network, problem: Problem, plan: Plan, tolerance: float, most_cost: float
) -> tuple[Answer, str]:
    """Fewer variants at a time need less memory, and fewer sets of causes matter; the work allowed is shared."""
    middle = problem.variants // 2
    first, road = _walk(network, problem.select(slice(0, middle)), plan, tolerance, None, most_cost)
    second, _ = _walk(network, problem.select(slice(middle, None)), plan, tolerance, None, most_cost)
    joined = (
        np.concatenate([getattr(first, name), getattr(second, name)]) for name in ("log_total", "present", "bound")
    )
    return Answer(*joined), road


def _jointly(problem: Problem, plan: Plan) -> Answer:
    answer = solve_jointly(problem, plan)
    weak = answer.log_total < LOG_SAFE
    if not weak.any():
        return answer
    return solve_in_logs(problem, plan)
