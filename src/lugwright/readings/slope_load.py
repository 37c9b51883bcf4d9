"""Load transfer on a side slope: what each track carries, the side force, and the static tipping angle."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lugwright.readings.uncertainty import State, against

#: Plus-or-minus of a slope read with a level on a phone or board, in degrees. judgement
LEVEL_DEG = 1.0


@dataclass(frozen=True)
class OnSlope:
    """Loads across the slope in the unit of the weight; share: of the normal load on the downhill track."""

    downhill: float
    uphill: float
    sideways: float
    share: float


def on_side_slope(weight: float, slope_deg: float, height: float, gauge: float) -> OnSlope:
    """Normal loads of the two tracks, and the force along the slope.

    weight > 0; slope 0 to 90 degrees; height of the centre of gravity and gauge (track middle to track middle) in one
    unit, > 0. Pivoting axles carry the weight on three points and tip sooner: this is for two stiff tracks.
    Raises ValueError outside these ranges, or where the machine would already have tipped.
    Source: balance of forces and moments (statics).

    >>> one = on_side_slope(196.2, 12.0, 1.1, 2.2)
    >>> round(one.downhill, 1), round(one.uphill, 1), round(one.sideways, 1), round(one.share, 3)
    (116.4, 75.6, 40.8, 0.606)
    """
    if weight <= 0 or height <= 0 or gauge <= 0 or not 0 <= slope_deg < 90:
        raise ValueError("weight, height and gauge must be above zero, and the slope from 0 to below 90 degrees")
    if slope_deg > tip_angle(height, gauge):
        raise ValueError(f"at {slope_deg:g} degrees the uphill track carries nothing: the machine tips")
    angle = math.radians(slope_deg)
    even, moved = math.cos(angle) / 2, height / gauge * math.sin(angle)
    down, up = weight * (even + moved), weight * (even - moved)
    return OnSlope(down, up, weight * math.sin(angle), down / (down + up))


def tip_angle(height: float, gauge: float) -> float:
    """Slope in degrees at which the uphill track carries nothing. Dynamics, soft soil and tools take a lot off it.

    It is no permission: the operator's manual says on which slopes a machine may work.
    Source: statics; static stability factor gauge / (2 height).

    >>> round(tip_angle(1.1, 2.2), 6)
    45.0
    """
    return math.degrees(math.atan(gauge / (2 * height)))


def slope_against(slope_deg: float, limit_deg: float, plus_minus: float = LEVEL_DEG) -> State:
    """A slope against the limit of the operator's manual, both in degrees.

    >>> [slope_against(slope, 12.0) for slope in (8.0, 11.5, 15.0)]
    ['inside', 'too-close', 'outside']
    """
    return against(slope_deg, limit_deg, plus_minus)
