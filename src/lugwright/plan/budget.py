"""The best set of checks within some minutes: every set weighed jointly, every shared set-up paid for once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from lugwright.belief.ground import Ground
from lugwright.belief.look_cost import affordable, variants_of
from lugwright.belief.looks import MOST_JOINED, joint_looks
from lugwright.plan.candidates import Candidate, Task
from lugwright.plan.check_shown import shown
from lugwright.plan.next_checks import LEAST_BITS, TOLERANCE, WORK, Weighed
from lugwright.prospects import Batch

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

#: Checks among which sets are formed, and the most checks of one set that are all weighed jointly.
AMONG = 8
TOGETHER = 4
#: Checks of a set that grows one check at a time, and the signs for which it may stand.
MOST = 6
#: Predicted nanoseconds for letting sets grow.
GROWTH = 6.0e8


@dataclass(frozen=True)
class _Set:
    tasks: tuple[Task, ...]
    signs: tuple[int, ...]


def best_batch(weighed: Weighed, minutes: float, ground: Ground, rulebase: RuleBase) -> Batch:
    """The checks that together are expected to tell most within some minutes.

    All sets of up to 4 of the 8 best checks are weighed, each check by its most telling sign. Beside them, sets grow
    one check at a time: from the check that tells most, from the one that tells most for each minute, and from the
    best of those sets. So a gain is at least what is printed, and minutes that are left over are used as long as a
    further check tells something and the work allows to weigh it.
    """
    pool = _pool(weighed, minutes)
    most = affordable(ground.network, weighed.evidence, WORK)
    sets = [one for one in _sets(pool) if weighed.choice.minutes(one.tasks) <= minutes]
    while len(sets) > most and pool:
        pool = pool[:-1]
        sets = [one for one in _sets(pool) if weighed.choice.minutes(one.tasks) <= minutes]
    best, gain = _Set((), ()), 0.0
    looked = _gains(sets, weighed, ground)
    for one, bits in looked.items():
        if _better(one, bits, best, gain, weighed):
            best, gain = one, bits
    starts = ((_Set((), ()), 0.0, False), (_Set((), ()), 0.0, True), (best, gain, False))
    for start, told, for_each_minute in starts:
        for one, bits in _grown(start, told, pool, minutes, weighed, ground, for_each_minute).items():
            looked[one] = max(bits, looked.get(one, 0.0))
            if _better(one, bits, best, gain, weighed):
                best, gain = one, bits
    tried = len({frozenset(one.tasks) for one in looked})
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
                weighed.counted,
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
        if task in weighed.worthy and weighed.choice.minutes([task]) <= minutes
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


def _grown(
    start: _Set,
    gain: float,
    pool: list[Candidate],
    minutes: float,
    weighed: Weighed,
    ground: Ground,
    for_each_minute: bool,
) -> dict[_Set, float]:
    """Sets that grow one check at a time, with what each of them tells.

    The first check stands for its few most telling signs, every further one for its most telling sign. A set tells no
    less than the one it grew from.
    """

    def rate(task: Task, bits: float, before: float) -> float:
        more = weighed.choice.minutes([*tasks, task]) - before
        return round(bits / max(more, 1.0), 9) if for_each_minute else round(bits, 9)

    found: dict[_Set, float] = {}
    room = affordable(ground.network, weighed.evidence, GROWTH)
    tasks, signs = start.tasks, start.signs
    while len(tasks) < MOST:
        used = weighed.choice.minutes(tasks)
        steps: list[tuple[float, Task, tuple[int, ...], float]] = []
        if not tasks:
            steps = [
                (rate(one.task, weighed.few[one.task].gain_bits, used), one.task, weighed.few[one.task].signs,
                 weighed.few[one.task].gain_bits)
                for one in pool
            ]  # fmt: skip
        elif len(signs) < MOST_JOINED:
            others = [
                (one.task, sign)
                for one in pool
                if one.task not in tasks and weighed.choice.minutes([*tasks, one.task]) <= minutes
                for sign in [next((sign for sign in one.signs if sign not in signs), None)]
                if sign is not None
            ]
            known = variants_of(ground.network, signs)  # shared by all of them
            room -= known + sum(variants_of(ground.network, (*signs, sign)) - known for _, sign in others)
            if room >= 0 and others:
                looks = joint_looks(
                    ground.network, weighed.evidence, [(*signs, sign) for _, sign in others], rows=weighed.counted,
                    tolerance=TOLERANCE,
                )  # fmt: skip
                steps = [
                    (rate(task, look.gain_bits - gain, used), task, look.signs, look.gain_bits)
                    for (task, _), look in zip(others, looks, strict=True)
                    if look.gain_bits >= gain + LEAST_BITS
                ]
        if not steps:
            break
        _, task, signs, gain = max(steps, key=lambda one: one[0])
        tasks = (*tasks, task)
        found[_Set(tasks, signs)] = gain
    return found


def _better(one: _Set, gain: float, best: _Set, most: float, weighed: Weighed) -> bool:
    """More bits; on a tie fewer minutes, then the earlier ids."""
    if round(gain, 6) != round(most, 6):
        return gain > most
    mine, its = weighed.choice.minutes(one.tasks), weighed.choice.minutes(best.tasks)
    return (mine, [task[0] for task in one.tasks]) < (its, [task[0] for task in best.tasks])
