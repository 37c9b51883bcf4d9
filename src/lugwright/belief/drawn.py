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
    row: IntArray, prior: FloatArray, log_on: FloatArray, weight: FloatArray, leak: FloatArray, log_constant: FloatArray
) -> Drawn:
    """Take out what has a closed answer.

    row: (P,) cause of each option, ascending; prior: (D, causes, stages); log_on: (D, P) log weight with absent signs
    in; weight: (D, P, k) links to the seen signs; leak: (D, k); log_constant: (D,).
    """
    live = np.isfinite(log_on.max(axis=0)) if len(row) else np.zeros(0, dtype=bool)
    row, log_on, weight = row[live], log_on[:, live], weight[:, live]
    causes, starts, position = np.unique(row, return_index=True, return_inverse=True)
    ends = np.append(starts[1:], len(row))
    shows = np.asarray(weight.max(axis=0, initial=0.0) > 0)
    linked = np.array([shows[a:b].any(axis=0) for a, b in zip(starts, ends, strict=True)]).reshape(len(causes), -1)
    parents = linked.sum(axis=0) if len(causes) else np.zeros(leak.shape[1], dtype=np.intp)
    constant = log_constant + np.log(leak[:, parents == 0]).sum(axis=1)
    log_off = np.log(1 - prior[:, causes].sum(axis=2))
    for column in np.flatnonzero(parents == 1):
        at = int(np.argmax(linked[:, column]))
        own, sound = slice(starts[at], ends[at]), leak[:, column]
        log_off[:, at] += np.log(sound)
        log_on[:, own] += np.log1p(-(1 - sound)[:, None] * (1 - weight[:, own, column]))
    kept = np.flatnonzero(parents > 1)
    open_: NDArray[np.bool_] = np.asarray(linked[:, kept].any(axis=1))
    # the largest weight of each cause is taken out, so that a pass cannot underflow for draws that speak against it
    top = np.maximum(_by_cause(np.maximum, log_on, starts), log_off)
    on, off = np.exp(log_on - top[:, position]), np.exp(log_off - top)
    share = _by_cause(np.add, on, starts)
    total = share + off
    settled = np.zeros((prior.shape[1], len(prior)))
    settled[causes[~open_]] = (share / total)[:, ~open_].T
    constant = constant + np.where(open_, top, np.log(total) + top).sum(axis=1)
    options = np.flatnonzero(open_[position])
    return Drawn(
        cause=causes[open_],
        option_cause=(np.cumsum(open_) - 1)[position[options]],
        on=np.ascontiguousarray(on[:, options].T),
        off=np.ascontiguousarray(off[:, open_].T),
        link=np.ascontiguousarray(weight[:, options][:, :, kept].transpose(1, 2, 0)),
        leak=np.ascontiguousarray(leak[:, kept].T),
        log_constant=constant,
        settled=settled,
    )


def _by_cause(reduce: np.ufunc, options: FloatArray, starts: IntArray) -> FloatArray:
    """(D, causes): the options of each cause taken together."""
    if not len(starts):
        return options
    found: FloatArray = reduce.reduceat(options, starts, axis=1)
    return found


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
