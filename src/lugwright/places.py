"""Where a thing is on the machine, and the two relations that decide most cases: mirrored and same hand.

A *unit* is one belt and its frame; an *axle* is a left and a right unit; *inboard* looks toward the machine's middle
line; a *hand* is compass sense with the machine facing forward. The outboard side of a left unit is its left-hand
side, the inboard side of a left unit is its right-hand side.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Layout = Literal["two-track", "four-track"]
Drive = Literal["friction", "positive", "none"]
Side = Literal["inboard", "outboard"]
Hand = Literal["left", "right"]
Axle = Literal["front", "rear", "main"]
Unit = Literal["left", "right", "front-left", "front-right", "rear-left", "rear-right"]

LAYOUTS: tuple[str, ...] = get_args(Layout)
DRIVES: tuple[str, ...] = get_args(Drive)
SIDES: tuple[str, ...] = get_args(Side)
HANDS: tuple[str, ...] = get_args(Hand)
UNITS: dict[str, tuple[str, ...]] = {
    "two-track": ("left", "right"),
    "four-track": ("front-left", "front-right", "rear-left", "rear-right"),
}
AXLES: dict[str, tuple[str, ...]] = {"two-track": ("main",), "four-track": ("front", "rear")}
ALL_UNITS = UNITS["two-track"] + UNITS["four-track"]
ALL_AXLES = AXLES["two-track"] + AXLES["four-track"]


def opposite(word: str) -> str:
    """The other side or the other hand.

    >>> opposite("inboard"), opposite("left")
    ('outboard', 'right')
    """
    return {"inboard": "outboard", "outboard": "inboard", "left": "right", "right": "left"}[word]


def unit_hand(unit: str) -> str:
    """Which hand of the machine a unit stands on.

    >>> unit_hand("rear-left"), unit_hand("right")
    ('left', 'right')
    """
    return unit.rsplit("-", 1)[-1]


def axle_of(unit: str) -> str:
    """The axle a unit belongs to.

    >>> axle_of("rear-left"), axle_of("left")
    ('rear', 'main')
    """
    return unit.split("-")[0] if "-" in unit else "main"


def units_of(axle: str) -> tuple[str, str]:
    """The left and the right unit of an axle.

    >>> units_of("front"), units_of("main")
    (('front-left', 'front-right'), ('left', 'right'))
    """
    return ("left", "right") if axle == "main" else (f"{axle}-left", f"{axle}-right")


def partner(unit: str) -> str:
    """The other unit of the same axle.

    >>> partner("front-left"), partner("right")
    ('front-right', 'left')
    """
    left, right = units_of(axle_of(unit))
    return right if unit == left else left


def hand_of(unit: str, side: str) -> str:
    """Which way a side of a unit looks, as a hand.

    >>> hand_of("left", "outboard"), hand_of("front-left", "inboard"), hand_of("rear-right", "inboard")
    ('left', 'right', 'left')
    """
    return unit_hand(unit) if side == "outboard" else opposite(unit_hand(unit))


def side_of(unit: str, hand: str) -> str:
    """Which side of a unit looks toward a hand; the inverse of `hand_of`.

    >>> side_of("front-right", "left"), side_of("front-left", "left")
    ('inboard', 'outboard')
    """
    return "outboard" if unit_hand(unit) == hand else "inboard"


def swap_hands(word: str) -> str:
    """A unit or a hand as it reads in a mirror held along the machine's middle line; other words stay.

    >>> swap_hands("front-left"), swap_hands("right"), swap_hands("inboard"), swap_hands("left-uphill")
    ('front-right', 'left', 'inboard', 'right-uphill')
    """
    flip = {"left": "right", "right": "left"}
    return "-".join(flip.get(part, part) for part in word.split("-"))


@dataclass(frozen=True, order=True)
class Place:
    """A spot on the machine: a side of a unit, a unit, an axle, a hand of the whole machine, or the machine.

    >>> Place(unit="front-right", side="inboard").key, Place(axle="front").key, Place(hand="left").key, Place().key
    ('front-right/inboard', 'front-axle', 'left-hand', 'machine')
    """

    unit: str = ""
    axle: str = ""
    side: str = ""
    hand: str = ""

    @property
    def key(self) -> str:
        """The place as it is written in keys such as `hub-hot@front-right`."""
        if self.unit:
            return f"{self.unit}/{self.side}" if self.side else self.unit
        if self.axle:
            return f"{self.axle}-axle"
        return f"{self.hand}-hand" if self.hand else "machine"

    @property
    def words(self) -> str:
        """The place as a person says it.

        >>> Place(unit="front-right", side="inboard").words, Place(hand="left").words, Place(axle="main").words
        ('front-right, inboard', 'left hand of the machine', 'both units')
        """
        if self.unit:
            return f"{self.unit}, {self.side}" if self.side else self.unit
        if self.axle:
            return "both units" if self.axle == "main" else f"{self.axle} axle"
        return f"{self.hand} hand of the machine" if self.hand else "whole machine"

    @property
    def scope(self) -> str:
        """`unit`, `axle` or `machine`."""
        return "unit" if self.unit else "axle" if self.axle else "machine"

    def mirrored(self) -> Place:
        """The same place with left and right exchanged; inboard stays inboard.

        >>> Place(unit="rear-left", side="inboard").mirrored().key
        'rear-right/inboard'
        """
        return Place(swap_hands(self.unit), self.axle, self.side, swap_hands(self.hand))


def place_from_key(key: str) -> Place:
    """Read a place key back; the inverse of `Place.key`. Raises ValueError that names the key.

    >>> place_from_key("front-right/inboard") == Place(unit="front-right", side="inboard")
    True
    >>> place_from_key("left-hand").hand, place_from_key("main-axle").axle
    ('left', 'main')
    """
    unit, slash, side = key.partition("/")
    if unit in ALL_UNITS and (side in SIDES if slash else True):
        return Place(unit=unit, side=side)
    name, _, kind = key.rpartition("-")
    if kind == "axle" and name in ALL_AXLES:
        return Place(axle=name)
    if kind == "hand" and name in HANDS:
        return Place(hand=name)
    if key in ("", "machine"):
        return Place()
    raise ValueError(f"'{key}' is not a place; write for example front-right/inboard, rear-left, front-axle, left-hand")


def covers(pattern: Place, place: Place) -> bool:
    """Whether every word the pattern names is the same in the place.

    >>> covers(Place(unit="left"), Place(unit="left", side="inboard")), covers(Place(hand="left"), Place(hand="right"))
    (True, False)
    """
    pairs = (
        (pattern.unit, place.unit),
        (pattern.axle, place.axle),
        (pattern.side, place.side),
        (pattern.hand, place.hand),
    )
    return all(not wanted or wanted == found for wanted, found in pairs)


def met_at(place: Place, at: Place) -> bool:
    """Whether somebody who works at a place meets what stands at another: on the unit, on its axle, or on the machine.

    What is said of one hand of the machine belongs to no place.

    >>> met_at(Place(axle="front"), Place(unit="front-left")), met_at(Place(axle="rear"), Place(unit="front-left"))
    (True, False)
    >>> met_at(Place(unit="left", side="inboard"), Place(unit="right")), met_at(Place(), Place(unit="right"))
    (False, True)
    """
    if place.hand:
        return False
    if place.unit and at.unit:
        return place.unit == at.unit
    axles = {one.axle or axle_of(one.unit) for one in (place, at) if one.axle or one.unit}
    return len(axles) < 2
