"""The joint road: one pass over all causes at once. Its cost doubles with each seen sign that hangs with the others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lugwright.belief.elimination import Plan
from lugwright.belief.frontier import Tape, at_once, backward, forward
from lugwright.belief.network import FloatArray
from lugwright.belief.problem import Problem


@dataclass(frozen=True, eq=False, repr=False)
class Answer:
    """log_total (V,): log weight of the findings without the problem's constant; present (V, N): posterior of options.

    bound (V,): weight of what was not visited, relative to what was.
    """

    log_total: FloatArray
    present: FloatArray
    bound: FloatArray


def solve_jointly(problem: Problem, plan: Plan) -> Answer:
    """Sum over all causes, exactly. Variants are taken as many at a time as memory allows.

    A total of zero is returned as -inf with posteriors of zero: the caller then adds in logarithms.
    """
    size = at_once(plan, problem.variants)
    totals, present = [], []
    for start in range(0, problem.variants, size):
        part = problem.select(slice(start, start + size))
        total, weight = _one_batch(part, plan)
        with np.errstate(divide="ignore", invalid="ignore"):
            totals.append(np.log(total))
            present.append(np.where(total > 0, weight / total, 0.0).T)
    return Answer(np.concatenate(totals), np.concatenate(present), np.zeros(problem.variants))


def _one_batch(problem: Problem, plan: Plan) -> tuple[FloatArray, FloatArray]:
    on, off = np.ascontiguousarray(problem.on.T), np.ascontiguousarray(problem.off.T)
    leak = np.ascontiguousarray(problem.leak.T)
    tape: Tape = []
    total = forward(plan, on, off, problem.link, leak, tape)
    return total[0], backward(plan, on, off, problem.link, leak, tape, np.ones_like(total))
