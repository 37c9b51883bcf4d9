"""The conditioned road, part three: which sets of searched causes are visited, and the bound on all others.

For units that show exactly S, adding a cause to a set multiplies the weight by its odds times the product over the
signs not shown of 1 + w * q / (1 - q), q = (1 - leak) * product of (1 - w). That factor falls as the set grows, so all
sets that extend m by later causes weigh together at most W(m) * product of (1 + sum over stages of odds * factor(m)).
Best first; stop when what the bounds leave is below the tolerance. (The gain in log W itself does not fall: bounding
with W(m + i) / W(m) would be wrong.) Where a leak is near zero the bound is taken for a slightly leakier problem, whose
weights are larger throughout.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lugwright.belief.conditioned import Conditioned
from lugwright.belief.joint import Answer
from lugwright.belief.network import FloatArray, IntArray
from lugwright.belief.rows import Weigher

#: Leaks below this are raised to it in the bound.
LEAK_FLOOR = 1e-3
#: Numbers (8 bytes each) that one array of a batch of rows, and the bounds of all waiting sets, may hold.
BATCH = 4_000_000
MOST_WAITING = 40_000_000
#: The most sets visited.
MOST_ROWS = 150_000


@dataclass(eq=False, repr=False)
class _Waiting:
    """Sets not visited yet, as (visited row they extend, searched option added), with the bound on each subtree."""

    parent: IntArray
    option: IntArray
    bound: FloatArray


def solve_conditioned(parts: Conditioned, tolerance: float, most_cost: float, worst_bound: float) -> Answer | None:
    """Visit sets of causes until the rest weighs less than the tolerance, or the work allowed is done.

    None when the bound reached is worse than `worst_bound` by then.
    """
    search = _Search(parts, tolerance)
    search.run(most_cost)
    return search.answer() if (search.bound <= worst_bound).all() else None


class _Search:
    def __init__(self, parts: Conditioned, tolerance: float) -> None:
        self.parts, self.tolerance = parts, tolerance
        self.weigher = Weigher(parts)
        weak = self._bearing()
        low = bool((self.weigher.leak[weak] < LEAK_FLOOR).any())
        self.above = Weigher(parts, LEAK_FLOOR) if low else self.weigher
        self.groups = int(parts.group[-1]) + 1 if len(parts.group) else 0
        none = np.zeros((1, len(parts.searched)))
        gain = (self.weigher.log_odds.max(axis=1) + self._factors(none)[0]) if self.groups else np.zeros(0)
        best = np.array([gain[parts.group == group].max() for group in range(self.groups)])
        rank = np.argsort(np.argsort(-best, kind="stable"), kind="stable")
        self.rank = rank[parts.group] if self.groups else np.zeros(0, dtype=np.intp)
        self.by_rank = np.argsort(self.rank, kind="stable")
        self.starts = np.searchsorted(self.rank[self.by_rank], np.arange(self.groups))

    def _bearing(self) -> IntArray:
        """Signs that a searched option can show."""
        return np.flatnonzero((self.parts.problem.link[self.parts.searched] > 0).any(axis=0))

    def _factors(self, rows: FloatArray) -> FloatArray:
        """Log of the largest factor by which adding each searched option can raise a row, (M, searched)."""
        signs = self._bearing()
        link = self.parts.problem.link[np.ix_(self.parts.searched, signs)]
        left = np.exp(rows @ self.above.unshown[:, signs] + self.above.log_sound[signs])
        ratio = left / (1 - left)
        log = np.zeros((len(rows), len(link)))
        factor = np.ones_like(log)
        for column in range(len(signs)):
            factor *= 1 + np.multiply.outer(ratio[:, column], link[:, column])
            if column % 40 == 39:
                log += np.log(factor)
                factor[:] = 1.0
        factors: FloatArray = log + np.log(factor)
        return factors

    def run(self, most_cost: float) -> None:
        """Best first, in growing batches."""
        variants = self.parts.problem.variants
        rows = np.zeros((1, len(self.parts.searched)))
        last = np.full(1, -1)
        self.rows, self.weights = rows, self._weigh(self.weigher, rows)
        self.scale = np.log(np.maximum(self._weigh(self.above, rows)[0], 1e-260))
        self.dropped = np.zeros(variants)
        waiting = _Waiting(np.zeros(0, np.intp), np.zeros(0, np.intp), np.zeros((0, variants)))
        new = self.weights
        room = MOST_WAITING // (variants * max(1, len(self.parts.searched)))
        most_rows = min(MOST_ROWS, room, max(64, int(most_cost / self.parts.row_cost)))
        while True:
            waiting = self._extend(waiting, rows, last, new, len(self.rows) - len(rows))
            total = self.weights.sum(axis=0)
            with np.errstate(divide="ignore", over="ignore"):
                per = np.exp(np.minimum(self.scale - np.log(total), 700.0))
                relative = waiting.bound * per
            order = np.argsort(-relative.max(axis=1), kind="stable")
            rest = np.cumsum(relative[order][::-1], axis=0)[::-1] + self.dropped * per
            self.bound = rest[0] if len(rest) else self.dropped * per
            count = int((rest > 0.9 * self.tolerance).any(axis=1).sum())
            if count == 0 or len(self.rows) >= most_rows:
                return
            count = min(count, max(64, 2 * len(self.rows)), 2000, most_rows)
            take, keep = order[:count], order[count:]
            rows = self.rows[waiting.parent[take]].copy()
            rows[np.arange(count), waiting.option[take]] = 1.0
            last = self.rank[waiting.option[take]]
            tiny = relative[keep].max(axis=1) < self.tolerance * 1e-8
            self.dropped = self.dropped + waiting.bound[keep[tiny]].sum(axis=0)
            keep = keep[~tiny]
            waiting = _Waiting(waiting.parent[keep], waiting.option[keep], waiting.bound[keep])
            new = self._weigh(self.weigher, rows)
            self.rows = np.concatenate([self.rows, rows])
            self.weights = np.concatenate([self.weights, new])

    def _extend(self, waiting: _Waiting, rows: FloatArray, last: IntArray, weights: FloatArray, start: int) -> _Waiting:
        """Add the children of new rows with the bounds on their subtrees."""
        most = weights if self.above is self.weigher else self._weigh(self.above, rows)
        if not self.groups:
            return waiting
        order = self.by_rank
        barred = rows @ (self.weigher.log_odds <= -1e4) > 0
        most = np.where(barred, 0.0, np.maximum(most, 1e-300)) / np.exp(self.scale)
        with np.errstate(over="ignore"):
            gain = np.exp(self._factors(rows)[:, order])[:, :, None] * np.exp(self.weigher.log_odds[order])
            either = 1 + np.add.reduceat(gain, self.starts, axis=1)
            later = np.ones_like(either)
            np.cumprod(either[:, :0:-1], axis=1, out=later[:, -2::-1])
            bound = np.where(barred[:, None], 0.0, most[:, None] * gain * later[:, self.rank[order]])
        row, column = np.nonzero(self.rank[order][None, :] > last[:, None])
        weighed = bound[row, column]
        return _Waiting(
            np.concatenate([waiting.parent, row + start]),
            np.concatenate([waiting.option, order[column]]),
            np.concatenate([waiting.bound, weighed]),
        )

    def _per_batch(self, versions: bool) -> int:
        """How many rows fit into one batch."""
        sets, variants = self.weigher.sets, self.parts.problem.variants
        most = 1.0
        for axle in self.parts.axles:
            for unit in axle.units:
                part = self.parts.units[unit]
                wide = (1 << part.halves()[1]) * sets * (part.versions if versions else variants)
                most = max(most, len(axle.chosen) * float(max(wide, variants * sets, 1 << part.halves()[0])))
        return int(max(1, BATCH // most))

    def _weigh(self, weigher: Weigher, rows: FloatArray) -> FloatArray:
        size = self._per_batch(True)
        return np.concatenate([weigher.weigh(rows[at : at + size]) for at in range(0, len(rows), size)])

    def answer(self) -> Answer:
        """Pass back over the rows that matter; the share of those left out goes into the bound."""
        problem, parts = self.parts.problem, self.parts
        total = self.weights.sum(axis=0)
        safe = np.where(total > 0, total, 1.0)
        share = self.weights / safe
        order = np.argsort(-share.max(axis=1), kind="stable")
        rest = np.cumsum(share[order][::-1], axis=0)[::-1]
        rows = self.rows[order[: int((rest > 0.05 * self.tolerance).any(axis=1).sum())]]
        combinations = sum(len(axle.chosen) for axle in parts.axles)
        least = 0.05 * self.tolerance * total / (len(rows) * combinations)
        slopes = self.weigher.empty_slopes()
        size = self._per_batch(False)
        for at in range(0, len(rows), size):
            self.weigher.slopes(rows[at : at + size], least, slopes)
        present = np.zeros((len(problem.option_cause), problem.variants))
        present[parts.searched] = slopes.searched
        for axle, slope in zip(parts.axles, slopes.axle, strict=True):
            present[axle.options] = slope
        for unit, slope in zip(parts.units, slopes.unit, strict=True):
            weights = slope.reshape(1 << len(unit.open_signs), problem.variants, self.weigher.sets).transpose(0, 2, 1)
            present[unit.options] = unit.present(weights)
        used = np.where(slopes.total > 0, slopes.total, 1.0)
        with np.errstate(divide="ignore"):
            log_total = np.log(total)
        cut = slopes.left_out / safe + (rest[len(rows)] if len(rows) < len(rest) else 0.0)
        return Answer(log_total, (present / used).T, self.bound + cut)
