"""The units a person may write, by kind of quantity, with their factors to one base unit.

Factors: NIST SP 811 (2008), appendix B. The inch, foot, mile, pound, kilogram-force, bar and mile per hour are exact
there; the pound-force, the foot-pound and the psi are computed here from those exact definitions and agree with its
rounded figures.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

INCH = 25.4  # mm, exact
FOOT = 304.8  # mm, exact
MILE = 1.609344  # km, exact
POUND = 0.45359237  # kg, exact
GRAVITY = 9.80665  # m/s2, exact by convention
POUND_FORCE = POUND * GRAVITY  # N
FOOT_POUND = POUND_FORCE * 0.3048  # N·m
PSI = POUND_FORCE / 0.0254**2 / 1000  # kPa


@dataclass(frozen=True)
class Kind:
    """One kind of quantity: its name in a sentence, base unit, units by spelling, and the range that makes sense."""

    name: str
    base: str
    units: dict[str, Callable[[float], float]]
    fits: str
    least: float
    most: float


def _times(factor: float) -> Callable[[float], float]:
    return lambda number: number * factor


def _slope(percent: float) -> float:
    return math.degrees(math.atan(percent / 100))


def _units(*rows: tuple[str, float | Callable[[float], float]]) -> dict[str, Callable[[float], float]]:
    """Spellings (without spaces, dots and hyphens, lower case) with their factor or function to the base unit."""
    return {
        spelling: action if callable(action) else _times(action) for words, action in rows for spelling in words.split()
    }


_LENGTHS = (
    ("mm millimetre millimetres millimeter millimeters", 1.0), ("cm", 10.0), ("m metre metres meter meters", 1000.0),
    ("in inch inches ″ \"", INCH), ("ft foot feet ′ '", FOOT), ("µm μm um", 0.001), ("thou", INCH / 1000),
)  # fmt: skip

KINDS: dict[str, Kind] = {
    "length": Kind("a length", "mm", _units(*_LENGTHS), "mm, cm, m, in or ft, for example 6 mm or 1/4 in", -1e6, 1e6),
    "distance": Kind(
        "a distance", "km",
        _units(("km kilometre kilometres kilometer kilometers", 1.0), ("m metre metres meter meters", 0.001),
               ("mi mile miles", MILE), ("ft foot feet", FOOT / 1e6)),
        "km, m or mile, for example 12 km", 0, 1e7,
    ),
    "temperature": Kind(
        "a temperature", "°C",
        _units(("°c c degc celsius", 1.0), ("°f f degf fahrenheit", lambda number: (number - 32) * 5 / 9)),
        "°C or °F, for example 68 °C", -90, 2000,
    ),
    "temperature-difference": Kind(
        "a temperature difference", "K",
        _units(("k °c c degc kelvin celsius", 1.0), ("°f f degf fahrenheit", 5 / 9)),
        "K, °C or °F, for example 8 K", -2000, 2000,
    ),
    "pressure": Kind(
        "a pressure", "kPa",
        _units(("kpa", 1.0), ("bar bars", 100.0), ("psi lbf/in2", PSI), ("mpa n/mm2", 1000.0),
               ("kgf/cm2 kg/cm2 kp/cm2", GRAVITY * 10)),
        "bar, kPa, MPa, psi or kgf/cm2, for example 120 bar", 0, 1e6,
    ),
    "torque": Kind(
        "a torque", "N·m",
        _units(("nm", 1.0), ("lbfft ftlbf lbft ftlb ftlbs lbsft", FOOT_POUND),
               ("lbfin inlbf lbin inlb inlbs lbsin", FOOT_POUND / 12), ("kgfm mkgf kgm mkg", GRAVITY)),
        "N·m, lbf·ft or lbf·in, for example 130 N·m", 0, 1e6,
    ),
    "angle": Kind(
        "an angle", "deg",
        _units(("deg ° degree degrees", 1.0), ("turn turns rev revs", 360.0), ("% percent %slope", _slope)),
        "deg, turn or %, for example 12 deg, 1/2 turn or 20 %", -36000, 36000,
    ),
    "hours": Kind(
        "a time in hours", "h", _units(("h hr hrs hour hours", 1.0), ("min mins minute minutes", 1 / 60)),
        "h or min, for example 100 h", 0, 1e6,
    ),
    "years": Kind(
        "an age in years", "years", _units(("years year yr yrs a", 1.0), ("months month", 1 / 12)),
        "years or months, for example 3 years", 0, 200,
    ),
    "share": Kind("a share", "", _units(("% percent", 0.01)), "%, for example 15 %", 0, 1),
    "mass": Kind(
        "a mass", "kg",
        _units(("kg kilogram kilograms", 1.0), ("t tonne tonnes", 1000.0), ("lb lbs pound pounds", POUND),
               ("shortton shorttons", POUND * 2000), ("longton longtons", POUND * 2240), ("stone", POUND * 14)),
        "kg, t or lb, for example 19800 kg", 0, 1e7,
    ),
    "speed": Kind(
        "a speed", "km/h", _units(("km/h kmh kph", 1.0), ("mph mile/h miles/h mi/h", MILE), ("m/s", 3.6)),
        "km/h, mph or m/s, for example 25 km/h", 0, 500,
    ),
    "count": Kind("a count", "", {"": _times(1.0)}, "no unit, only a whole number, for example 3", 0, 1e6),
}  # fmt: skip

UNCLEAR = {
    "ton": "a ton may be 907, 1000 or 1016 kg; write t for the metric ton, or short ton, or long ton",
    "tons": "a ton may be 907, 1000 or 1016 kg; write t for the metric ton, or short ton, or long ton",
    "st": "st may be a stone or a short ton; write kg, t or lb",
}
