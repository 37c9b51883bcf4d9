"""The best set of checks within some minutes: every set weighed jointly, every shared set-up paid for once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from lugwright.belief.ground import Ground
from lugwright.belief.looks import affordable, joint_looks
from lugwright.plan.candidates import Candidate, Task
from lugwright.plan.next_checks import LEAST_BITS, TOLERANCE, WORK, Weighed, shown
from lugwright.prospects import Batch

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

#: Checks among which sets are formed, and the most checks of one set that are weighed jointly.
AMONG = 8
TOGETHER = 4
#: Beyond that, checks are added one at a time, each with what it tells beside those already chosen.
MOST = 6


@dataclass(frozen=True)
class _Set:
    tasks: tuple[Task, ...]
    signs: tuple[int, ...]


def best_batch(weighed: Weighed, minutes: float, ground: Ground, rulebase: RuleBase) -> Batch:
    """The checks that together are expected to tell most within some minutes.

    Each check stands in its set for its most telling sign, so a gain is at least what is printed. Sets of up to 4 of
    the 8 best checks are all weighed jointly; a larger set grows from the best of them, one check at a time.
    """
    pool = _pool(weighed, minutes)
    most = affordable(ground.network, weighed.evidence, WORK)
    sets = [one for one in _sets(pool) if weighed.choice.minutes(one.tasks) <= minutes]
    while len(sets) > most and pool:
        pool = pool[:-1]
        sets = [one for one in _sets(pool) if weighed.choice.minutes(one.tasks) <= minutes]
    best, gain, tried = _Set((), ()), 0.0, 0
    looked = _gains(sets, weighed, ground)
    tried += len(sets)
    for one in sets:
        if _better(one, looked[one], best, gain, weighed):
            best, gain = one, looked[one]
    while len(best.tasks) >= TOGETHER and len(best.tasks) < MOST:
        grown = [
            _Set((*best.tasks, one.task), (*best.signs, one.signs[0]))
            for one in pool
            if one.task not in best.tasks and one.signs[0] not in best.signs
        ]
        grown = [one for one in grown if weighed.choice.minutes(one.tasks) <= minutes]
        if not grown or (len(grown) << len(best.signs)) > most:
            break
        looked = _gains(grown, weighed, ground)
        tried += len(grown)
        more = max(grown, key=lambda one: (round(looked[one], 9), -weighed.choice.minutes(one.tasks)))
        if looked[more] < gain + LEAST_BITS:
            break
        best, gain = more, looked[more]
    order = [task for one in pool for task in (one.task,) if task in best.tasks]
    placed = weighed.choice.with_first(order)
    return Batch(
        allowed=minutes,
        minutes=weighed.choice.minutes(placed),
        gain_bits=round(gain, 6),
        tried=tried,
        checks=tuple(
            shown(
                weighed.choice.candidates[task],
                weighed.best.get(task),
                rulebase,
                ground,
                weighed.before,
                others=[one for one in pool if one.task in best.tasks],
            )
            for task in placed
        ),
    )


def _pool(weighed: Weighed, minutes: float) -> list[Candidate]:
    """The checks worth forming sets of, best for each minute first."""
    rows = [
        weighed.choice.candidates[task]
        for task, look in weighed.best.items()
        if look.gain_bits >= LEAST_BITS and weighed.choice.minutes([task]) <= minutes
    ]
    rows.sort(
        key=lambda one: (
            -round(weighed.best[one.task].gain_bits / weighed.choice.minutes([one.task]), 6),
            one.minutes,
            one.check,
            one.place.key,
        )
    )
    return rows[:AMONG]


def _sets(pool: list[Candidate]) -> Iterator[_Set]:
    for size in range(1, TOGETHER + 1):
        for some in combinations(pool, size):
            signs = tuple(dict.fromkeys(one.signs[0] for one in some))
            yield _Set(tuple(one.task for one in some), signs)


def _gains(sets: list[_Set], weighed: Weighed, ground: Ground) -> dict[_Set, float]:
    """What each set tells: the joint outcome of its signs, or one of its checks alone if that tells more."""
    groups = list(dict.fromkeys(tuple(sorted(one.signs)) for one in sets))
    looks = joint_looks(
        ground.network, weighed.evidence, groups, rows=weighed.counted, tolerance=TOLERANCE
    ) if groups else ()  # fmt: skip
    bits = {group: look.gain_bits for group, look in zip(groups, looks, strict=True)}
    return {
        one: max(bits[tuple(sorted(one.signs))], *(weighed.best[task].gain_bits for task in one.tasks)) for one in sets
    }


def _better(one: _Set, gain: float, best: _Set, most: float, weighed: Weighed) -> bool:
    """More bits; on a tie fewer minutes, then the earlier ids."""
    if round(gain, 6) != round(most, 6):
        return gain > most
    mine, its = weighed.choice.minutes(one.tasks), weighed.choice.minutes(best.tasks)
    return (mine, [task[0] for task in one.tasks]) < (its, [task[0] for task in best.tasks])
