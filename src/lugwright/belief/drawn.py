"""Many draws of one network through one plan: every weight, leak and link has a value for each draw.

The same pass as in `frontier`, with links that differ from draw to draw; the order of the causes, the signs open at
once and which links exist are the same for all draws, so the plan is made once. Draws are the last axis.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lugwright.belief.elimination import Plan, Step
from lugwright.belief.network import FloatArray, IntArray


@dataclass(frozen=True, eq=False, repr=False)
class Drawn:
    """What is left to sum over, for D draws: n causes, N options, k seen signs.

    cause: (n,) rows; option_cause: (N,) position in `cause`; on: (N, D), off: (n, D), link: (N, k, D), leak: (k, D).
    log_constant: (D,); settled: (causes, D) posterior of causes already taken out.
    """

    cause: IntArray
    option_cause: IntArray
    on: FloatArray
    off: FloatArray
    link: FloatArray
    leak: FloatArray
    log_constant: FloatArray
    settled: FloatArray

    @cached_property
    def linked(self) -> NDArray[np.bool_]:
        """(N, k): whether an option can show a sign in any draw."""
        return np.asarray(self.link.max(axis=2, initial=0.0) > 0)


def reduce_drawn(
    prior: FloatArray, log_on: FloatArray, weight: FloatArray, leak: FloatArray, log_constant: FloatArray
) -> Drawn:
    """Take out what has a closed answer.

    prior: (D, causes, stages); log_on: (D, causes, versions) log weight with absent signs in; weight: (D, causes,
    versions, k) links to the seen signs; leak: (D, k); log_constant: (D,).
    """
    off = 1 - prior.sum(axis=2)
    live = np.isfinite(log_on.max(axis=0))
    weight = weight * live[None, :, :, None]
    linked = weight.max(axis=(0, 2)) > 0
    parents = linked.sum(axis=0)
    constant = log_constant + np.log(leak[:, parents == 0]).sum(axis=1)
    log_off, log_on = np.log(off), log_on.copy()
    lone = parents == 1
    for column in np.flatnonzero(lone):
        row = int(np.argmax(linked[:, column]))
        sound = leak[:, column]
        log_off[:, row] += np.log(sound)
        log_on[:, row] += np.log1p(-(1 - sound)[:, None] * (1 - weight[:, row, :, column]))
    kept = np.flatnonzero(parents > 1)
    there = live.any(axis=1)
    alone = np.flatnonzero(there & ~linked[:, kept].any(axis=1))
    top = np.maximum(log_on[:, alone].max(axis=2), log_off[:, alone])
    share = np.exp(log_on[:, alone] - top[:, :, None]).sum(axis=2)
    total = share + np.exp(log_off[:, alone] - top)
    settled = np.zeros((prior.shape[1], len(prior)))
    settled[alone] = (share / total).T
    constant = constant + (np.log(total) + top).sum(axis=1)
    rest = np.flatnonzero(there & linked[:, kept].any(axis=1))
    # the largest weight of each cause is taken out, so that a pass cannot underflow for draws that speak against it
    scale = np.maximum(log_on[:, rest].max(axis=2), log_off[:, rest]) if len(rest) else np.zeros((len(prior), 0))
    position, version = np.nonzero(live[rest])
    return Drawn(
        cause=rest,
        option_cause=position,
        on=np.exp(log_on[:, rest[position], version] - scale[:, position]).T,
        off=np.exp(log_off[:, rest] - scale).T,
        link=np.ascontiguousarray(weight[:, rest[position], version][:, :, kept].transpose(1, 2, 0)),
        leak=np.ascontiguousarray(leak[:, kept].T),
        log_constant=constant + scale.sum(axis=1),
        settled=settled,
    )


def solve_drawn(problem: Drawn, plan: Plan) -> tuple[FloatArray, FloatArray]:
    """Posterior of every cause (causes, D), and the log weight of the findings (D,)."""
    found = problem.settled.copy()
    tape: list[list[FloatArray]] = []
    total = _forward(plan, problem, tape)
    present = _backward(plan, problem, tape)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(total > 0, present / total, 0.0)
        np.add.at(found, problem.cause[problem.option_cause], share)
        return found, np.log(total) + problem.log_constant


def _forward(plan: Plan, problem: Drawn, tape: list[list[FloatArray]]) -> FloatArray:
    leak, draws = problem.leak, problem.leak.shape[1]
    state = np.ones((1, draws))
    for step in plan.steps:
        absent = _close(state, step, [leak[sign] for _, sign in step.closing])
        if step.cause >= 0:
            absent = absent * problem.off[step.cause]
        shown = []
        total: FloatArray | None = None
        for option in step.options:
            weight = problem.link[option]
            caught = [1 - (1 - leak[sign]) * (1 - weight[sign]) for _, sign in step.closing]
            part = _close(state, step, caught)
            shown.append(part)
            part = part * problem.on[option]
            for bit, sign in step.lasting:
                if problem.linked[option, sign]:
                    _show(part, bit, weight[sign])
            if step.opening:
                part = _spread(weight, step.opening)[:, None] * part
            if total is None:
                total = part
            else:
                total += part
        tape.append(shown)
        if step.opening:
            if total is None:
                total = np.zeros((1 << len(step.opening), *absent.shape))
            total[0] += absent
            state = total.reshape(-1, draws)
        else:
            state = absent if total is None else total + absent
    last: FloatArray = state[0]
    return last


def _backward(plan: Plan, problem: Drawn, tape: list[list[FloatArray]]) -> FloatArray:
    leak, draws = problem.leak, problem.leak.shape[1]
    found = np.zeros((len(problem.on), draws))
    after: FloatArray = np.ones((1, draws))
    for step, shown in zip(reversed(plan.steps), reversed(tape), strict=True):
        if step.opening:
            after = after.reshape(1 << len(step.opening), -1, draws)
        before = _reopen(after[0] if step.opening else after, step, [leak[sign] for _, sign in step.closing])
        if step.cause >= 0:
            before = before * problem.off[step.cause]
        for option, stored in zip(step.options, shown, strict=True):
            weight = problem.link[option]
            if step.opening:
                part = np.einsum("ad,asd->sd", _spread(weight, step.opening), after)
            else:
                part = after.copy() if step.lasting else after
            for bit, sign in step.lasting:
                if problem.linked[option, sign]:
                    _show_back(part, bit, weight[sign])
            part = part * problem.on[option]
            found[option] = np.einsum("sd,sd->d", stored, part)
            caught = [1 - (1 - leak[sign]) * (1 - weight[sign]) for _, sign in step.closing]
            before += _reopen(part, step, caught)
        after = before
    return found


def _show(state: FloatArray, bit: int, share: FloatArray) -> None:
    pair = state.reshape(-1, 2, 1 << bit, state.shape[1])
    pair[:, 1] += share * pair[:, 0]
    pair[:, 0] *= 1 - share


def _show_back(state: FloatArray, bit: int, share: FloatArray) -> None:
    pair = state.reshape(-1, 2, 1 << bit, state.shape[1])
    pair[:, 0] *= 1 - share
    pair[:, 0] += share * pair[:, 1]


def _close(state: FloatArray, step: Step, caught: list[FloatArray]) -> FloatArray:
    draws = state.shape[1]
    for (bit, _), share in zip(step.closing, caught, strict=True):
        pair = state.reshape(-1, 2, 1 << bit, draws)
        state = (pair[:, 0] * share + pair[:, 1]).reshape(-1, draws)
    return state


def _reopen(state: FloatArray, step: Step, caught: list[FloatArray]) -> FloatArray:
    draws = state.shape[1]
    for (bit, _), share in zip(reversed(step.closing), reversed(caught), strict=True):
        half = state.reshape(-1, 1 << bit, draws)
        pair = np.empty((half.shape[0], 2, half.shape[1], draws))
        np.multiply(half, share, out=pair[:, 0])
        pair[:, 1] = half
        state = pair.reshape(-1, draws)
    return state


def _spread(weight: FloatArray, signs: tuple[int, ...]) -> FloatArray:
    """(2 ** signs, D): weight of each subset of newly opened signs being shown, first sign highest."""
    spread = np.ones((1, weight.shape[1]))
    for sign in signs:
        spread = np.stack([spread * (1 - weight[sign]), spread * weight[sign]], axis=1).reshape(-1, weight.shape[1])
    return spread
