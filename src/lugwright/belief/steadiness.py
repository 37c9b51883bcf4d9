"""How much the first place hangs on the frequencies: each redrawn within what its word allows, many times."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lugwright.belief.drawn import Drawn, reduce_drawn, solve_drawn
from lugwright.belief.elimination import CALL, TOUCH, Plan, plan_elimination
from lugwright.belief.evidence import Evidence
from lugwright.belief.ground import Ground, Key
from lugwright.belief.look_cost import lightened
from lugwright.belief.marks import versions
from lugwright.belief.network import FloatArray, IntArray
from lugwright.belief.problem import build_problem
from lugwright.belief.redraw import Redraw

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

DRAWS, LEAST_DRAWS, SEED = 300, 60, 20260
#: Predicted nanoseconds of work; counted, not timed. A link that differs from draw to draw costs more than a fixed one.
WORK = 1.6e9
DEARER = 1.5
#: Numbers (8 bytes each) that the states of one batch may keep for the pass back.
STORED = 12_000_000
#: Numbers that a state should hold to stay in the processor's cache, and the fewest draws taken together.
CACHED, LEAST_BATCH = 1 << 18, 32
NO_FAULT = "no-fault"
#: From this share of the draws on, a first place is steady, or fairly steady.
STEADY, FAIRLY = 0.9, 0.7


@dataclass(frozen=True)
class Steady:
    """How often the first place stayed first. first: cause key or `no-fault`; low, high: 5 and 95 % of its probability.

    firsts: who came first in how many draws, most often first. set_aside: seen signs left out where all are too many.
    """

    draws: int
    first: str
    first_in: int
    low: float
    high: float
    firsts: tuple[tuple[str, int], ...]
    set_aside: int

    @property
    def word(self) -> str:
        """The share of draws in a word.

        >>> Steady(100, "x", 97, 0.8, 0.9, (), 0).word, Steady(100, "x", 75, 0.8, 0.9, (), 0).word
        ('steady', 'fairly steady')
        """
        share = self.first_in / self.draws
        return "steady" if share >= STEADY else "fairly steady" if share >= FAIRLY else "unsteady"


def steadiness(
    rulebase: RuleBase,
    ground: Ground,
    evidence: Evidence,
    *,
    layout: str,
    drive: str,
    context: Mapping[str, object],
    extents: Mapping[Key, str],
    draws: int = DRAWS,
    seed: int = SEED,
) -> Steady:
    """Redraw every frequency and see who stands first.

    ground:  the network of this machine; layout, drive, context, extents: what it was made with.
    Where the findings hang together widely, fewer draws are made, down to 60; where that is still too much, the seen
    signs that say least are set aside. The same seed gives the same draws everywhere.
    """
    table = Redraw(rulebase, ground, layout, drive, context, extents, draws, seed)
    light, plan = _light(ground, evidence)
    room = int((WORK - CALL * plan.calls) / max(DEARER * TOUCH * plan.touched, 1.0))
    count = max(1, min(draws, room))
    size = max(1, min(count + 1, int(STORED // max(plan.stored, 1)), max(LEAST_BATCH, CACHED >> plan.width)))
    causes, none = [], []
    for start in range(0, count + 1, size):
        chunk = slice(start, min(start + size, count + 1))
        present, sound = _posteriors(table, light, chunk)
        causes.append(present)
        none.append(sound)
    marginal, no_fault = np.concatenate(causes, axis=1), np.concatenate(none)
    faults = [row for row in range(len(marginal)) if row not in ground.harmless]
    names = [*(ground.network.causes[row] for row in faults), NO_FAULT]
    stand = np.round(np.vstack([marginal[faults], no_fault[None]]), 9)
    order = sorted(range(len(names)), key=lambda at: names[at])
    first = np.array(order)[np.argmax(stand[order], axis=0)]
    mine = int(first[0])
    counts = Counter(int(one) for one in first[1:])
    low, high = np.quantile(stand[mine, 1:], [0.05, 0.95])
    firsts = sorted(((names[at], times) for at, times in counts.items()), key=lambda one: (-one[1], one[0]))
    aside = len(evidence.seen) - len(light.seen)
    return Steady(count, names[mine], counts[mine], round(float(low), 6), round(float(high), 6), tuple(firsts), aside)


def posteriors(table: Redraw, evidence: Evidence, draws: slice) -> tuple[FloatArray, FloatArray]:
    """Probability of every cause (causes, D) and of no fault (D,) under some draws; for tests and for other tables."""
    return _posteriors(table, evidence, draws)


def _posteriors(table: Redraw, evidence: Evidence, draws: slice) -> tuple[FloatArray, FloatArray]:
    ground = table.ground
    row, prior, log_on, weight, leak, constant = _weights(table, evidence, draws)
    problem = reduce_drawn(row, prior, log_on, weight, leak, constant)
    present, log_all = solve_drawn(problem, _plan(problem))
    keep = np.zeros(len(ground.causes), dtype=bool)
    keep[list(ground.harmless)] = True
    log_none = np.log1p(-prior[:, ~keep].sum(axis=2)).sum(axis=1)
    own = keep[row]
    sound = reduce_drawn(row[own], prior, log_on[:, own], weight[:, own], leak, constant)
    _, log_alone = solve_drawn(sound, _plan(sound))
    return present, np.clip(np.exp(log_none + log_alone - log_all), 0.0, 1.0)


def _weights(
    table: Redraw, evidence: Evidence, draws: slice
) -> tuple[IntArray, FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """The options of the causes, flat: cause of each (P,), prior (D, causes, stages), log weight (D, P), links to the
    seen signs (D, P, k), leaks (D, k), log constant (D,).

    Only the versions a cause really has stand here; in a square table those of the cause with the most marks would
    stand for every cause.
    """
    network = table.network
    split = versions(network, evidence.seen)
    seen, absent = np.array(evidence.seen, dtype=np.intp), np.array(evidence.absent, dtype=np.intp)
    prior = _given(table, table.prior(draws), evidence)
    marks = table.marks(draws)
    leak = table.leak(draws)
    by_cause: dict[int, list[int]] = {}
    for number, _ in split.marked:
        by_cause.setdefault(network.marks[number].cause, []).append(number)
    most = split.stage.shape[1] // network.stages
    own = np.ones(len(network.causes), dtype=np.intp)
    own[list(by_cause)] = [1 << len(numbers) for numbers in by_cause.values()]
    acts = np.asarray(network.prior.any(axis=1))
    has = (np.arange(split.stage.shape[1]) % most < own[:, None]) & acts[:, None]
    row, version = np.nonzero(has)
    stage = split.stage[row, version]
    option = np.full(has.shape, -1, dtype=np.intp)
    option[row, version] = np.arange(len(row))
    log = table.log_absent(draws, absent)[:, row, stage]
    weight = 1 - table.stays(draws, seen)[:, row, stage]
    share = np.ones((len(prior), len(row)))
    column = {int(sign): at for at, sign in enumerate(seen)}
    unseen = {int(sign) for sign in absent}
    for cause, numbers in by_cause.items():
        mine = np.flatnonzero(row == cause)
        share[:, mine] = _shares(most, numbers, marks, network.stages)[:, version[mine]]
    for number, columns in split.marked:
        mark, (_, drawn) = network.marks[number], marks[number]
        mine = option[mark.cause, list(columns)]
        for at, sign in enumerate(mark.signs):
            one = drawn[:, at][:, None]
            if sign in column:
                weight[:, mine, column[sign]] = 1 - (1 - weight[:, mine, column[sign]]) * (1 - one)
            elif sign in unseen:
                log[:, mine] += np.log1p(-one)
    for number in split.quiet:
        mark, (often, drawn) = network.marks[number], marks[number]
        missing = [at for at, sign in enumerate(mark.signs) if sign in unseen]
        if missing:
            unshown = np.prod(1 - drawn[:, missing], axis=1)[:, None]
            mine = np.flatnonzero(row == mark.cause)
            log[:, mine] += np.log1p(-often * (1 - unshown))[:, stage[mine]]
    with np.errstate(divide="ignore"):
        log_on = np.log(prior[:, row, stage] * share) + log
    return row, prior, log_on, weight, leak[:, seen], np.log1p(-leak[:, absent]).sum(axis=1)


def _shares(most: int, numbers: list[int], marks: list[tuple[FloatArray, FloatArray]], stages: int) -> FloatArray:
    """(D, versions): share of a stage's prior in each version of a cause, as `marks.versions` splits it."""
    out = np.zeros((len(marks[numbers[0]][0]), most * stages))
    for at in range(1 << len(numbers)):
        part = np.ones_like(marks[numbers[0]][0])
        for bit, number in enumerate(numbers):
            own = marks[number][0]
            part = part * (own if at >> bit & 1 else 1 - own)
        out[:, at::most] = part
    return out


def _given(table: Redraw, prior: FloatArray, evidence: Evidence) -> FloatArray:
    """The prior after the `against` factors of the signs seen, as `Network.prior_given` does it."""
    seen = set(evidence.seen)
    factor = np.ones(prior.shape[1])
    for cause, sign, value in table.network.against:
        if sign in seen:
            factor[cause] *= value
    weighed = prior * factor[None, :, None]
    after: FloatArray = weighed / (1 - prior.sum(axis=2) + weighed.sum(axis=2))[:, :, None]
    return after


def _plan(problem: Drawn) -> Plan:
    return plan_elimination(problem.option_cause, problem.linked.astype(float))


def _light(ground: Ground, evidence: Evidence) -> tuple[Evidence, Plan]:
    """The findings that leave room for the least number of draws, and the plan for them."""
    light = lightened(ground.network, evidence, WORK, int(LEAST_DRAWS * DEARER))
    problem = build_problem(ground.network, light)
    return light, plan_elimination(problem.option_cause, problem.link)
