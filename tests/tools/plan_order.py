"""Minutes until the true cause is settled: planned order of checks against the usual fixed order and a random one.

Run from anywhere:  python tests/tools/plan_order.py --machines 4 --causes 6 --seed 1

Machines are drawn from the shipped rule base: one fault at a place, its signs by the rule base's own frequencies. What
one can see and touch was looked at all round; then checks are done one by one, each settling its signs at its place,
until the true cause stands first with a probability of at least 80 %, or the minutes run out. So the figures compare
orders; they say nothing about how well the rule base fits real machines. A set-up is paid for once while checks that
share it follow one another.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lugwright.belief.evidence import TooWide
from lugwright.belief.ground import Ground, ground_network
from lugwright.belief.judge import Judgement, judge
from lugwright.belief.looks import screen
from lugwright.casefile.record import CaseRecord
from lugwright.chaining.conclude import Conclusions
from lugwright.plan.candidates import Task, choice
from lugwright.plan.next_checks import weighed_checks
from lugwright.rulebase.load import RuleBase, load

SETTLED = 0.8
ORDERS = ("planned", "fixed", "random")


@dataclass(frozen=True)
class Run:
    """One machine worked through in one order. settled: whether the true cause came first with enough behind it;
    wrong: whether another cause did, and the work stopped there.
    """

    cause: str
    order: str
    minutes: float
    checks: int
    settled: bool
    wrong: bool


class Yard:
    """Draws machines of one layout and works through them."""

    def __init__(self, rulebase: RuleBase, layout: str, drive: str, most_minutes: float) -> None:
        self.rulebase, self.most = rulebase, most_minutes
        self.ground: Ground = ground_network(rulebase, layout, drive)
        self.case = CaseRecord("drawn", "drawn", layout, drive, "drawn.yaml")
        self.told = Conclusions((), (), {}, (), (), (), (), ())
        self.looked = [
            at for at, (name, _) in enumerate(self.ground.signs) if rulebase.symptoms[name].by in ("look", "touch")
        ]

    def draw(self, cause: str, random: np.random.Generator) -> tuple[str, np.ndarray]:
        """A place of the cause, at an early or an advanced stage, and every sign of the machine."""
        network = self.ground.network
        rows = [row for row, (name, _) in enumerate(self.ground.causes) if name == cause and network.prior[row].any()]
        row = int(random.choice(rows))
        stage = int(random.choice(network.stages, p=network.prior[row] / network.prior[row].sum()))
        unshown = (1 - network.leak) * (1 - network.link[row, stage])
        for mark in network.marks:
            if mark.cause == row and random.random() < mark.share[stage]:
                unshown[list(mark.signs)] *= 1 - mark.weight
        there = random.random(len(unshown)) < 1 - unshown
        for at, (name, place) in enumerate(self.ground.signs):  # a difference between sides shows on one of them
            if there[at] and place.side == "outboard" and self.rulebase.symptoms[name].directed:
                other = self.ground.sign_index[name, type(place)(unit=place.unit, side="inboard")]
                there[at] = not there[other]
        return network.causes[row], there

    def work(self, truth: str, there: np.ndarray, order: str, random: np.random.Generator) -> Run:
        """Do checks in one order until something is settled."""
        known = set(self.looked)
        minutes, count, set_up, done = 0.0, 0, "", set()
        while True:
            keys = [[self.ground.signs[at] for at in sorted(known) if there[at] == state] for state in (True, False)]
            judgement = judge(self.ground, keys[0], keys[1], weigh=False, tolerance=1e-6)
            first = judgement.leaders[0]
            name = self.ground.network.causes[first.row]
            if max(first.probability, judgement.no_fault) >= SETTLED:
                right = first.probability >= SETTLED and name == truth
                return Run(truth, order, minutes, count, right, not right)
            task = self._next(order, judgement, done, random)
            if task is None or minutes >= self.most:
                return Run(truth, order, min(minutes, self.most), count, False, False)
            entry = self.rulebase.checks[task[0]]
            minutes += entry.minutes + (entry.set_up_minutes if entry.set_up != set_up or not entry.set_up else 0.0)
            set_up = entry.set_up or set_up
            count += 1
            done.add(task)
            known |= {
                at
                for at, (symptom, place) in enumerate(self.ground.signs)
                if symptom in entry.decides and (task[1].key == "machine" or (place.unit == task[1].unit
                                                 and place.axle == task[1].axle))
            }  # fmt: skip

    def _next(self, order: str, judgement: Judgement, done: set[Task], random: np.random.Generator) -> Task | None:
        if order == "planned":
            weighed = weighed_checks(self.case, self.rulebase, self.ground, judgement, self.told)
            for row in weighed.rows:
                for task in weighed.choice.candidates:
                    here = (task[1].unit or None, task[1].axle or None) == (row.unit, row.axle)
                    if task[0] == row.check and here and task not in done:
                        return task
            return None
        worth = screen(self.ground.network, judgement.posterior.by_stage)
        options = choice(self.case, self.rulebase, self.ground, judgement.evidence, self.told, worth)
        left = [task for task, one in options.candidates.items() if task not in done and not set(one.first) - done]
        if not left:
            return None
        if order == "random":
            return left[int(random.integers(len(left)))]
        units = [place.unit for _, place in self.ground.signs]
        return min(left, key=lambda task: (self.rulebase.checks[task[0]].order, task[0], units.index(task[1].unit)))


def runs(rulebase: RuleBase, machines: int, causes: int, seed: int, most_minutes: float) -> Iterator[Run]:
    """Every run of every order; all orders see the same machines."""
    yards = {
        (layout, drive): Yard(rulebase, layout, drive, most_minutes)
        for layout, drive in (("two-track", "friction"), ("four-track", "positive"))
    }
    names = [name for name, one in sorted(rulebase.causes.items()) if not one.harmless]
    for at, name in enumerate(names[:causes] if causes else names):
        for number in range(machines):
            cause = rulebase.causes[name]
            kinds = [(layout, drive) for layout, drive in yards if layout in cause.layouts and drive in cause.drives]
            if not kinds:
                continue
            yard = yards[kinds[number % len(kinds)]]
            truth, there = yard.draw(name, np.random.default_rng((seed, at, number)))
            try:
                yield from [
                    yard.work(truth, there, order, np.random.default_rng((seed, at, number, kind)))
                    for kind, order in enumerate(ORDERS)
                ]
            except TooWide:
                print(f"left out: {name}, machine {number}, too wide to judge exactly", file=sys.stderr)


def table(found: list[Run]) -> str:
    """Minutes, checks and accuracy of each order, and the share of the minutes of the fixed order."""
    lines = ["order      machines   settled   wrong   open    mean min   median min   checks   of fixed   of random"]
    mean = {order: np.mean([one.minutes for one in found if one.order == order]) for order in ORDERS}
    for order in ORDERS:
        mine = [one for one in found if one.order == order]
        lines.append(
            f"{order:<10} {len(mine):>8}   {sum(one.settled for one in mine) / len(mine):>6.0%}   "
            f"{sum(one.wrong for one in mine) / len(mine):>5.0%}   "
            f"{sum(not one.settled and not one.wrong for one in mine) / len(mine):>4.0%}   "
            f"{mean[order]:>8.1f}   {np.median([one.minutes for one in mine]):>10.1f}   "
            f"{np.mean([one.checks for one in mine]):>6.1f}   "
            f"{mean[order] / max(mean['fixed'], 1e-9):>7.0%}   {mean[order] / max(mean['random'], 1e-9):>8.0%}"
        )
    return "\n".join(lines)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--machines", type=int, default=4, help="machines drawn for each cause")
    parser.add_argument("--causes", type=int, default=0, help="only the first so many causes; 0 for all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--most-minutes", type=float, default=600.0)
    parser.add_argument("--rules", type=Path, default=None)
    asked = parser.parse_args()
    every = list(runs(load(asked.rules), asked.machines, asked.causes, asked.seed, asked.most_minutes))
    print(table(every))
    count = len(every) // len(ORDERS)
    print(f"\n{count} machines, seed {asked.seed}; a run stops at {SETTLED:.0%} or {asked.most_minutes:g} min")
