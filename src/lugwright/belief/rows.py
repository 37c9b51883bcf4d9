"""The conditioned road, part two: the weight of a set of searched causes, and its slope for the pass back.

A *row* is a set of searched options, at most one stage per cause, as zeros and ones. Its weight is

    W(m) = P(m) * product over machine-only signs of c
                * sum over B of [axles combined by OR](B) * product over shared signs not in B of c
    axle: sum over its combinations t of P(t) * direct signs * [units and axle combined by OR](B)
    unit: L(m, t, B) = sum over S of h[S, B] * product over open signs not in S of c

with c(m, t) = 1 - (1 - leak) * product of (1 - w): the chance that a sign the units did not show is shown after all.
Splitting S into two halves makes L a matrix product. Axes: M rows, T combinations, V variants (or D distinct versions),
shared sets last.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lugwright.belief.conditioned import AxlePart, Conditioned
from lugwright.belief.network import FloatArray, IntArray
from lugwright.belief.unit import UnitPart, distinct


@dataclass(eq=False, repr=False)
class Slopes:
    """Sums over rows: slope of the total by each unit's table, by each axle option, by each searched option."""

    unit: list[FloatArray]
    axle: list[FloatArray]
    searched: FloatArray
    total: FloatArray
    left_out: FloatArray


@dataclass(eq=False, repr=False)
class Weigher:
    """Weighs rows of a problem taken apart; leaks below `floor` are raised to it (for an upper bound)."""

    parts: Conditioned
    floor: float = 0.0

    def __post_init__(self) -> None:
        """Collect what does not depend on the rows."""
        problem = self.parts.problem
        self.leak = np.maximum(problem.leak.min(axis=0), self.floor)
        self.log_sound = np.log1p(-np.minimum(self.leak, 1 - 1e-16))
        self.left_out = problem.leak == 1
        searched = self.parts.searched
        causes = problem.option_cause[searched]
        log_off = np.log(problem.off)
        self.log_odds = (np.maximum(problem.log_on[:, searched], -1e4) - log_off[:, causes]).T
        self.log_none = log_off[:, np.unique(causes)].sum(axis=1)
        self.unshown = self.parts.log_unshown[searched]
        self.sets = 1 << len(self.parts.shared)
        self.axles = [self._axle(axle) for axle in self.parts.axles]

    def _axle(self, axle: AxlePart) -> tuple[IntArray, IntArray, FloatArray]:
        """Distinct variants of an axle: (first variant of each, pick (V,), combined shared sets (T, sets))."""
        direct = self.left_out[:, list(axle.direct)].astype(float)
        picks = np.stack([self.parts.units[unit].pick for unit in axle.units], axis=1)
        rows = (
            np.hstack([picks, axle.log_weight.T, direct]) if len(axle.units) else np.hstack([axle.log_weight.T, direct])
        )
        first, pick = distinct(rows)
        caught = np.ones((len(axle.chosen), 1))
        for sign in self.parts.shared:
            stays = np.exp(axle.chosen @ self.parts.log_unshown[axle.options, sign])[:, None]
            caught = np.stack([caught * stays, caught * (1 - stays)], axis=2).reshape(len(caught), -1)
        return first, pick, caught

    def chance(self, signs: tuple[int, ...], rows: FloatArray, axle: AxlePart | None = None) -> FloatArray:
        """c (M, T, signs): each sign is shown by the leak, the row, or the axle's combination."""
        columns = list(signs)
        log = (rows @ self.unshown[:, columns])[:, None] + self.log_sound[columns]
        if axle is not None:
            log = log + axle.chosen @ self.parts.log_unshown[axle.options][:, columns]
        chance: FloatArray = -np.expm1(log)
        return chance

    def product(self, signs: tuple[int, ...], chance: FloatArray, variants: IntArray) -> FloatArray:
        """Product of c over signs, (..., variants); a sign that a variant leaves out counts as 1."""
        out = np.ones((*chance.shape[:-1], len(variants)))
        for column, sign in enumerate(signs):
            skip = self.left_out[variants, sign]
            out *= np.where(skip, 1.0, chance[..., column, None])
        return out

    def _unit(self, unit: UnitPart, axle: AxlePart, rows: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """L (M, T, D, sets) and the two factors (M * T, 2 ** half) it is made of."""
        chance = self.chance(unit.open_signs, rows, axle)
        shape = (len(rows), len(axle.chosen), unit.versions, self.sets)
        chance = chance.reshape(shape[0] * shape[1], len(unit.open_signs))
        first, second = unit.halves()
        high, low = _unfired(chance[:, :first]), _unfired(chance[:, first:])
        mixed = (high @ unit.table).reshape(len(chance), 1 << second, unit.versions * self.sets)
        shown = np.matmul(low[:, None, :], mixed).reshape(shape)
        return shown, high, low

    def weigh(self, rows: FloatArray) -> FloatArray:
        """W (M, V)."""
        whole: FloatArray | None = None
        everyone = np.arange(self.parts.problem.variants)
        for axle, (first, pick, caught) in zip(self.parts.axles, self.axles, strict=True):
            mixed, *_ = self._mixed(axle, first, rows)
            weight = np.exp(axle.log_weight[:, first]) * self.product(
                axle.direct, self.chance(axle.direct, rows, axle), first
            )
            mixed = _combine(mixed, caught[None, :, None, :])
            part = np.einsum("mtd,mtds->mds", weight, mixed)[:, pick]
            whole = part if whole is None else _combine(whole, part)
        top, _ = self._top(rows, everyone)
        return top[..., 0] if whole is None else (whole * top).sum(axis=2)

    def _mixed(
        self, axle: AxlePart, variants: IntArray, rows: FloatArray
    ) -> tuple[FloatArray, list[FloatArray], list[FloatArray], list[FloatArray]]:
        """The units of an axle combined (M, T, variants, sets), each unit's own L, and its factors."""
        shown, high, low = [], [], []
        mixed = np.zeros((len(rows), len(axle.chosen), len(variants), self.sets))
        mixed[..., 0] = 1.0
        for number, unit in enumerate(axle.units):
            part = self.parts.units[unit]
            own, left, right = self._unit(part, axle, rows)
            own = own[:, :, part.pick[variants]]
            shown.append(own)
            high.append(left)
            low.append(right)
            mixed = own if number == 0 else _combine(mixed, own)
        return mixed, shown, high, low

    def _top(self, rows: FloatArray, everyone: IntArray) -> tuple[FloatArray, FloatArray]:
        """P(m), machine-only signs and shared signs not yet shown: (M, V, sets); and P(m) with machine-only signs."""
        own = np.exp(rows @ self.log_odds + self.log_none)
        only = self.parts.machine_only
        own = own * self.product(only, self.chance(only, rows)[:, 0], everyone)
        shared = self.chance(self.parts.shared, rows)[:, 0]
        top = own[:, :, None]
        for column, sign in enumerate(self.parts.shared):
            chance = np.where(self.left_out[:, sign], 1.0, shared[:, column, None])[:, :, None]
            top = np.stack([top * chance, top], axis=3).reshape(*own.shape, -1)
        return top, own

    def slopes(self, rows: FloatArray, least: FloatArray, into: Slopes) -> None:
        """Add the slopes of some rows; a row with an axle combination that weighs less than `least` (V,) is left out.

        What is left out of the units' slopes is added up in `into.left_out`.
        """
        everyone = np.arange(self.parts.problem.variants)
        top, _ = self._top(rows, everyone)
        parts = []
        for axle, (_, _, caught) in zip(self.parts.axles, self.axles, strict=True):
            mixed, shown, high, low = self._mixed(axle, everyone, rows)
            weight = np.exp(axle.log_weight) * self.product(axle.direct, self.chance(axle.direct, rows, axle), everyone)
            with_axle = _combine(mixed, caught[None, :, None, :])
            parts.append((weight, shown, high, low, with_axle, np.einsum("mtv,mtvs->mvs", weight, with_axle)))
        for number, (axle, (_, _, caught)) in enumerate(zip(self.parts.axles, self.axles, strict=True)):
            weight, shown, high, low, with_axle, own = parts[number]
            slope = top
            for other, part in enumerate(parts):
                if other != number:
                    slope = _combine_back(slope, part[5])
            if number == 0:
                total = (slope * own).sum(axis=2)
                into.total += total.sum(axis=0)
                into.searched += rows.T @ total
            down = weight[..., None] * slope[:, None]
            weighs = (down * with_axle).sum(axis=3)
            into.axle[number] += axle.chosen.T @ weighs.sum(axis=0)
            pairs = weighs.reshape(-1, weighs.shape[2])
            matter = (pairs >= least).any(axis=1)
            into.left_out += pairs[~matter].sum(axis=0)
            down = _combine_back(down, caught[None, :, None, :])
            for place, unit in enumerate(axle.units):
                mine = down
                for other, part_shown in enumerate(shown):
                    if other != place:
                        mine = _combine_back(mine, part_shown)
                flat = mine.reshape(len(pairs), 1, -1)[matter]
                spread = (low[place][matter][:, :, None] * flat).reshape(len(flat), -1)
                into.unit[unit] += high[place][matter].T @ spread

    def empty_slopes(self) -> Slopes:
        """Slopes of no rows."""
        variants = self.parts.problem.variants
        units = [
            np.zeros((1 << unit.halves()[0], (1 << unit.halves()[1]) * variants * self.sets))
            for unit in self.parts.units
        ]
        axles = [np.zeros((len(axle.options), variants)) for axle in self.parts.axles]
        return Slopes(
            units, axles, np.zeros((len(self.parts.searched), variants)), np.zeros(variants), np.zeros(variants)
        )


def _unfired(chance: FloatArray) -> FloatArray:
    """(R, k) -> (R, 2 ** k): product of c over the signs not in each set, first sign highest."""
    out = np.ones((len(chance), 1))
    for column in chance.T:
        out = np.stack([out * column[:, None], out], axis=2).reshape(len(chance), -1)
    return out


def _combine(left: FloatArray, right: FloatArray) -> FloatArray:
    """Weight of each shared set being shown by one or the other (last axis)."""
    sets = left.shape[-1]
    if sets == 1:
        return left * right
    out = np.zeros(np.broadcast_shapes(left.shape, right.shape))
    for a in range(sets):
        for b in range(sets):
            out[..., a | b] += left[..., a] * right[..., b]
    return out


def _combine_back(slope: FloatArray, other: FloatArray) -> FloatArray:
    """The transpose of `_combine` with respect to its left argument."""
    sets = slope.shape[-1]
    if sets == 1:
        return slope * other
    out = np.zeros(np.broadcast_shapes(slope.shape, other.shape))
    for a in range(sets):
        for b in range(sets):
            out[..., a] += slope[..., a | b] * other[..., b]
    return out
