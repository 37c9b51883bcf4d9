"""The pattern that signs form on the machine, in words: one unit, mirrored, same hand, diagonal, both faces.

A pure function of places. Held up to a mirror along the machine's middle line, the same pattern comes out with left
and right exchanged.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from lugwright.diagnosis import Diagnosis, FindingShown
from lugwright.places import AXLES, SIDES, UNITS, axle_of, hand_of, opposite, place_from_key, units_of

Kind = Literal[
    "nothing", "one unit", "mirrored", "same hand", "diagonal", "both faces", "units of an axle", "units of a hand",
    "across corners", "every unit", "none",
]  # fmt: skip
End = Literal["front", "rear", ""]

#: A wheel that is noted for a sign -> the end of its unit.
ENDS: Mapping[str, End] = {"front-idler": "front", "rear-idler": "rear"}


@dataclass(frozen=True, order=True)
class Mark:
    """One spot where something was seen: a unit, a side of it where there is one, an end where it is known."""

    unit: str
    side: str = ""
    end: str = ""


@dataclass(frozen=True)
class Pattern:
    """What marks form together. side, hand, axle: where the kind has one; hand of a diagonal: in front.

    besides: where more was seen that has no part in the pattern, in words.
    """

    kind: Kind
    unit: str = ""
    axle: str = ""
    side: str = ""
    hand: str = ""
    count: int = 0
    besides: str = ""

    @property
    def words(self) -> str:
        """The pattern as a sentence without its stop.

        >>> Pattern("mirrored", axle="front", side="inboard").words
        'mirrored on the front axle (inboard on both of its units)'
        """
        return _WORDS[self.kind](self) + (f"; besides, {self.besides}" if self.besides else "")


def pattern(layout: str, marks: Iterable[Mark]) -> Pattern:
    """The pattern of some marks on a machine.

    layout: `two-track` or `four-track`. Marks with a side decide alone; only where none has one, units count. Units on
            which only marks without a side stand are told besides.

    >>> scuffed = [Mark("front-left", "outboard"), Mark("front-right", "inboard"), Mark("rear-left", "outboard"),
    ...            Mark("rear-right", "inboard")]
    >>> pattern("four-track", scuffed).words
    'same hand (the left-hand face of every unit)'
    >>> pattern("two-track", [Mark("left", "inboard"), Mark("right", "inboard")]).words
    'mirrored (inboard on both units)'
    >>> pattern("four-track", [Mark("front-right", "inboard")]).words
    'one unit (front-right, inboard)'
    >>> pattern("four-track", [Mark("front-right", "inboard"), Mark("rear-right")]).words
    'one unit (front-right, inboard); besides, noted without a side on rear-right'
    >>> pattern("four-track", []).kind
    'nothing'
    """
    every = sorted(set(marks))
    if not every:
        return Pattern("nothing")
    sided = [mark for mark in every if mark.side]
    if not sided:
        return _of_units(layout, {mark.unit for mark in every})
    others = {mark.unit for mark in every} - {mark.unit for mark in sided}
    besides = f"noted without a side on {_units_words(layout, others)}" if others else ""
    return replace(_of_faces(layout, sided), besides=besides)


def _units_words(layout: str, units: set[str]) -> str:
    """Some units in words, axle by axle, so that a mirror image reads the same with left and right exchanged."""
    if units == set(UNITS[layout]):
        return "every unit"
    both = "both units" if layout == "two-track" else "both {} units"
    return " and ".join(
        both.format(axle) if set(units_of(axle)) <= units else next(unit for unit in units_of(axle) if unit in units)
        for axle in AXLES[layout]
        if units & set(units_of(axle))
    )


def _of_faces(layout: str, marks: list[Mark]) -> Pattern:
    faces = {(mark.unit, mark.side) for mark in marks}
    units = {unit for unit, _ in faces}
    axles = {axle_of(unit) for unit in units}
    hands = {hand_of(unit, side) for unit, side in faces}
    sides = {side for _, side in faces}
    side = next(iter(sides)) if len(sides) == 1 else ""
    ends = _diagonal_ends(layout, marks)
    if ends:
        return Pattern("diagonal", hand=ends, count=len(faces))
    if faces == {(unit, face) for unit in UNITS[layout] for face in SIDES}:
        return Pattern("both faces", count=len(faces))
    if len(units) == 1:
        return Pattern("one unit", unit=next(iter(units)), side=side, count=len(faces))
    if len(hands) == 1 and units == set(UNITS[layout]):
        return Pattern("same hand", hand=next(iter(hands)), count=len(faces))
    if side and units == {unit for axle in axles for unit in units_of(axle)}:
        sole = next(iter(axles)) if layout == "four-track" and len(axles) == 1 else ""
        return Pattern("mirrored", axle=sole, side=side, count=len(faces))
    if len(axles) == 1 and len(hands) == 1:
        return Pattern("same hand", axle=next(iter(axles)), hand=next(iter(hands)), count=len(faces))
    front = _diagonal_axles(faces)
    if front and units == set(UNITS["four-track"]):
        return Pattern("diagonal", hand=front, count=len(faces))
    return Pattern("none", count=len(faces))


def _of_units(layout: str, units: set[str]) -> Pattern:
    axles = {axle_of(unit) for unit in units}
    hands = {hand_of(unit, "outboard") for unit in units}
    if units == set(UNITS[layout]):
        return Pattern("every unit", count=len(units))
    if len(units) == 1:
        return Pattern("one unit", unit=next(iter(units)), count=1)
    if len(axles) == 1:
        return Pattern("units of an axle", axle=next(iter(axles)), count=len(units))
    if len(hands) == 1:
        return Pattern("units of a hand", hand=next(iter(hands)), count=len(units))
    if len(units) == 2:
        return Pattern("across corners", unit=next(unit for unit in units if axle_of(unit) == "front"), count=2)
    return Pattern("none", count=len(units))


def _diagonal_axles(faces: set[tuple[str, str]]) -> str:
    """The hand in front, where the front units show one hand only and the rear units the other only; else empty."""
    hands = {
        axle: {hand_of(unit, side) for unit, side in faces if axle_of(unit) == axle} for axle in AXLES["four-track"]
    }
    front, rear = hands["front"], hands["rear"]
    if len(front) == len(rear) == 1 and rear == {opposite(next(iter(front)))}:
        return next(iter(front))
    return ""


def _diagonal_ends(layout: str, marks: list[Mark]) -> str:
    """The same for the two ends of every unit, where the wheels are noted."""
    at = {
        end: {(mark.unit, hand_of(mark.unit, mark.side)) for mark in marks if mark.end == end}
        for end in ("front", "rear")
    }
    hands = {end: {hand for _, hand in found} for end, found in at.items()}
    complete = all({unit for unit, _ in found} == set(UNITS[layout]) for found in at.values())
    if complete and len(hands["front"]) == 1 and hands["rear"] == {opposite(next(iter(hands["front"])))}:
        return next(iter(hands["front"]))
    return ""


def _one_unit(found: Pattern) -> str:
    face = f", {found.side}" if found.side else ", both faces" if found.count > 1 else ""
    return f"one unit ({found.unit}{face})"


def _mirrored(found: Pattern) -> str:
    if found.axle:
        return f"mirrored on the {found.axle} axle ({found.side} on both of its units)"
    if found.count > 2:
        return f"mirrored on both axles ({found.side} on every unit)"
    return f"mirrored ({found.side} on both units)"


def _same_hand(found: Pattern) -> str:
    where = f"both units of the {found.axle} axle" if found.axle else "every unit"
    return f"same hand (the {found.hand}-hand face of {where})"


_WORDS: Mapping[Kind, Callable[[Pattern], str]] = {
    "nothing": lambda _: "nothing seen",
    "one unit": _one_unit,
    "mirrored": _mirrored,
    "same hand": _same_hand,
    "diagonal": lambda p: f"diagonal ({p.hand}-hand faces in front, {opposite(p.hand)}-hand faces at the rear)",
    "both faces": lambda _: "both faces of every unit",
    "units of an axle": lambda p: "both units" if p.axle == "main" else f"both units of the {p.axle} axle",
    "units of a hand": lambda p: f"both {p.hand}-hand units",
    "across corners": lambda p: f"two units across the corners ({p.unit} and rear-{opposite(p.unit.split('-')[-1])})",
    "every unit": lambda _: "every unit",
    "none": lambda p: f"no single pattern ({p.count} places)",
}


def marks_of(findings: Iterable[FindingShown]) -> list[Mark]:
    """The marks of findings that are seen on a unit; one for each wheel that is noted at an end."""
    marks = []
    for one in findings:
        place = place_from_key(one.place)
        if one.state == "seen" and place.unit:
            ends = {ENDS.get(wheel, "") for wheel in one.wheels} or {""}
            marks += [Mark(place.unit, place.side, end) for end in sorted(ends)]
    return marks


def patterns(answer: Diagnosis) -> tuple[tuple[str, Pattern], ...]:
    """For each part of the undercarriage on which something was seen, the pattern it forms; parts by name."""
    parts = sorted({one.component for one in answer.findings if one.state == "seen" and one.component})
    found = []
    for part in parts:
        own = [one for one in answer.findings if one.component == part]
        marks = marks_of(own)
        if marks:
            formed = pattern(answer.layout, marks)
            besides = "; ".join(said for said in (formed.besides, _beyond_units(own)) if said)
            found.append((part, replace(formed, besides=besides)))
    return tuple(found)


def _beyond_units(findings: Iterable[FindingShown]) -> str:
    """Where a sign was seen that is noted for an axle or the whole machine, in words."""
    places = {place_from_key(one.place): one.place_words for one in findings if one.state == "seen"}
    words = sorted({said for place, said in places.items() if not place.unit})
    return f"noted for {' and '.join(words)}" if words else ""


def pattern_lines(answer: Diagnosis) -> tuple[str, ...]:
    """One sentence for each pattern, naming the parts that show it.

    Parts that show the same pattern stand together, those with most marks first.
    """
    by_words: dict[str, list[str]] = {}
    weight: dict[str, int] = {}
    for part, found in patterns(answer):
        by_words.setdefault(found.words, []).append(part.replace("-", " "))
        weight[found.words] = weight.get(found.words, 0) + found.count
    order = sorted(by_words, key=lambda words: (-weight[words], words))
    lines = [f"{_listed(by_words[words])}: {words}." for words in order]
    return tuple(line[0].upper() + line[1:] for line in lines) or ("Nothing was seen on any unit.",)


def _listed(words: list[str]) -> str:
    return " and ".join(part for part in (", ".join(words[:-1]), words[-1]) if part)
