"""Machines drawn from the shipped rule base itself: work, faults, and every sign they would show.

A case drawn from the table that judges it says how well the rules *separate* the causes. It is no measure of how right
they are on a machine.

Rates, all of them ours:

* *Context.* Every fact is drawn at a base rate (`BASE_RATES`), independently, but that a belt of few hours is young.
  For a machine with a fault the work is drawn with the weight that the context rules themselves give that fault: four
  times likelier where harsh turns make it four times likelier. A side-hill case answers the right uphill hand in 0.85
  of the draws, for instance, because 0.1 x 12 stands against 0.6 x 0.2 + 0.2 x 0.4 + 0.1 x 0.1.
* *Faults.* A named cause at a random place it can act at, mild or advanced as asked. A cause that does not grow has one
  form and counts with the advanced ones. Conditions that are normal on a sound machine are drawn on every machine, as
  often as the rules say, and are no faults.
* *Signs.* All from the network, marks included: P(sign) = 1 - (1 - leak) x product of (1 - link). A sign that speaks
  against a cause is as rare as its word says, unless another cause shows it. Of a sign that can show on one side only,
  at most one side stays. What a check misses or imagines is part of the words.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lugwright.belief.ground import Ground, Shift, ground_network
from lugwright.casefile.record import CaseRecord, Finding
from lugwright.chaining.conclude import conclude, engine_for
from lugwright.issues import Spot
from lugwright.places import SIDES, Place
from lugwright.plan.machine import rate_changes
from lugwright.rulebase.load import RuleBase

HERE = Spot("simulated")
DRIVE = {"two-track": "friction", "four-track": "positive"}
STAGES = {"begun": 0, "mild": 1, "advanced": 2}
WORKS = 1500

#: Fact -> answer -> share of machines. Quantities in base units: hours, years, share of hours on the road.
BASE_RATES: Mapping[str, Mapping[str | float, float]] = {
    "belt-hours": {50.0: 0.12, 300.0: 0.18, 1500.0: 0.70},
    "belt-age": {2.0: 0.35, 5.0: 0.40, 10.0: 0.25},
    "roading-share": {0.0: 0.10, 0.08: 0.55, 0.25: 0.35},
    "slope-work": {"none": 0.60, "alternating": 0.20, "left-uphill": 0.10, "right-uphill": 0.10},
    "turning": {"both-hands": 0.70, "mostly-left": 0.15, "mostly-right": 0.15},
    "hard-turning": {"gentle": 0.70, "harsh": 0.30},
    "line-of-pull": {
        "centred": 0.54,
        "to-left": 0.10,
        "to-right": 0.10,
        "offset-left": 0.03,
        "offset-right": 0.03,
        "nothing-pulled": 0.20,
    },
    "road-side": {"left": 0.5, "right": 0.5},
    "surface": {"dusty": 0.75, "no-dust": 0.25},
    "recent-undercarriage-work": {"no": 0.85, "yes": 0.15},
    "recent-parts": {"no": 0.75, "yes": 0.25},
    "since-fitted": {"came-later": 0.90, "from-the-start": 0.10},
    "fasteners-touched": {"no": 0.70, "yes": 0.30},
    "tension-changed": {"no": 0.85, "raised": 0.07, "lowered": 0.08},
    "came-off": {"no": 0.85, "yes": 0.15},
    "hub-oil": {"looked-at": 0.60, "not-looked-at": 0.40},
    "wet-stony": {"no": 0.85, "yes": 0.15},
    "mass": {"within-plate": 0.75, "over-plate": 0.25},
    "impact": {"no": 0.80, "yes": 0.20},
    "soil": {"loose": 0.65, "sticky-or-residue": 0.35},
    "stones-stubble": {"no": 0.65, "yes": 0.35},
    "heavy-hitch": {"no": 0.70, "yes": 0.30},
    "gauge": {"normal": 0.80, "wide": 0.20},
    "travel": {"mostly-forward": 0.85, "half-and-half": 0.10, "mostly-reverse": 0.05},
    "parked-outdoors": {"no": 0.70, "yes": 0.30},
}


@dataclass(frozen=True, eq=False)
class Work:
    """The answers about one machine, and what the context rules make of them.

    answers: as they stand in a case; factor: (causes,), what the rules multiply the rate of each cause by, 0 where it
    is excluded.
    """

    answers: Mapping[str, str | float]
    context: Mapping[str, object]
    shifts: tuple[Shift, ...]
    excluded: tuple[Shift, ...]
    factor: np.ndarray


@dataclass(frozen=True, eq=False)
class Machine:
    """One drawn machine: its work, its faults as (row, stage), and whether each sign of its network is there."""

    work: Work
    faults: tuple[tuple[int, int], ...]
    ground: Ground
    there: np.ndarray


class Works:
    """A pool of works of one layout, from which a machine with a given fault takes one that fits the fault."""

    def __init__(self, rulebase: RuleBase, layout: str, visit: str, *, seed: int, answered: bool = True) -> None:
        """answered: whether the context facts are asked; without them every work is the same empty one."""
        self.rulebase, self.layout, self.drive, self.visit = rulebase, layout, DRIVE[layout], visit
        self.plain = ground_network(rulebase, layout, self.drive, context={"visit": visit})
        rng = np.random.default_rng([seed, zlib.crc32(f"works {layout}".encode())])
        engine = engine_for(rulebase, None)
        self.pool = []
        for _ in range(WORKS if answered else 1):
            answers: dict[str, str | float] = {"visit": visit}
            if answered:
                answers |= {name: answer for name, answer in _answers(rng).items() if name in rulebase.context}
            done = conclude(case_of(layout, self.drive, answers), rulebase, engine)
            shifts, excluded = rate_changes(done, rulebase)
            factor = np.array([_factor(key, shifts, excluded) for key in self.plain.causes])
            self.pool.append(Work(answers, done.context, tuple(shifts), tuple(excluded), factor))
        self.factors = np.array([work.factor for work in self.pool])

    def ground(self, work: Work) -> Ground:
        """The network of a machine that does this work."""
        return ground_network(
            self.rulebase,
            self.layout,
            self.drive,
            context=work.context,
            shifts=work.shifts,
            excluded=work.excluded,
        )

    def with_faults(self, rng: np.random.Generator, faults: Sequence[tuple[int, int]]) -> Machine:
        """A machine with these faults, (row, stage), doing work that fits them."""
        weight = self.factors[:, [row for row, _ in faults]].prod(axis=1)
        work = self.pool[int(rng.choice(len(self.pool), p=weight / weight.sum()))]
        ground = self.ground(work)
        there = draw_signs(rng, ground, [*faults, *drawn_causes(rng, ground, harmless=True)])
        return Machine(work, tuple(faults), ground, there)

    def sound(self, rng: np.random.Generator) -> Machine:
        """A sound machine, doing any work."""
        ground = self.ground(work := self.pool[int(rng.integers(len(self.pool)))])
        return Machine(work, (), ground, draw_signs(rng, ground, drawn_causes(rng, ground, harmless=True)))

    def as_found(self, rng: np.random.Generator) -> Machine:
        """A machine with as many faults, of whatever kind and stage, as the rates per visit give its work."""
        ground = self.ground(work := self.pool[int(rng.integers(len(self.pool)))])
        faults = drawn_causes(rng, ground, harmless=False)
        there = draw_signs(rng, ground, [*faults, *drawn_causes(rng, ground, harmless=True)])
        return Machine(work, tuple(faults), ground, there)


def drawn_causes(rng: np.random.Generator, ground: Ground, *, harmless: bool) -> list[tuple[int, int]]:
    """Causes that are there by their own rates, as (row, stage): faults, or else what is normal on a sound machine."""
    prior = ground.network.prior
    drawn = []
    for row, chance in enumerate(rng.random(len(prior))):
        stage = int(np.searchsorted(np.cumsum(prior[row]), chance, side="right"))
        if stage < prior.shape[1] and (row in ground.harmless) == harmless:
            drawn.append((row, stage))
    return drawn


def draw_signs(rng: np.random.Generator, ground: Ground, faults: Sequence[tuple[int, int]]) -> np.ndarray:
    """Whether each sign is there, (signs,)."""
    network = ground.network
    rows = {row for row, _ in faults}
    leak = network.leak.copy()
    for row, sign, factor in network.against:
        if row in rows:
            leak[sign] *= factor
    unshown = 1 - leak
    for row, stage in faults:
        unshown = unshown * (1 - network.link[row, stage])
        for mark in network.marks:
            if mark.cause == row and rng.random() < mark.share[stage]:
                unshown[list(mark.signs)] *= 1 - mark.weight
    shown = 1 - unshown
    there: np.ndarray = rng.random(len(shown)) < shown
    for (symptom, place), column in ground.sign_index.items():
        if place.side == SIDES[0] and there[column] and _is_directed(ground, symptom, place, there):
            other = ground.sign_index[symptom, Place(unit=place.unit, side=SIDES[1])]
            first = rng.random() * (shown[column] + shown[other]) < shown[column]
            there[other if first else column] = False
    return there


#: Symptoms that can be seen on one side of a unit only; filled when a rule base is taken up.
DIRECTED: set[str] = set()


def take_up(rulebase: RuleBase) -> None:
    """Note which symptoms are directed."""
    DIRECTED.clear()
    DIRECTED.update(name for name, symptom in rulebase.symptoms.items() if symptom.directed)


def case_of(
    layout: str, drive: str, answers: Mapping[str, str | float], findings: Sequence[Finding] = ()
) -> CaseRecord:
    """A case as the reasoning reads it."""
    return CaseRecord("simulated", "", layout, drive, "simulated", context=answers, findings=tuple(findings))


def _is_directed(ground: Ground, symptom: str, place: Place, there: np.ndarray) -> bool:
    return symptom in DIRECTED and bool(there[ground.sign_index[symptom, Place(unit=place.unit, side=SIDES[1])]])


def _answers(rng: np.random.Generator) -> dict[str, str | float]:
    """One answer to every fact; belts of few hours are two years old, but for one in twenty that lay in store."""
    drawn: dict[str, str | float] = {}
    for name, rates in BASE_RATES.items():
        drawn[name] = list(rates)[int(rng.choice(len(rates), p=list(rates.values())))]
    if drawn["belt-hours"] == 50.0 and rng.random() < 0.95:
        drawn["belt-age"] = 2.0
    return drawn


def _factor(key: tuple[str, Place], shifts: Sequence[Shift], excluded: Sequence[Shift]) -> float:
    if any(one.reaches(*key) for one in excluded):
        return 0.0
    factor = 1.0
    for shift in shifts:
        if shift.reaches(*key):
            factor *= shift.factor
    return factor
