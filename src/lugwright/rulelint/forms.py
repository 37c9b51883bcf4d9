"""Can a reading pass a set of tests? Every field a check offers, as a linear form in the two numbers it comes from.

A reading has at most two numbers that belong together (inboard and outboard, leading and trailing, largest and
smallest); what is worked out from them is linear in them, piece by piece. So "can all these tests hold at once?" is
whether a polygon is empty, which is decided here exactly: the middle of its corners is inside it, or nothing is.
A test holds these forms against `lugwright.readings`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations, product

from lugwright.quantities import show
from lugwright.readings.alignment import MOST_GAP_MM, SHIM_MM
from lugwright.readings.gap import MOST_GAP_MM as MOST_SCRAPER_GAP_MM
from lugwright.readings.side_temperature import FACE_C
from lugwright.readings.toe import LEAST_MM as LEAST_APART_MM
from lugwright.readings.toe import MOST_MM as MOST_TOE_MM
from lugwright.readings.tread_profile import MOST_MM as MOST_BAR_MM
from lugwright.rulebase.reading_fields import field_quantities
from lugwright.rulebase.schema import Check
from lugwright.units import KINDS

#: Computation -> the two numbers it starts from, and each linear field as factors of the two.
PAIRS: dict[str, tuple[tuple[str, str], dict[str, tuple[float, float]]]] = {
    "side-clearance": (("inboard", "outboard"), {"total": (1, 1), "offset": (-0.5, 0.5)}),
    "side-temperature": (("inboard", "outboard"), {"inboard-excess": (1, -1), "outboard-excess": (-1, 1)}),
    "toe": (("leading", "trailing"), {"toe-in": (-1, 1), "toe-out": (1, -1)}),
    "gap": (("largest", "smallest"), {"spread": (1, -1)}),
    "tread-profile": (("inboard", "outboard"), {"inboard-minus-outboard": (1, -1)}),
    "plain": (("inboard", "outboard"), {"inboard-minus-outboard": (1, -1)}),
}

#: Computation -> the least and the most its two numbers can be, in mm or degC; others are refused as a reading.
REACH = {
    "side-clearance": (0.0, MOST_GAP_MM),
    "side-temperature": FACE_C,
    "gap": (0.0, MOST_SCRAPER_GAP_MM),
    "tread-profile": (0.0, MOST_BAR_MM),
}


#: How far from the smallest figures a reading is chosen that shall serve as an example, in base units.
STRIDE = 4.0


@dataclass(frozen=True, order=True)
class Bound:
    """`first`·x + `second`·y is below (or, where `open` is false, at most) `most`."""

    first: float
    second: float
    most: float
    open: bool = False

    def holds(self, x: float, y: float) -> bool:
        """Whether a point is inside; a closed bound allows for rounding."""
        value = self.first * x + self.second * y
        return value < self.most - 1e-9 if self.open else value <= self.most + 1e-6


@dataclass(frozen=True)
class Wanted:
    """One test on one field, in base units: `gt`, `ge`, `lt`, `le` with a number, or `is` with a word."""

    field: str
    op: str
    value: float | str


def fitting(check: Check, tests: Iterable[Wanted], shim: float | None = None) -> dict[str, float | str] | None:
    """Numbers and words of a reading of a check that pass all tests, or None where there are none.

    shim: thickness of the shim in mm, for `tight`.
    """
    wanted = list(tests)
    names, linear = PAIRS.get(check.computation or "", (("", ""), {}))
    words: dict[str, float | str] = {}
    split: list[list[list[Bound]]] = []
    bounds = list(_natural(check, names))
    alone: dict[str, list[Wanted]] = {}
    for one in wanted:
        if one.field == "tight" and check.computation == "side-clearance":
            split.append(_tight(str(one.value), SHIM_MM if shim is None else shim))
        elif one.op == "is":
            if words.setdefault(one.field, one.value) != one.value:
                return None
        elif one.field == "difference" and check.computation == "side-temperature":
            more, less = Bound(-1, 1, 0), Bound(1, -1, 0)
            split.append([[*_bounds((1, -1), one), more], [*_bounds((-1, 1), one), less]])
        elif one.field in names:
            bounds += _bounds((1, 0) if one.field == names[0] else (0, 1), one)
        elif one.field in linear:
            bounds += _bounds(linear[one.field], one)
        else:
            alone.setdefault(one.field, []).append(one)
    for name, ones in alone.items():
        point = _inside([*_range(check, name, (1, 0)), *(bound for one in ones for bound in _bounds((1, 0), one))])
        if point is None:
            return None
        words[name] = point[0]
    if not bounds and not split:
        return words
    for parts in product(*split):
        point = _inside([*bounds, *(bound for part in parts for bound in part)])
        if point is not None:
            touched = {one.field for one in wanted} & {*names, *linear, "tight", "difference"}
            pair = {name: round(value, 6) for name, value in zip(names, point, strict=True)} if touched else {}
            return {**pair, **words}
    return None


def pair_of(check: Check, field: str) -> str:
    """What a field is worked out from: the first of the two numbers that belong together, or the field itself."""
    names, linear = PAIRS.get(check.computation or "", (("", ""), {}))
    return names[0] if field in (*names, *linear, "tight", "difference") else field


def exact(check: Check, fields: Iterable[str]) -> bool:
    """Whether all fields are written down or have a form here, so that a reading found by `fitting` truly fits."""
    names, linear = PAIRS.get(check.computation or "", (("", ""), {}))
    return {*fields} <= {*check.reading, *names, *linear, "tight", "difference"}


def _bounds(factors: tuple[float, float], one: Wanted) -> list[Bound]:
    first, second = factors
    value = float(one.value)
    if one.op in ("lt", "le"):
        return [Bound(first, second, value, one.op == "lt")]
    return [Bound(-first, -second, -value, one.op == "gt")]


def _tight(word: str, shim: float) -> list[list[Bound]]:
    """`tight` says on which sides the gap is under the shim's thickness."""
    under = {"inboard": (1.0, 0.0), "outboard": (0.0, 1.0)}
    binds = {"inboard": ("inboard",), "outboard": ("outboard",), "both": tuple(under), "none": ()}[word]
    return [
        [
            Bound(*factors, shim, True) if side in binds else Bound(-factors[0], -factors[1], -shim)
            for side, factors in under.items()
        ]
    ]


def _natural(check: Check, names: tuple[str, str]) -> Iterator[Bound]:
    """What the two numbers can be at all."""
    for name, factors in zip(names, ((1.0, 0.0), (0.0, 1.0)), strict=True):
        yield from _range(check, name, factors)
    if check.computation == "gap":
        yield Bound(-1, 1, 0)
    if check.computation == "toe":
        yield from (
            Bound(-1, 1, MOST_TOE_MM),
            Bound(1, -1, MOST_TOE_MM),
            Bound(-1, 0, -LEAST_APART_MM),
            Bound(0, -1, -LEAST_APART_MM),
        )
    for first, second in ((1.0, 0.0), (0.0, 1.0)) if check.computation in REACH else ():
        least, most = REACH[check.computation or ""]
        yield from (Bound(-first, -second, -least), Bound(first, second, most))


def _range(check: Check, name: str, factors: tuple[float, float]) -> Iterator[Bound]:
    field = check.reading.get(name)
    if field is None or field.quantity == "word":
        return
    least, most = reach(field.quantity)
    yield Bound(-factors[0], -factors[1], -least)
    yield Bound(*factors, most)


def reach(quantity: str) -> tuple[float, float]:
    """The least and the most a written number of a kind can be; a measured length is never below zero."""
    kind = KINDS[quantity]
    least = 0.0 if quantity == "length" else kind.least
    return max(least, -1e6), min(kind.most, 1e9)


def _inside(bounds: list[Bound]) -> tuple[float, float] | None:
    """A point within all bounds, or None. The bounds are first closed by a wide box, so every region has corners."""
    box = [Bound(1, 0, 1e6), Bound(-1, 0, 1e6), Bound(0, 1, 1e6), Bound(0, -1, 1e6)]
    tighter: dict[tuple[float, float], Bound] = {}
    for bound in [*box, *bounds]:
        kept = tighter.get((bound.first, bound.second))
        if kept is None or (bound.most, not bound.open) < (kept.most, not kept.open):
            tighter[bound.first, bound.second] = bound
    every = list(tighter.values())
    corners = []
    for one, other in combinations(every, 2):
        turn = one.first * other.second - one.second * other.first
        if abs(turn) > 1e-12:
            x = (one.most * other.second - other.most * one.second) / turn
            y = (one.first * other.most - other.first * one.most) / turn
            if all(Bound(b.first, b.second, b.most).holds(x, y) for b in every):
                corners.append((x, y))
    if not corners:
        return None
    near = min(corners, key=lambda corner: (abs(corner[0]) + abs(corner[1]), corner))
    middle = tuple(sum(corner[n] for corner in corners) / len(corners) for n in (0, 1))
    away = max(abs(middle[n] - near[n]) for n in (0, 1))
    step = min(1.0, STRIDE / away) if away else 0.0
    x, y = (near[n] + step * (middle[n] - near[n]) for n in (0, 1))
    return (x, y) if all(bound.holds(x, y) for bound in every) else None


def words_of(reading: Mapping[str, float | str], check: Check) -> str:
    """A reading as a person writes it: `inboard 4 mm, outboard 14 mm`."""
    parts = []
    for name, value in sorted(reading.items()):
        kind = field_quantities(check)[name]
        parts.append(f"{name} {value if isinstance(value, str) else show(value, kind)}")
    return ", ".join(parts) or "any reading"
