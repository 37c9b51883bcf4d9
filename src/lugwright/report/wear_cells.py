"""What stands where on the wear map: parts of each unit from the front to the rear, and the signs seen in each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lugwright.diagnosis import Diagnosis, FindingShown
from lugwright.places import UNITS, place_from_key


@dataclass(frozen=True)
class Family:
    """Parts that share a symbol, a fill and a colour on the map."""

    id: str
    name: str
    parts: tuple[str, ...]
    colour: str
    dark: str


#: In the order of the legend. Colours keep 4.5 : 1 against the paper in light and in dark; fill and symbol differ too.
FAMILIES: tuple[Family, ...] = (
    Family("lugs", "lugs", ("lugs",), "#0b4f8a", "#8fc1f0"),
    Family("wheels", "wheels and rollers", ("idlers", "drive-wheel", "mid-rollers"), "#a04b00", "#f0a860"),
    Family("hubs", "hubs", ("hubs",), "#7a1f5c", "#e59ccb"),
    Family("belt", "carcass and tread", ("carcass", "tread"), "#00604a", "#7fd3b8"),
    Family("frame", "frame and fittings", ("frame", "fasteners", "scrapers", "tensioner"), "#574700", "#d9c46a"),
    Family("running", "how it runs", ("behaviour",), "#333333", "#d0d0d0"),
)

#: Parts at the ends of a unit; which of them there are depends on the machine.
FRONT_IDLER, REAR_IDLER, DRIVE = "front-idler", "rear-idler", "drive-wheel"
#: Parts drawn as boxes behind the unit.
FITTINGS: tuple[tuple[str, str, str], ...] = (
    ("hubs", "hubs", "hubs"),
    ("frame", "frame", "frame"),
    ("fasteners", "fasteners", "fasteners"),
    ("scrapers", "scrapers", "scrapers"),
    ("tensioner", "tensioner", "tensioner"),
    ("behaviour", "running", "behaviour"),
)


def family_of(part: str) -> Family:
    """The family of a part; a part that is not known runs with the last one."""
    return next((one for one in FAMILIES if part in one.parts), FAMILIES[-1])


def bands(layout: str, drive: str) -> tuple[tuple[str, str, str], ...]:
    """The parts along one unit, from the front to the rear: (key, words, part)."""
    middle = (
        ("lugs", "lugs", "lugs"),
        ("mid-rollers", "mid-rollers", "mid-rollers"),
        ("carcass", "carcass", "carcass"),
        ("tread", "tread", "tread"),
    )
    ends: list[tuple[str, str, str]] = []
    if drive != "none":
        ends.append((DRIVE, "drive wheel", "drive-wheel"))
    if layout == "four-track" or drive == "none":
        ends.append((REAR_IDLER, "rear idler", "idlers"))
    return ((FRONT_IDLER, "front idler", "idlers"), *middle, *ends)


@dataclass(frozen=True)
class Sign:
    """One symptom on the map: its number, its family, and every place it was seen at."""

    number: int
    name: str
    family: Family
    places: tuple[FindingShown, ...]


@dataclass(frozen=True)
class Cell:
    """One part of one unit. lanes: `outboard`, `middle`, `inboard` -> numbers of the signs seen there.

    state: `seen`, `sound` (an absence was recorded and nothing seen), `not looked at`, or empty where nothing
    was written.
    """

    state: str
    lanes: Mapping[str, tuple[int, ...]]

    @property
    def most(self) -> int:
        """How many signs the fullest lane holds."""
        return max((len(numbers) for numbers in self.lanes.values()), default=0)


@dataclass(frozen=True)
class WearCells:
    """Everything the map shows. units: (unit, band or box) -> cell; axles: axle -> numbers; machine: numbers.

    either_idler: whether some sign of the idlers stands at more than one of them, as nobody noted which one showed it.
    """

    signs: tuple[Sign, ...]
    units: Mapping[tuple[str, str], Cell]
    axles: Mapping[str, tuple[int, ...]]
    machine: tuple[int, ...]
    either_idler: bool = False


def wear_cells(answer: Diagnosis) -> WearCells:
    """Sort the findings of a diagnosis into the parts of each unit."""
    signs = _signs(answer)
    number = {one.key: sign.number for sign in signs for one in sign.places}
    units: dict[tuple[str, str], Cell] = {}
    along = bands(answer.layout, answer.drive)
    for unit in UNITS[answer.layout]:
        for key, _, part in (*along, *FITTINGS):
            there = [one for one in answer.findings if one.component == part and place_from_key(one.place).unit == unit]
            units[unit, key] = _cell(there, key, part, f"{part}@{unit}" in answer.not_noted, number)
    whole: dict[str, list[int]] = {}
    for sign in signs:
        for one in sign.places:
            place = place_from_key(one.place)
            if not place.unit:
                whole.setdefault(place.axle, []).append(sign.number)
    numbers = {axle: tuple(sorted(set(found))) for axle, found in whole.items()}
    machine = numbers.pop("", ())
    idlers = [one for one in answer.findings if one.state == "seen" and one.component == "idlers"]
    ends = {key for key, _, part in along if part == "idlers"}
    return WearCells(signs, units, numbers, machine, len(ends) > 1 and any(not ends & {*one.wheels} for one in idlers))


def _cell(there: Iterable[FindingShown], key: str, part: str, unlooked: bool, number: Mapping[str, int]) -> Cell:
    lanes: dict[str, list[int]] = {}
    found = list(there)
    for one in found:
        if one.state == "seen" and _stands_at(one, key):
            lanes.setdefault(place_from_key(one.place).side or "middle", []).append(number[one.key])
    if lanes:
        return Cell("seen", {lane: tuple(sorted(set(ones))) for lane, ones in sorted(lanes.items())})
    if any(one.state == "absent" for one in found):
        return Cell("sound", {})
    if found:  # it was seen at the other idler of this unit, and nothing is written about this one
        return Cell("", {})
    return Cell("not looked at" if unlooked else "", {})


def _stands_at(one: FindingShown, key: str) -> bool:
    """A sign of the idlers stands at each of them, unless the wheel is noted."""
    ends = {wheel for wheel in one.wheels if wheel in (FRONT_IDLER, REAR_IDLER)}
    return key not in (FRONT_IDLER, REAR_IDLER) or not ends or key in ends


def _signs(answer: Diagnosis) -> tuple[Sign, ...]:
    order = {part: index for index, part in enumerate(part for family in FAMILIES for part in family.parts)}
    seen: dict[tuple[int, str], list[FindingShown]] = {}
    for one in answer.findings:
        if one.state == "seen":
            seen.setdefault((order.get(one.component, len(order)), one.symptom), []).append(one)
    return tuple(
        Sign(number, found[0].name, family_of(found[0].component), tuple(found))
        for number, (_, found) in enumerate(sorted(seen.items()), 1)
    )


def place_list(sign: Sign) -> str:
    """Where a sign was seen, in words, with its extent and the wheels that were noted."""
    parts = []
    for one in sign.places:
        more = [*([one.extent] if one.extent else []), *(wheel.replace("-", " ") for wheel in one.wheels)]
        parts.append(one.place_words + (f" ({', '.join(more)})" if more else ""))
    return "; ".join(parts)
