"""One unit of the conditioned road: its table h[S, B], and the pass back through it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from lugwright.belief.elimination import Plan
from lugwright.belief.frontier import Tape, at_once, backward, forward
from lugwright.belief.network import FloatArray, IntArray
from lugwright.belief.problem import Problem

#: Numbers (8 bytes each) of a pass that are kept for the pass back; longer ones are walked a second time.
MOST_TAPE = 1e7


@dataclass(frozen=True, eq=False, repr=False)
class UnitPart:
    """One unit. D distinct versions of it among the V variants; `pick` (V,) says which variant uses which.

    options: its options in the problem; order: where each open, then each shared sign stands in plan.kept.
    on, off, leak, link: weights as `forward` takes them, versions last.
    left_out: (D, open), open signs that a version leaves out; reach: shared sets the unit can show, as indices.
    table:    (2 ** first half of open, 2 ** second half * D * 2 ** shared), the weights h.
    tapes:    one for each chunk of versions, or empty when they are too long to keep.
    """

    open_signs: tuple[int, ...]
    options: IntArray
    plan: Plan
    order: tuple[int, ...]
    on: FloatArray
    off: FloatArray
    leak: FloatArray
    link: FloatArray
    pick: IntArray
    left_out: FloatArray
    reach: IntArray
    table: FloatArray
    tapes: list[Tape]

    @property
    def versions(self) -> int:
        """Number of distinct versions."""
        return len(self.left_out)

    def halves(self) -> tuple[int, int]:
        """How many open signs fall into each half of the table."""
        first = (len(self.open_signs) + 1) // 2
        return first, len(self.open_signs) - first

    def present(self, slope: FloatArray) -> FloatArray:
        """Weight of each option of the unit being present, (N of unit, V), from the slope (2**open, 2**shared, V)."""
        slope = slope[:, self.reach].copy()
        variants = slope.shape[2]
        for bit, column in enumerate(self.left_out.T):
            rows = np.flatnonzero(column[self.pick] > 0)
            if len(rows):
                pair = slope.reshape(1 << bit, 2, -1, variants)
                pair[:, 0, :, rows] = pair[:, 1, :, rows]
        back = [int(at) for at in np.argsort(self.order)]
        slope = slope.reshape((2,) * len(self.order) + (variants,)).transpose([*back, len(self.order)])
        slope = slope.reshape(-1, variants)
        found = np.zeros((len(self.options), variants))
        for number, chunk in enumerate(_chunks(self.plan, self.versions)):
            on, off, leak = self.on[:, chunk], self.off[:, chunk], self.leak[:, chunk]
            tape: Tape = self.tapes[number] if self.tapes else []
            if not tape:
                forward(self.plan, on, off, self.link, leak, tape)
            using = np.flatnonzero((self.pick >= chunk.start) & (self.pick < chunk.stop))
            for part in _chunks(self.plan, len(using)):
                mine = using[part]
                weights = np.ascontiguousarray(slope[:, mine])
                version = self.pick[mine] - chunk.start
                found[:, mine] = backward(self.plan, on, off, self.link, leak, tape, weights, version)
        return found


def unit_versions(
    problem: Problem, options: IntArray, open_signs: Sequence[int], local: Sequence[int]
) -> tuple[IntArray, IntArray]:
    """First variant of each distinct version of a unit, and which version each variant uses."""
    off = problem.off[:, np.unique(problem.option_cause[options])]
    left_out = problem.leak[:, open_signs] == 1
    return distinct(np.hstack([problem.on[:, options], off, problem.leak[:, local], left_out]))


def unit_part(
    problem: Problem,
    options: IntArray,
    plan: Plan,
    open_signs: Sequence[int],
    local: Sequence[int],
    shared: Sequence[int],
) -> UnitPart:
    """Walk over a unit's causes once for each distinct version of it."""
    causes = np.unique(problem.option_cause[options])
    on, off = problem.on[:, options], problem.off[:, causes]
    left_out = (problem.leak[:, open_signs] == 1).astype(float)
    versions, pick = unit_versions(problem, options, open_signs, local)
    count = len(versions)
    on, off, left_out = np.ascontiguousarray(on[versions].T), np.ascontiguousarray(off[versions].T), left_out[versions]
    leak, link = np.ascontiguousarray(problem.leak[versions].T), problem.link[options]
    keep_tapes = plan.stored * count <= MOST_TAPE
    flat, tapes = [], []
    for chunk in _chunks(plan, count):
        tape: Tape = []
        flat.append(forward(plan, on[:, chunk], off[:, chunk], link, leak[:, chunk], tape if keep_tapes else None))
        tapes.append(tape)
    own = [sign for sign in shared if sign in plan.kept]
    order = tuple(plan.kept.index(sign) for sign in [*open_signs, *own])
    spread = np.concatenate(flat, axis=1).reshape((2,) * len(order) + (count,)).transpose([*order, len(order)])
    weights = spread.reshape(1 << len(open_signs), 1 << len(own), count).copy()
    for bit, column in enumerate(left_out.T):
        rows = np.flatnonzero(column)
        if len(rows):  # a sign left out counts as shown whatever happens
            pair = weights.reshape(1 << bit, 2, -1, count)
            pair[:, 1, :, rows] += pair[:, 0, :, rows]
            pair[:, 0, :, rows] = 0.0
    reach = np.zeros(1, dtype=np.intp)
    for sign in own:
        high = 1 << (len(shared) - 1 - shared.index(sign))
        reach = np.stack([reach, reach | high], axis=1).ravel()
    full = np.zeros((1 << len(open_signs), count, 1 << len(shared)))
    full[:, :, reach] = weights.transpose(0, 2, 1)
    return UnitPart(
        open_signs=tuple(open_signs),
        options=options,
        plan=plan,
        order=order,
        on=on,
        off=off,
        leak=leak,
        link=link,
        pick=pick,
        left_out=left_out,
        reach=reach,
        table=full.reshape(1 << ((len(open_signs) + 1) // 2), -1),
        tapes=tapes if keep_tapes else [],
    )


def distinct(rows: FloatArray) -> tuple[IntArray, IntArray]:
    """First occurrence of each distinct row, and for every row which of them it is.

    >>> [found.tolist() for found in distinct(np.array([[1.0, 2.0], [3.0, 4.0], [1.0, 2.0]]))]
    [[0, 1], [0, 1, 0]]
    """
    seen: dict[bytes, int] = {}
    pick = np.array([seen.setdefault(row.tobytes(), len(seen)) for row in np.ascontiguousarray(rows)], dtype=np.intp)
    first = np.array([int(np.argmax(pick == number)) for number in range(len(seen))], dtype=np.intp)
    return first, pick


def _chunks(plan: Plan, count: int) -> Iterator[slice]:
    size = at_once(plan, count)
    return (slice(start, min(start + size, count)) for start in range(0, count, size))
