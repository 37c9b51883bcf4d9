"""Bar heights across the belt: is one half lower than the other, by more than bars differ among themselves?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lugwright.readings.uncertainty import CALLIPER_MM, ReadingRefused, against, together
from lugwright.readings.welch import Compared, compare, welch

#: Smallest difference of the halves that matters. common practice: 3 mm.
HALVES_MM = 3.0
#: A bar higher than this is not one. judgement
MOST_MM = 300.0


def tread_profile(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Difference of the two halves and whether it is more than chance and gauge can make.

    fields: `inboard`, `outboard`: mean bar heights in mm; if noted `inboard-spread`, `outboard-spread` (standard
            deviations in mm) and `bars`: bars measured on each half.
    Adds    `inboard-minus-outboard` (mm) and `state` of its size against 3 mm; with spreads by Welch's interval.
    Raises  ReadingRefused for a bar taller than any, a spread below zero, or spreads without the number of bars.

    >>> tread_profile({"inboard": 41.0, "outboard": 46.0}, {})
    {'inboard': 41.0, 'outboard': 46.0, 'inboard-minus-outboard': -5.0, 'state': 'outside'}
    """
    inboard, outboard = float(fields["inboard"]), float(fields["outboard"])
    for name, value in (("inboard", inboard), ("outboard", outboard)):
        if value > MOST_MM:
            raise ReadingRefused(name, f"'{name}' is {value:g} mm; no bar is that high", "look at the unit")
    half = together(CALLIPER_MM, CALLIPER_MM)
    spreads = [fields.get(name) for name in ("inboard-spread", "outboard-spread")]
    bars = fields.get("bars")
    for name, spread in zip(("inboard-spread", "outboard-spread"), spreads, strict=True):
        if isinstance(spread, float) and spread < 0:
            raise ReadingRefused(name, f"'{name}' is {spread:g} mm; a spread cannot be below zero", "read it again")
    if any(isinstance(one, float) for one in spreads):
        if not all(isinstance(one, float) for one in spreads) or not isinstance(bars, float) or bars < 2:
            raise ReadingRefused(
                "bars", "a spread needs both halves and the number of bars, two at least", "add what is missing"
            )
        n = int(bars)
        compared = welch(inboard, float(spreads[0] or 0), n, outboard, float(spreads[1] or 0), n)
        half = together(half, compared.plus_minus)
    difference = inboard - outboard
    return {**fields, "inboard-minus-outboard": difference, "state": against(abs(difference), HALVES_MM, half)}


def halves(inboard: Sequence[float], outboard: Sequence[float]) -> Compared:
    """Single bar heights in mm, four or more on each half: inboard against outboard by Welch's test.

    >>> one = halves([38, 39, 38, 40], [44, 45, 44, 46])
    >>> round(one.difference, 2), one.matters(HALVES_MM)
    (-6.0, 'outside')
    """
    for name, values in (("inboard", inboard), ("outboard", outboard)):
        if len(values) < 4:
            raise ReadingRefused(name, f"{len(values)} bars; four at least, spread round the belt, are needed")
    return compare(inboard, outboard)
