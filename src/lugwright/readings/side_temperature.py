"""Temperatures of the two lug faces after a straight run: is one face working harder, or are both?"""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.readings.uncertainty import SAME_FACE_K, ReadingRefused, against, together, within_reach

#: Difference that calls for alignment when the sheet names none. common practice: 5 to 10 K in use, 8 K taken.
LIMIT_K = 8.0
#: Rise of both faces over the air that counts as hot. common practice: 25 to 30 K.
BOTH_K = 27.5
#: No rubber face is colder or hotter than this in use. judgement: above it the rubber is burning.
FACE_C = (-50.0, 300.0)
#: Lugs that have just run are never this much colder than the air, in K. judgement: error of two instruments.
UNDER_AIR_K = 5.0
#: Minutes between the two sides beyond which lugs have cooled too much to be compared. common practice: 2 to 3 min.
MOST_MINUTES = 5.0


def side_temperature(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """How much hotter one lug face is than the other, in kelvin.

    fields: `inboard`, `outboard`: mean surface temperatures of five or more lugs, in degC; if noted `air` (degC) and
            `apart` (h): the time between the two sides.
    sheet:  `lug-temperature-limit` in K, if the sheet names one.
    Adds    `inboard-excess` and `outboard-excess` (K, one the negative of the other), `difference` (K, >= 0), `state`
            of the difference against the limit, and with the air `both-state`: outside when both faces are clearly
            hot and even, inside when they are even and near the air, or uneven and even the hotter one is near it.
    Raises  ReadingRefused where the two sides were read too far apart, for a face no rubber can have, or for air that
            is clearly hotter than both faces.
    Source  difference of two readings with the same instrument and emissivity, so their common error drops out.

    >>> side_temperature({"inboard": 61.0, "outboard": 48.0}, {})["inboard-excess"]
    13.0
    >>> side_temperature({"inboard": 61.0, "outboard": 60.0, "air": 20.0}, {})["both-state"]
    'outside'
    """
    inboard, outboard = float(fields["inboard"]), float(fields["outboard"])
    for name, value in (("inboard", inboard), ("outboard", outboard)):
        within_reach(name, value, FACE_C, "°C", "a rubber face")
    apart = fields.get("apart")
    if isinstance(apart, float) and apart * 60 > MOST_MINUTES:
        what = f"the two sides were read {apart * 60:.3g} min apart; lugs cool within {MOST_MINUTES:g} min"
        raise ReadingRefused("apart", what, "run again and read both sides at once")
    excess = inboard - outboard
    half = together(SAME_FACE_K, SAME_FACE_K)
    limit = sheet.get("lug-temperature-limit", LIMIT_K)
    found: dict[str, float | str] = {
        **fields,
        "inboard-excess": excess,
        "outboard-excess": -excess,
        "difference": abs(excess),
        "state": against(abs(excess), limit, half),
    }
    air = fields.get("air")
    if isinstance(air, float):
        if air > max(inboard, outboard) + UNDER_AIR_K:
            what = f"the air is written as {air:.3g} °C, hotter than both faces"
            raise ReadingRefused("air", what, "lugs that have just run are not colder than the air; look at the unit")
        cooler, hotter = (against(one - air, BOTH_K, half) for one in sorted((inboard, outboard)))
        even = against(abs(excess), limit, half) == "inside"
        found["both-state"] = cooler if even else "inside" if hotter == "inside" else "too-close"
    return found


def toward(inboard: float, outboard: float, limit: float = LIMIT_K) -> str:
    """Which way the belt wants to move: toward the cooler side; `nowhere` when even, `repeat` when too close to call.

    inboard, outboard in degC, limit in K.

    >>> toward(61.0, 48.0), toward(48.0, 61.0), toward(50.0, 49.0), toward(57.0, 49.0)
    ('outboard', 'inboard', 'nowhere', 'repeat')
    """
    state = against(abs(inboard - outboard), limit, together(SAME_FACE_K, SAME_FACE_K))
    if state == "too-close":
        return "repeat"
    return "nowhere" if state == "inside" else "outboard" if inboard > outboard else "inboard"
