"""One pass over the causes, forwards for the probability and backwards for every cause at once.

The state f[F] is the weight of "exactly the open signs in F have been shown so far". A cause with the options o turns
it into off * f + sum of on_o * T_o f, where T_o moves, sign by sign, the share w from "not shown" to "shown". A sign
that closes keeps its shown half, plus the leak's share of the other. Nothing is ever subtracted, so nothing cancels: a
plain alternating sum over the seen signs loses all its digits on surprising findings.

Arrays are (2 ** open signs, V): the highest bit is the sign opened last, the last axis the variants of a batch.
"""

from __future__ import annotations

import numpy as np

from lugwright.belief.elimination import Plan, Step
from lugwright.belief.network import FloatArray, IntArray

Tape = list[list[FloatArray]]

#: Numbers (8 bytes each) the state of a batch may hold, to stay in the processor cache, and those a pass may keep.
CACHED = 1 << 18
STORED = 24_000_000


def at_once(plan: Plan, count: int) -> int:
    """How many of some variants are best taken through a plan together."""
    return int(max(1, min(count, STORED // max(plan.stored, 1), CACHED >> plan.width)))


def forward(
    plan: Plan, on: FloatArray, off: FloatArray, link: FloatArray, leak: FloatArray, tape: Tape | None = None
) -> FloatArray:
    """Run the pass. on (N, V), off (n, V), link (N, k), leak (k, V) -> (2 ** kept, V), bits as in plan.kept.

    tape: filled with what `backward` needs.
    """
    variants = on.shape[1] if len(on) else leak.shape[1]
    state = np.ones((1, variants))
    for step in plan.steps:
        absent = _close(state, step, [leak[sign] for _, sign in step.closing])
        if step.cause >= 0:
            absent = absent * off[step.cause]
        shown = []
        total: FloatArray | None = None
        for option in step.options:
            weight = link[option]
            caught = [1 - (1 - leak[sign]) * (1 - weight[sign]) for _, sign in step.closing]
            part = _close(state, step, caught)
            shown.append(part)
            part = part * on[option]
            for bit, sign in step.lasting:
                if weight[sign] > 0:
                    _show(part, bit, weight[sign])
            if step.opening:
                part = np.multiply.outer(_spread(weight, step.opening), part)
            if total is None:
                total = part
            else:
                total += part
        if tape is not None:
            tape.append(shown)
        if step.opening:
            if total is None:
                total = np.zeros((1 << len(step.opening), *absent.shape))
            total[0] += absent
            state = total.reshape(-1, variants)
        else:
            state = absent if total is None else total + absent
    return state


def backward(
    plan: Plan,
    on: FloatArray,
    off: FloatArray,
    link: FloatArray,
    leak: FloatArray,
    tape: Tape,
    weights: FloatArray,
    batch: IntArray | None = None,
) -> FloatArray:
    """Weight of each option being present, (N, W), when the kept signs end with the given weights (2 ** kept, W).

    on, off, leak and the tape have W columns too, unless `batch` (W,) says which of their columns each weight uses.
    """
    pick: IntArray | slice = slice(None) if batch is None else batch
    found = np.zeros((len(on), weights.shape[1]))
    on, off, leak = on[:, pick], off[:, pick], leak[:, pick]
    after = weights
    for step, shown in zip(reversed(plan.steps), reversed(tape), strict=True):
        if step.opening:
            after = after.reshape(1 << len(step.opening), -1, after.shape[1])
        without = after[0] if step.opening else after
        before = _reopen(without, step, [leak[sign] for _, sign in step.closing])
        if step.cause >= 0:
            before = before * off[step.cause]
        for option, stored in zip(step.options, shown, strict=True):
            weight = link[option]
            if step.opening:
                part = np.tensordot(_spread(weight, step.opening), after, 1)
            else:
                part = after.copy() if step.lasting else after
            for bit, sign in step.lasting:
                if weight[sign] > 0:
                    _show_back(part, bit, weight[sign])
            part = part * on[option]
            found[option] = np.einsum("sv,sv->v", stored[:, pick], part)
            caught = [1 - (1 - leak[sign]) * (1 - weight[sign]) for _, sign in step.closing]
            before += _reopen(part, step, caught)
        after = before
    return found


def _show(state: FloatArray, bit: int, share: float) -> None:
    """In place: a cause that shows the sign with this share moves it from "not shown" to "shown"."""
    pair = state.reshape(-1, 2, state.shape[1] << bit)
    pair[:, 1] += share * pair[:, 0]
    pair[:, 0] *= 1 - share


def _show_back(state: FloatArray, bit: int, share: float) -> None:
    """In place: the transpose of `_show`."""
    pair = state.reshape(-1, 2, state.shape[1] << bit)
    pair[:, 0] *= 1 - share
    pair[:, 0] += share * pair[:, 1]


def _close(state: FloatArray, step: Step, caught: list[FloatArray]) -> FloatArray:
    """Close signs: the shown half, and of the other half the share (V,) that is caught after all."""
    variants = state.shape[1]
    for (bit, _), share in zip(step.closing, caught, strict=True):
        pair = state.reshape(-1, 2, 1 << bit, variants)
        state = (pair[:, 0] * share + pair[:, 1]).reshape(-1, variants)
    return state


def _reopen(state: FloatArray, step: Step, caught: list[FloatArray]) -> FloatArray:
    """The transpose of `_close`."""
    variants = state.shape[1]
    for (bit, _), share in zip(reversed(step.closing), reversed(caught), strict=True):
        half = state.reshape(-1, 1 << bit, variants)
        pair = np.empty((half.shape[0], 2, half.shape[1], variants))
        np.multiply(half, share, out=pair[:, 0])
        pair[:, 1] = half
        state = pair.reshape(-1, variants)
    return state


def _spread(weight: FloatArray, signs: tuple[int, ...]) -> FloatArray:
    """Weight of each subset of newly opened signs being shown by one option, first sign highest."""
    spread = np.ones(1)
    for sign in signs:
        spread = np.multiply.outer(spread, np.array([1 - weight[sign], weight[sign]])).ravel()
    return spread
