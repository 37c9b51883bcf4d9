"""Load transfer on a side slope: what each track carries, the side force, and the static tipping angle."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from lugwright.readings.uncertainty import ReadingRefused, State, against, together, within_reach

#: Plus-or-minus of a slope read with a level on a phone or board, in degrees. judgement
LEVEL_DEG = 1.0
#: Plus-or-minus of height over gauge, as a share: nobody sees a centre of gravity. judgement
HEIGHT_SHARE = 0.10
#: Share of the downhill track from which a belt wears faster for it. common practice: 55 to 45, as on the scales.
SHARE_LIMIT = 0.55
#: What a side slope, a track gauge and a centre of gravity can be, in degrees and mm. judgement
SLOPE_DEG, GAUGE_MM, HEIGHT_MM = (0.0, 45.0), (800.0, 5000.0), (200.0, 3000.0)


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


def side_slope(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """What the downhill side carries on the usual side slope, against the 55 % that explain uneven wear.

    fields: `slope` in degrees, 0 to 45; `gauge` (800 to 5000) and `height` of the centre of gravity (200 to 3000) in
            mm; `uphill`: the hand that looks uphill, left, right or changing.
    Adds    `downhill-share` (share of the load) and its `state`: inside, outside or too-close.
    Raises  ReadingRefused outside these ranges, or where the machine would already have tipped.

    >>> one = side_slope({"slope": 12.0, "gauge": 2200.0, "height": 1100.0, "uphill": "left"}, {})
    >>> round(float(one["downhill-share"]), 3), one["state"]
    (0.606, 'outside')
    """
    slope = within_reach("slope", float(fields["slope"]), SLOPE_DEG, "degrees", "a side slope that is worked")
    gauge = within_reach("gauge", float(fields["gauge"]), GAUGE_MM, "mm", "a gauge, track middle to track middle,")
    height = within_reach("height", float(fields["height"]), HEIGHT_MM, "mm", "a centre of gravity above the ground")
    if slope > tip_angle(height, gauge):
        what = f"at {slope:.3g} degrees the uphill side would carry nothing, and the machine would have tipped"
        raise ReadingRefused("slope", what, "look at slope, gauge and height again")
    share = on_side_slope(1.0, slope, height, gauge).share
    level = height / gauge * math.radians(LEVEL_DEG) / math.cos(math.radians(slope)) ** 2
    half = together(level, HEIGHT_SHARE * (share - 0.5))
    return {**fields, "downhill-share": share, "state": against(share, SHARE_LIMIT, half)}
