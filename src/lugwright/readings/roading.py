"""How hard the road is on a belt: equivalent hours, work index, flex heat. Orders of magnitude for comparing days."""

from __future__ import annotations

from dataclasses import dataclass

from lugwright.readings.uncertainty import State, against

#: Plus-or-minus of a road speed, as a share. judgement
SPEED_SHARE = 0.05


@dataclass(frozen=True)
class Severity:
    """equivalent: field hours the whole took out of the belt, both ends; index: work index of the road in t·km/h."""

    equivalent: tuple[float, float]
    index: float


def severity(
    field_h: float, road_h: float, load_t: float, speed_kmh: float, factor: tuple[float, float] = (5.0, 15.0)
) -> Severity:
    """Equivalent field hours (both ends of the factor) and the work index of the road hours.

    field_h, road_h >= 0 h; load_t: mean load on one track in t; speed_kmh: mean road speed. factor: wear of a road
    hour in field hours; trade figures run from 5 to 15, so both ends are given.
    Source: common practice for the factor; the index is by analogy with load-speed ratings of large tyres.

    >>> severity(400, 60, 10, 25)
    Severity(equivalent=(700.0, 1300.0), index=250.0)
    """
    if min(field_h, road_h, load_t, speed_kmh) < 0 or not 0 < factor[0] <= factor[1]:
        raise ValueError("hours, load and speed cannot be below zero, and a factor has two ends, the smaller first")
    return Severity((field_h + factor[0] * road_h, field_h + factor[1] * road_h), float(load_t * speed_kmh))


def flex_heat(load_ratio: float, speed_ratio: float) -> float:
    """Heat of one day's road against another's: load squared times speed, an order of magnitude only.

    >>> round(flex_heat(1.2, 1.25), 2)
    1.8
    """
    if load_ratio <= 0 or speed_ratio <= 0:
        raise ValueError("both ratios must be above zero")
    return load_ratio**2 * speed_ratio


def speed_against(speed_kmh: float, limit_kmh: float) -> State:
    """A road speed against the sheet's limit (common practice without one: 25 km/h), both in km/h.

    >>> [speed_against(speed, 25.0) for speed in (20.0, 25.5, 30.0)]
    ['inside', 'too-close', 'outside']
    """
    return against(speed_kmh, limit_kmh, SPEED_SHARE * speed_kmh)
