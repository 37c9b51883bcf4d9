"""The parts of a unit in walking order, and how figures are typed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

from lugwright.walkround.question import NotUnderstood

if TYPE_CHECKING:
    from lugwright.rulebase.schema import ReadingField

#: Parts in the order in which one walks along a unit, with what one calls them.
STATIONS = {
    "idlers": "Idlers, front first",
    "mid-rollers": "Mid-rollers",
    "lugs": "Lugs",
    "drive-wheel": "Drive wheel",
    "scrapers": "Scrapers",
    "hubs": "Hubs",
    "tread": "Tread",
    "carcass": "Carcass of the belt",
    "tensioner": "Tensioner",
    "frame": "Frame",
    "fasteners": "Bolts and pins",
}
IS_ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
EXAMPLES = {
    "length": "8 mm", "temperature": "41 °C", "temperature-difference": "12 K", "pressure": "120 bar", "hours": "900 h",
    "share": "12 %", "mass": "18 t", "angle": "0.5°", "torque": "130 N·m", "count": "3", "years": "4 years",
    "speed": "20 km/h", "distance": "300 m", "word": "...",
}  # fmt: skip
#: The same where the usual figure of that quantity could not be one: (computation, field) -> figure.
EXAMPLES_OF = {
    ("toe", "leading"): "2210 mm", ("toe", "trailing"): "2214 mm",
    ("lug-size", "width-new"): "90 mm", ("lug-size", "width-now"): "84 mm",
    ("tread-profile", "inboard"): "41 mm", ("tread-profile", "outboard"): "42 mm",
    ("leak-down", "morning"): "118 bar", ("hub-heat", "peer-2"): "43 °C", ("road-run", "speed"): "30 km/h",
    ("ground-pressure", "mass"): "6 t", ("ground-pressure", "length"): "2400 mm",
    ("ground-pressure", "width"): "600 mm",
    ("belt-grip", "bore"): "90 mm", ("belt-grip", "mass"): "6 t",
    ("sag-tension", "span"): "1200 mm", ("sag-tension", "sag"): "12 mm", ("sag-tension", "bore"): "90 mm",
    ("sag-tension", "metre-mass"): "60 kg",
    ("side-slope", "slope"): "6°", ("side-slope", "gauge"): "2000 mm", ("side-slope", "height"): "1100 mm",
    ("road-run", "distance"): "12 km", ("road-run", "air"): "22 °C",
}  # fmt: skip
_FIGURE = re.compile(r"\s*([a-z][a-z0-9-]*)\s*[:= ]\s*(.+?)\s*")


def figures(text: str, reading: Mapping[str, ReadingField]) -> dict[str, str]:
    """Figures as typed, `inboard 1 mm, outboard 15 mm`, by name. Raises NotUnderstood.

    >>> figures("inboard: 1 mm, outboard 3/4 in", {"inboard": ..., "outboard": ...})
    {'inboard': '1 mm', 'outboard': '3/4 in'}
    """
    found: dict[str, str] = {}
    for piece in re.split(r"[,;]\s*(?=[a-z])", text):
        match = _FIGURE.fullmatch(piece)
        if not match or match[1] not in reading:
            name = match[1] if match else piece.strip()
            raise NotUnderstood(f"'{name[:40]}' is not a figure of this check; its figures are {', '.join(reading)}")
        found[match[1]] = match[2]
    return found
