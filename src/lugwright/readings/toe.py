"""Toe of an axle: are the fronts of the two frames closer together than the rears, and what does it drag?"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from lugwright.readings.uncertainty import TAPE_MM, ReadingRefused, against, together

#: Limit when the sheet names none. common practice, over a track of two to three metres.
LIMIT_MM = 6.0
#: No two frames of a machine stand closer than this; a smaller figure is inches or centimetres. judgement
LEAST_MM = 300.0
#: More toe than this over one track is a mix-up of features or units. judgement
MOST_MM = 100.0


def toe(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Toe-in in mm over the measured length.

    fields: `leading`, `trailing`: distance between the same features of both frames, front and rear, in mm, 300
            at least.
    sheet:  `toe-limit` in mm, if the sheet names one.
    Adds    `toe-in` (mm): trailing minus leading, `toe-out`, its negative, and `state` against the limit: inside,
            outside or too-close. The positive one names the fault.
    Raises  ReadingRefused for a distance that no two frames have, or two that cannot be of the same features.
    Source  definition of toe in wheel alignment (common practice).

    >>> toe({"leading": 2212.0, "trailing": 2210.0}, {})["toe-in"]
    -2.0
    >>> [toe({"leading": 2210.0, "trailing": 2210.0 + mm}, {})["state"] for mm in (2.0, 6.5, 9.0)]
    ['inside', 'too-close', 'outside']
    """
    leading, trailing = float(fields["leading"]), float(fields["trailing"])
    for name, value in (("leading", leading), ("trailing", trailing)):
        if value < LEAST_MM:
            what = f"'{name}' is {value:.4g} mm; two frames cannot be that close"
            raise ReadingRefused(name, what, f"look at the unit: is it {value:.4g} in or cm? Otherwise measure again")
    toe_in = trailing - leading
    if abs(toe_in) > MOST_MM:
        what = f"front and rear differ by {abs(toe_in):g} mm, more than a track can"
        raise ReadingRefused("trailing", what, "use the same features front and rear, in one unit")
    state = against(abs(toe_in), sheet.get("toe-limit", LIMIT_MM), together(TAPE_MM, TAPE_MM))
    return {**fields, "toe-in": toe_in, "toe-out": -toe_in, "state": state}


@dataclass(frozen=True)
class Scrub:
    """What a toe costs: angle of each track in degrees, sideways sliding in m per km, drift in a ground run in mm."""

    degrees: float
    metres_per_km: float
    drift_mm: float


def scrub(toe_mm: float, length_mm: float) -> Scrub:
    """Sideways sliding of each track that a total toe makes over a measured length, both in mm.

    Each track takes half the angle: a = atan(toe / (2 length)); it slides 1000 sin a metres in each kilometre.
    Source: plane geometry.

    >>> one = scrub(10.0, 2500.0)
    >>> round(one.degrees, 3), round(one.metres_per_km, 1), round(one.drift_mm, 1)
    (0.115, 2.0, 5.0)
    """
    if length_mm <= 0:
        raise ValueError("the measured length must be above zero")
    angle = math.atan(toe_mm / (2 * length_mm))
    return Scrub(math.degrees(angle), 1000 * math.sin(angle), angle * length_mm)
