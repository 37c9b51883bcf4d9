"""Which checks could be done now, where, what each would settle, and what must be done before it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from lugwright.belief.ground import Ground, applies, sign_places
from lugwright.belief.looks import MOST_SPREAD
from lugwright.belief.network import FloatArray
from lugwright.belief.posterior import Evidence
from lugwright.chaining.conclude import Conclusions
from lugwright.places import AXLES, UNITS, Place, axle_of, units_of
from lugwright.plan.waits import EVERYWHERE, why_it_waits
from lugwright.prospects import LeftOut

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase

RISKS = {"low": 0, "medium": 1, "high": 2}
#: Signs of one check that are counted together.
JOINED = 3

#: A check at a place.
Task = tuple[str, Place]


@dataclass(frozen=True)
class Candidate:
    """A check that could be done at a place.

    signs:   columns of the signs it would settle there and that bear on a cause, the most telling by a quick guess
             first; spread: whether they are too many to tell all outcomes apart, and stand at several places.
    guess:   what those that are counted would tell together by the quick guess, in bits.
    minutes: the work itself; set_up, set_up_minutes: shared with other checks of the same set-up.
    first:   checks to be done before it, in order, that are not done yet.
    """

    check: str
    place: Place
    signs: tuple[int, ...]
    spread: bool
    guess: float
    minutes: float
    set_up: str
    set_up_minutes: float
    risk: str
    first: tuple[Task, ...] = ()

    @property
    def joined(self) -> tuple[int, ...]:
        """The signs that are counted together, the most telling first."""
        return tuple(_counted(self.signs, self.spread))

    @property
    def task(self) -> Task:
        """The check and its place."""
        return self.check, self.place

    @property
    def alone(self) -> float:
        """Minutes with its own set-up, without what must be done before it."""
        return self.minutes + self.set_up_minutes


@dataclass(frozen=True)
class Choice:
    """Candidates by check and place, and what cannot be done now with the reason."""

    candidates: dict[Task, Candidate]
    left_out: tuple[LeftOut, ...]

    def minutes(self, tasks: Iterable[Task]) -> float:
        """Minutes for some checks with all that must come before them; every set-up counts once."""
        every = self.with_first(tasks)
        set_ups = {one.set_up or str(one.task): one.set_up_minutes for one in (self.candidates[key] for key in every)}
        return sum(self.candidates[key].minutes for key in every) + sum(set_ups.values())

    def with_first(self, tasks: Iterable[Task]) -> tuple[Task, ...]:
        """The checks and all that must come before them, in an order in which they can be done."""
        return tuple(dict.fromkeys(one for task in tasks for one in (*self.candidates[task].first, task)))


def choice(
    case: CaseRecord, rulebase: RuleBase, ground: Ground, evidence: Evidence, concluded: Conclusions, worth: FloatArray
) -> Choice:
    """Every check that can be done now.

    worth: (signs,) what each sign is guessed to tell, in bits.
    Left out: a check that was read already, one whose reading would be void there, one where a verdict names work that
    comes first, one that waits until a sign seen there has been put right, and on a machine that must stand every check
    for which it moves or that is of high risk, or that needs such a check first.
    """
    known = {ground.signs[at] for at in (*evidence.seen, *evidence.absent)}
    settles = {(name, at): settled_by(name, at, case, rulebase) for name, at in _tasks(case, rulebase)}
    done = {(reading.check, reading.place) for reading in case.readings}
    done |= {task for task, signs in settles.items() if signs and known.issuperset(signs)}
    against = ground.network.speaking
    found: dict[Task, Candidate] = {}
    left_out: dict[tuple[str, str], list[str]] = {}
    for (name, at), signs in settles.items():
        first = tuple(before(name, at, rulebase, case.layout, done.__contains__))
        if (name, at) in done or not signs:
            continue
        if why := why_it_waits(name, at, [one for one, _ in first], rulebase, concluded):
            where = left_out.setdefault((name, why), [])
            where += [] if why in EVERYWHERE else [at.words]
            continue
        check = rulebase.checks[name]
        open_signs = [ground.sign_index[key] for key in signs if key not in known]
        telling = sorted((at for at in open_signs if worth[at] > 0), key=lambda at: (-round(float(worth[at]), 9), at))
        spread = len(telling) > JOINED and _at_several(telling, ground) and against.isdisjoint(telling)
        found[name, at] = Candidate(
            name,
            at,
            tuple(telling),
            spread,
            float(sum(worth[one] for one in _counted(telling, spread))),
            check.minutes,
            check.set_up or "",
            check.set_up_minutes,
            check.risk,
            first,
        )
    kept = {task: one for task, one in found.items() if all(step in found for step in one.first)}
    for name, _ in found.keys() - kept.keys():
        left_out.setdefault((name, "what must be done before it cannot be done now"), [])
    rows = [
        LeftOut(check=name, name=rulebase.checks[name].name, where=", ".join(where), why=why)
        for (name, why), where in sorted(left_out.items())
    ]
    return Choice(kept, tuple(rows))


def _counted(telling: Sequence[int], spread: bool) -> Sequence[int]:
    return telling[: MOST_SPREAD if spread else JOINED]


def _at_several(signs: Iterable[int], ground: Ground) -> bool:
    """Whether signs stand at more than one unit or axle."""
    places = (ground.signs[sign][1] for sign in signs)
    return len({at.unit or at.axle for at in places} - {""}) > 1


def at_best_place(order: Iterable[Candidate]) -> list[Candidate]:
    """Each check once, where it stands first in an order, and in that order."""
    once: dict[str, Candidate] = {}
    for one in order:
        once.setdefault(one.check, one)
    return list(once.values())


def _tasks(case: CaseRecord, rulebase: RuleBase) -> list[Task]:
    """Every check at every place where it is done on this layout."""
    places = {
        "machine": (Place(),),
        "axle": tuple(Place(axle=axle) for axle in AXLES[case.layout]),
        "unit": tuple(Place(unit=unit) for unit in UNITS[case.layout]),
    }
    return [
        (name, at)
        for name, check in sorted(rulebase.checks.items())
        for at in places["unit" if check.where == "side" else check.where]
    ]


def settled_by(name: str, at: Place, case: CaseRecord, rulebase: RuleBase) -> tuple[tuple[str, Place], ...]:
    """The signs a check settles where it is done."""
    return tuple(
        (symptom, place)
        for symptom in rulebase.checks[name].decides
        if applies(rulebase.symptoms[symptom], case.layout, case.drive)
        for place in sign_places(rulebase.symptoms[symptom], case.layout)
        if _within(place, at)
    )


def _within(place: Place, at: Place) -> bool:
    """Whether a sign's place is looked at when a check is done at a place."""
    if at.unit:
        return place.unit == at.unit
    if at.axle:
        return at.axle in (place.axle, axle_of(place.unit) if place.unit else "")
    return True


def before(name: str, at: Place, rulebase: RuleBase, layout: str, is_done: Callable[[Task], bool]) -> Iterable[Task]:
    """What has to be done before a check at a place and is not done, in order."""
    for need in rulebase.checks[name].needs_first:
        for place in done_at(rulebase.checks[need].where, at, layout):
            if not is_done((need, place)):
                yield from before(need, place, rulebase, layout, is_done)
                yield need, place


def done_at(where: str, place: Place, layout: str) -> tuple[Place, ...]:
    """Where a check that is done per machine, axle, unit or side has to be done for a place.

    >>> [one.key for one in done_at("unit", Place(axle="front"), "four-track")]
    ['front-left', 'front-right']
    >>> [one.key for one in done_at("axle", Place(unit="left", side="inboard"), "two-track")]
    ['main-axle']
    """
    if where == "machine":
        return (Place(),)
    if where == "axle":
        axles = (place.axle,) if place.axle else (axle_of(place.unit),) if place.unit else AXLES[layout]
        return tuple(Place(axle=axle) for axle in axles)
    units = (place.unit,) if place.unit else units_of(place.axle) if place.axle else UNITS[layout]
    return tuple(Place(unit=unit) for unit in units)
