"""The same network with every frequency redrawn within what its word allows.

One draw for each link of a cause to a symptom (for all its places and stages alike: the same quantile of each stage's
word, triangular between `low`, `value` and `high`), one for each symptom's sound rate and one for each cause's weight
beforehand (triangular within 30 % either way). Draw 0 is the network as it is. `against` factors and extents stay.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from lugwright.belief.ground import HOW_OFTEN_DOWN, Ground, Key, is_even
from lugwright.belief.network import FloatArray, IntArray, Network
from lugwright.belief.placing import applies, holds, show_places

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import Symptom

#: How far a sound rate and a weight beforehand may lie from what their word says.
EITHER_WAY = 0.3
#: No rate is drawn above this.
MOST = 0.99


@dataclass(frozen=True, eq=False)
class Links:
    """Every link of the network, one row for each place: cause row, column, number of its (cause, symptom) pair, its
    word at each stage as an index (6 for none), whether the unit's rate is shared by its two sides, its mark or -1.
    """

    row: IntArray
    column: IntArray
    pair: IntArray
    word: IntArray
    halved: IntArray
    mark: IntArray


class Redraw:
    """Draws of one network. draws: how many beside the network as it is; quantiles come from a seeded generator."""

    def __init__(
        self, rulebase: RuleBase, ground: Ground, layout: str, drive: str, context: Mapping[str, object],
        extents: Mapping[Key, str], draws: int, seed: int,
    ) -> None:  # fmt: skip
        self.ground, self.network, self.scales = ground, ground.network, rulebase.scales
        self.count = draws + 1
        self.links, pairs = _links(rulebase, ground, layout, drive, context)
        symptoms = list(dict.fromkeys(name for name, _ in ground.signs))
        causes = list(dict.fromkeys(name for name, _ in ground.causes))
        random = np.random.default_rng(seed)
        middle = np.full((1, pairs), np.nan)
        self.quantile = np.concatenate([middle, random.random((draws, pairs))])
        sound = _triangular(random.random((draws, len(symptoms))), 1 - EITHER_WAY, 1.0, 1 + EITHER_WAY)
        prior = _triangular(random.random((draws, len(causes))), 1 - EITHER_WAY, 1.0, 1 + EITHER_WAY)
        self.cause_factor = np.concatenate([np.ones((1, len(causes))), prior])
        self.cause_of = np.array([causes.index(name) for name, _ in ground.causes], dtype=np.intp)
        rates = np.array([self.scales.sound[rulebase.symptoms[name].sound] for name in symptoms])
        self.sound = np.minimum(np.concatenate([np.ones((1, len(symptoms))), sound]) * rates, MOST)
        self.symptom_of = np.array([symptoms.index(name) for name, _ in ground.signs], dtype=np.intp)
        self.kind = np.array([_kind(rulebase.symptoms[name]) for name, _ in ground.signs], dtype=np.intp)
        ones = np.ones(len(ground.signs))
        self.extent_sound, self.extent_fault = ones.copy(), ones.copy()
        for key, word in extents.items():
            if key in ground.sign_index:
                self.extent_sound[ground.sign_index[key]] = self.scales.extents[word].sound
                self.extent_fault[ground.sign_index[key]] = self.scales.extents[word].fault

    @cached_property
    def _words(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        words = [self.scales.how_often[word] for word in HOW_OFTEN_DOWN]  # type: ignore[index]
        low, value, high = ([getattr(one, name) for one in words] + [0.0] for name in ("low", "value", "high"))
        return np.array(low), np.array(value), np.array(high)

    def bare_leak(self, draws: slice) -> FloatArray:
        """(V, signs): the sound rate at each place, before extents."""
        rate = self.sound[draws][:, self.symptom_of]
        bare: FloatArray = np.where(self.kind == 1, rate / 2, np.where(self.kind == 2, 1 - np.sqrt(1 - rate), rate))
        return bare

    def leak(self, draws: slice) -> FloatArray:
        """(V, signs)."""
        scaled: FloatArray = self.bare_leak(draws) * self.extent_sound
        return scaled

    def prior(self, draws: slice) -> FloatArray:
        """(V, causes, stages)."""
        total = self.network.prior.sum(axis=1)
        rate = -np.log1p(-total) * self.cause_factor[draws][:, self.cause_of]
        after = -np.expm1(-rate)
        share = np.divide(after, total, out=np.zeros_like(after), where=total > 0)
        drawn: FloatArray = share[:, :, None] * self.network.prior
        return drawn

    def rates(self, draws: slice, some: IntArray) -> FloatArray:
        """(V, links, stages): how often each of some links shows its sign."""
        low, value, high = self._words
        word = self.links.word[some]
        quantile = self.quantile[draws][:, self.links.pair[some], None]
        drawn = _triangular(quantile, low[word], value[word], high[word])
        found: FloatArray = np.where(np.isnan(quantile), value[word], drawn)
        return found

    def weights(self, draws: slice, some: IntArray) -> FloatArray:
        """(V, links, stages): net weight of each of some links, marks apart, extents in."""
        rate, column = self.rates(draws, some), self.links.column[some]
        sound = self.bare_leak(draws)[:, column, None]
        unit = self.sound[draws][:, self.symptom_of[column], None]
        plain = np.maximum(0.0, (rate - sound) / (1 - sound))
        shared = 1 - np.sqrt(1 - np.maximum(0.0, (rate - unit) / (1 - unit)))
        net: FloatArray = np.where(self.links.halved[some][:, None] > 0, shared, plain)
        return net

    def marks(self, draws: slice) -> list[tuple[FloatArray, FloatArray]]:
        """For each mark of the network: share (V, stages) and weight (V, signs)."""
        always = self.scales.how_often["almost-always"].value
        bare = self.bare_leak(draws)
        found = []
        for number, mark in enumerate(self.network.marks):
            mine = np.flatnonzero(self.links.mark == number)
            signs = list(mark.signs)
            sound = bare[:, signs]
            share = (self.rates(draws, mine[:1])[:, 0] - sound[:, :1]) / (always - sound[:, :1])
            weight = np.maximum(0.0, (always - sound) / (1 - sound)) * self.extent_fault[signs]
            found.append((np.clip(share, 0.0, 1.0), weight))
        return found

    def stays(self, draws: slice, columns: IntArray) -> FloatArray:
        """(V, causes, stages, columns): chance that a cause does not show each of some signs, marks apart."""
        at = {int(column): place for place, column in enumerate(columns)}
        some = np.array(
            [one for one, column in enumerate(self.links.column) if self.links.mark[one] < 0 and int(column) in at],
            dtype=np.intp,
        )
        weight = self.weights(draws, some)
        out = np.ones((len(weight), len(self.network.causes), self.network.stages, len(columns)))
        place = np.array([at[int(column)] for column in self.links.column[some]], dtype=np.intp)
        flat = out.transpose(1, 3, 0, 2)
        for one, (row, column) in enumerate(zip(self.links.row[some], place, strict=True)):
            flat[row, column] *= 1 - weight[:, one]
        stays: FloatArray = 1 - (1 - out) * self.extent_fault[columns]
        return stays

    def log_absent(self, draws: slice, columns: IntArray) -> FloatArray:
        """(V, causes, stages): log of the chance that a cause shows none of some signs (extents 1), marks apart."""
        wanted = np.zeros(len(self.network.signs), dtype=bool)
        wanted[columns] = True
        some = np.flatnonzero(wanted[self.links.column] & (self.links.mark < 0))
        log = np.log1p(-self.weights(draws, some))
        order = np.argsort(self.links.row[some], kind="stable")
        rows, starts = np.unique(self.links.row[some][order], return_index=True)
        out = np.zeros((len(log), len(self.network.causes), self.network.stages))
        if len(rows):
            out[:, rows] = np.add.reduceat(log[:, order], starts, axis=1)
        return out

    def drawn(self, number: int) -> Network:
        """One draw as a network; number 0 is the network as it is."""
        draws = slice(number, number + 1)
        stays = self.stays(draws, np.arange(len(self.network.signs)))[0]
        marks = tuple(
            replace(mark, share=share[0], weight=weight[0])
            for mark, (share, weight) in zip(self.network.marks, self.marks(draws), strict=True)
        )
        return replace(self.network, prior=self.prior(draws)[0], link=1 - stays, leak=self.leak(draws)[0], marks=marks)


def _kind(symptom: Symptom) -> int:
    """0: the rate stands for each place; 1: it is halved for a directed sign; 2: shared out over two sides."""
    if symptom.where != "side" or symptom.sound_counts == "side":
        return 0
    return 1 if symptom.directed else 2


def _triangular(
    quantile: FloatArray, low: FloatArray | float, value: FloatArray | float, high: FloatArray | float
) -> FloatArray:
    """Quantiles of the triangular distribution.

    >>> _triangular(np.array([0.0, 0.5, 1.0]), 0.0, 0.5, 1.0).tolist()
    [0.0, 0.5, 1.0]
    """
    low, value, high = np.asarray(low), np.asarray(value), np.asarray(high)
    width = np.maximum(high - low, 1e-300)
    turn = (value - low) / width
    with np.errstate(invalid="ignore"):
        left = low + np.sqrt(quantile * width * (value - low))
        right = high - np.sqrt((1 - quantile) * width * (high - value))
    drawn: FloatArray = np.where(quantile < turn, left, right)
    return drawn


def _links(
    rulebase: RuleBase, ground: Ground, layout: str, drive: str, context: Mapping[str, object]
) -> tuple[Links, int]:
    """Every link as `ground_network` lays it, with its words, and how many (cause, symptom) pairs there are."""
    stages = list(rulebase.scales.stages.values())
    marks = {(mark.cause, sign): number for number, mark in enumerate(ground.network.marks) for sign in mark.signs}
    pairs: dict[tuple[str, str], int] = {}
    rows: list[tuple[int, int, int, int, int]] = []
    words: list[list[int]] = []
    for row, (name, place) in enumerate(ground.causes):
        cause = rulebase.causes[name]
        for show in cause.shows:
            symptom = rulebase.symptoms[show.symptom]
            if not applies(symptom, layout, drive) or not holds(show, layout, drive, context):
                continue
            pair = pairs.setdefault((name, show.symptom), len(pairs))
            appears = show.appears or symptom.appears
            first = HOW_OFTEN_DOWN.index(show.how_often)
            by_stage = [min(first + stage.drop.get(appears, 0), len(HOW_OFTEN_DOWN)) for stage in stages]
            halved = int(show.side == "either" and symptom.sound_counts == "unit")
            even = is_even(show, symptom)
            for target in show_places(show, symptom, place, layout):
                column = ground.sign_index[show.symptom, target]
                rows.append((row, column, pair, halved, marks[row, column] if even else -1))
                words.append(by_stage)
    table = np.array(rows, dtype=np.intp).reshape(-1, 5)
    return Links(
        table[:, 0], table[:, 1], table[:, 2], np.array(words, dtype=np.intp).reshape(-1, len(stages)),
        table[:, 3], table[:, 4],
    ), len(pairs)  # fmt: skip
