"""The conditioned road, part one: the machine taken apart into units, axles and what is common to them.

Given which causes of the whole machine and of the axles are there, the units are independent. A seen sign is

* *local*   if only causes of one unit can show it: it is closed inside the unit;
* *open*    if causes of one unit and causes above it can;
* *direct*  if only causes above the units can (of one axle, or of the machine);
* *shared*  if causes of several units, or of a unit and the other axle, can.

Of each unit all that the rest needs is h[S, B]: the weight of "the unit's causes show exactly S of its open and B of
the shared signs". See `rows` for how sets of causes are weighed and `search` for which sets are visited.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lugwright.belief.elimination import Plan, plan_elimination
from lugwright.belief.network import FloatArray, IntArray, Network
from lugwright.belief.problem import Problem
from lugwright.belief.unit import UnitPart, unit_part, unit_versions

#: An axle with more combinations of its causes than this is searched like the machine instead of being enumerated.
MOST_COMBINATIONS = 64
#: More shared signs, or a unit with more open signs or a wider pass, than this: not worth preparing.
MOST_SHARED = 5
MOST_OPEN = 20
#: Numbers (8 bytes each) that a table of one unit may hold for a batch.
MOST_HELD = 4e7
#: Rough nanoseconds to lay out one number of a table.
FILL = 15.0


@dataclass(frozen=True, eq=False, repr=False)
class AxlePart:
    """One axle: its units, the combinations of its causes, and the signs only it and the machine can show.

    chosen: (T, N of axle), 1 where a combination has the option; log_weight: (T, V) of the combinations.
    """

    units: tuple[int, ...]
    options: IntArray
    chosen: FloatArray
    log_weight: FloatArray
    direct: tuple[int, ...]


@dataclass(frozen=True, eq=False, repr=False)
class Conditioned:
    """A problem taken apart. searched: options of the machine (and of axles not enumerated), grouped by cause.

    group: (searched,) number of the cause of each searched option, ascending from 0.
    row_cost: nanoseconds, roughly, for each set of searched causes.
    """

    problem: Problem
    units: tuple[UnitPart, ...]
    axles: tuple[AxlePart, ...]
    searched: IntArray
    group: IntArray
    shared: tuple[int, ...]
    machine_only: tuple[int, ...]
    log_unshown: FloatArray
    row_cost: float


@dataclass(eq=False, repr=False)
class Sorted:
    """Where the causes and the seen signs of a problem live, before any work is done."""

    unit_options: list[IntArray]
    axle_options: list[IntArray]
    searched: IntArray
    open_signs: list[list[int]]
    local: list[list[int]]
    direct: list[list[int]]
    machine_only: list[int]
    shared: list[int]
    plans: list[Plan]


def sort_out(network: Network, problem: Problem) -> Sorted:
    """Find out where each cause and each seen sign lives, and plan the pass over each unit."""
    axle_of_unit = network.axle_of_unit or (0,)
    scope = [network.scopes[problem.cause[cause]] for cause in problem.option_cause]
    options = {
        key: np.array([at for at, where in enumerate(scope) if where == key], dtype=np.intp)
        for key in {*scope, *(("unit", unit) for unit in range(len(axle_of_unit)))}
    }
    none = np.zeros(0, dtype=np.intp)
    units = [options[("unit", unit)] for unit in range(len(axle_of_unit))]
    axles = [options.get(("axle", axle), none) for axle in range(max(axle_of_unit) + 1)]
    upper = [options.get(("machine", 0), none)]
    for axle, mine in enumerate(axles):
        sizes = np.bincount(problem.option_cause[mine]) if len(mine) else none
        if len(axles) == 1 or np.prod(1.0 + sizes) > MOST_COMBINATIONS:
            upper.append(mine)
            axles[axle] = none
    searched = np.sort(np.concatenate(upper))
    found = Sorted(units, axles, searched, [[] for _ in units], [[] for _ in units], [[] for _ in axles], [], [], [])
    linked = problem.link > 0
    for sign in range(problem.link.shape[1]):
        in_units = [unit for unit, mine in enumerate(units) if linked[mine, sign].any()]
        in_axles = [axle for axle, mine in enumerate(axles) if linked[mine, sign].any()]
        above = bool(linked[searched, sign].any())
        crossing = in_units and in_axles and axle_of_unit[in_units[0]] != in_axles[0]
        if len(in_units) > 1 or len(in_axles) > 1 or crossing:
            found.shared.append(sign)
        elif in_units:
            (found.open_signs if in_axles or above else found.local)[in_units[0]].append(sign)
        elif in_axles:
            found.direct[in_axles[0]].append(sign)
        else:
            found.machine_only.append(sign)
    for unit, mine in enumerate(units):
        numbers = np.unique(problem.option_cause[mine], return_inverse=True)[1]
        keep = [*found.open_signs[unit], *(sign for sign in found.shared if linked[mine, sign].any())]
        found.plans.append(plan_elimination(numbers, problem.link[mine], keep, found.local[unit]))
    return found


def fits(problem: Problem, found: Sorted) -> bool:
    """Whether the tables of the units can be held: not with many shared signs, or many open ones on one unit."""
    if len(found.shared) > MOST_SHARED or max(plan.width for plan in found.plans) > MOST_OPEN:
        return False
    widest = max(len(signs) for signs in found.open_signs)
    return (problem.variants << (len(found.shared) + widest)) <= MOST_HELD


def preparing_cost(problem: Problem, found: Sorted) -> float:
    """Predicted nanoseconds of walking over each unit once for each distinct version of it."""
    cost = 0.0
    for options, plan, signs, local in zip(found.unit_options, found.plans, found.open_signs, found.local, strict=True):
        count = len(unit_versions(problem, options, signs, local)[0])
        cost += plan.cost(count) + FILL * (count << (len(signs) + len(found.shared)))
    return cost


def prepare(network: Network, problem: Problem, found: Sorted) -> Conditioned:
    """Take a problem apart that was sorted out before, and that fits."""
    units = tuple(
        unit_part(problem, mine, plan, open_signs, local, found.shared)
        for mine, plan, open_signs, local in zip(
            found.unit_options, found.plans, found.open_signs, found.local, strict=True
        )
    )
    axle_of_unit = network.axle_of_unit or (0,)
    axles = []
    for axle, mine in enumerate(found.axle_options):
        chosen = _combinations(problem.option_cause[mine])
        log_off = np.log(problem.off[:, np.unique(problem.option_cause[mine])]).sum(axis=1)
        odds = problem.log_on[:, mine] - np.log(problem.off[:, problem.option_cause[mine]])
        log_weight = np.where(chosen[:, None, :] > 0, np.maximum(odds, -1e4), 0.0).sum(axis=2) + log_off
        its_units = tuple(unit for unit, at in enumerate(axle_of_unit) if at == axle)
        axles.append(AxlePart(its_units, mine, chosen, log_weight, tuple(found.direct[axle])))
    group = np.unique(problem.option_cause[found.searched], return_inverse=True)[1]
    row = _row_cost(problem, found, units, axles)
    return Conditioned(
        problem,
        units,
        tuple(axles),
        found.searched,
        group,
        tuple(found.shared),
        tuple(found.machine_only),
        np.log1p(-problem.link),
        row,
    )


def _row_cost(problem: Problem, found: Sorted, units: Sequence[UnitPart], axles: Sequence[AxlePart]) -> float:
    sets = 1 << len(found.shared)
    cost: float = 2000.0 + len(found.searched) * (20.0 * problem.variants + 3.0 * problem.link.shape[1])
    for axle in axles:
        combinations = len(axle.chosen)
        cost += combinations * sets * sets * 12.0 * problem.variants
        for unit in axle.units:
            first, second = units[unit].halves()
            wide = (1 << second) * units[unit].versions * sets
            cost += combinations * (wide * (2.0 + 0.15 * (1 << first)) + 30.0 * (1 << first))
            cost += combinations * problem.variants * (1 << second) * sets * (1.0 + 0.05 * (1 << first))
    return cost


def _combinations(option_cause: IntArray) -> FloatArray:
    """Every way in which causes can be there, each at one stage at most: (T, options), 0 or 1; row 0 is "none"."""
    rows = [[0.0] * len(option_cause)]
    for cause in dict.fromkeys(option_cause.tolist()):
        grown = list(rows)
        for option in np.flatnonzero(option_cause == cause).tolist():
            grown += [[*row[:option], 1.0, *row[option + 1 :]] for row in rows]
        rows = grown
    return np.array(rows).reshape(len(rows), len(option_cause))
