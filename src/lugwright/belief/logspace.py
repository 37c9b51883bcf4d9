"""The joint road in logarithms: slower, but it cannot underflow.

For findings that only causes with next to no weight left can explain (hundreds of absent signs speak against them).
"""

from __future__ import annotations

import numpy as np

from lugwright.belief.elimination import Plan, Step
from lugwright.belief.joint import Answer
from lugwright.belief.network import FloatArray
from lugwright.belief.problem import Problem


def solve_in_logs(problem: Problem, plan: Plan) -> Answer:
    """Sum over all causes, exactly, one variant after another."""
    totals, present = [], []
    for row in range(problem.variants):
        total, weight = _one(problem.select(slice(row, row + 1)), plan)
        totals.append(total)
        present.append(weight)
    return Answer(np.array(totals), np.array(present), np.zeros(problem.variants))


def _one(problem: Problem, plan: Plan) -> tuple[float, FloatArray]:
    log_on, log_off = problem.log_on[0], np.log(problem.off[0])
    with np.errstate(divide="ignore"):
        leak = np.log(problem.leak[0])
        moved, stays = np.log(problem.link), np.log1p(-problem.link)
    caught = np.logaddexp(leak, np.log1p(-np.minimum(problem.leak[0], 1 - 1e-16)) + moved)
    state, tape = np.zeros(1), []
    for step in plan.steps:
        shown = [_close(state, step, caught[option]) for option in step.options]
        tape.append(shown)
        absent = _close(state, step, leak) + (log_off[step.cause] if step.cause >= 0 else 0.0)
        total = np.full((1 << len(step.opening), len(absent)), -np.inf)
        total[0] = absent
        for option, part in zip(step.options, shown, strict=True):
            part = part + log_on[option]
            for bit, sign in step.lasting:
                pair = part.reshape(-1, 2, 1 << bit)
                pair[:, 1] = np.logaddexp(pair[:, 1], pair[:, 0] + moved[option, sign])
                pair[:, 0] += stays[option, sign]
            total = np.logaddexp(total, np.add.outer(_spread(stays[option], moved[option], step), part))
        state = total.ravel()
    found = np.full(len(log_on), -np.inf)
    after = np.zeros(1)
    for step, shown in zip(reversed(plan.steps), reversed(tape), strict=True):
        halves = after.reshape(1 << len(step.opening), -1)
        before = _reopen(halves[0], step, leak) + (log_off[step.cause] if step.cause >= 0 else 0.0)
        for option, stored in zip(step.options, shown, strict=True):
            part = np.logaddexp.reduce(_spread(stays[option], moved[option], step)[:, None] + halves, axis=0)
            for bit, sign in step.lasting:
                pair = part.reshape(-1, 2, 1 << bit)
                pair[:, 0] = np.logaddexp(pair[:, 0] + stays[option, sign], pair[:, 1] + moved[option, sign])
            part = part + log_on[option]
            found[option] = np.logaddexp.reduce(stored + part)
            before = np.logaddexp(before, _reopen(part, step, caught[option]))
        after = before
    return float(state[0]), np.exp(found - state[0])


def _close(state: FloatArray, step: Step, caught: FloatArray) -> FloatArray:
    for bit, sign in step.closing:
        pair = state.reshape(-1, 2, 1 << bit)
        state = np.logaddexp(pair[:, 0] + caught[sign], pair[:, 1]).ravel()
    return state


def _reopen(state: FloatArray, step: Step, caught: FloatArray) -> FloatArray:
    for bit, sign in reversed(step.closing):
        half = state.reshape(-1, 1 << bit)
        state = np.stack([half + caught[sign], half], axis=1).ravel()
    return state


def _spread(stays: FloatArray, moved: FloatArray, step: Step) -> FloatArray:
    spread = np.zeros(1)
    for sign in step.opening:
        spread = np.add.outer(spread, np.array([stays[sign], moved[sign]])).ravel()
    return spread
