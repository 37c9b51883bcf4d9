"""How hard the road is on a belt: equivalent hours, work index, flex heat. Orders of magnitude for comparing days."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lugwright.readings.uncertainty import SCALE_SHARE, ReadingRefused, State, against, together, within_reach

#: Plus-or-minus of a road speed, as a share. judgement
SPEED_SHARE = 0.05
#: Road speed in km/h for a light tool and a cool day, when the sheet names none. common practice
SPEED_KMH = 25.0
#: Air in degC of a cool day, and the heat of rubber that is too much (common practice: 65 degC). judgement
COOL_C, HOT_C = 20.0, 65.0
#: Plus-or-minus of an air temperature noted on the road, in K. judgement
AIR_K = 2.0
#: What a run can be: km/h, km, h, degC, kg; and load over what is allowed. judgement
RUN_KMH, RUN_KM, RUN_H, AIR_C, MASS_KG = (1.0, 80.0), (0.1, 2000.0), (0.01, 100.0), (-40.0, 50.0), (200.0, 100_000.0)
MOST_LOAD = 3.0


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


def road_run(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Flex heat of a road run against a run at the sheet's speed, at the load allowed, on a cool day of 20 degC.

    fields: `distance` in km with `speed` in km/h or `time` in h, or both; `air` in degC; with a weighed load `load`
            and `rated` (mass allowed) in kg.
    sheet:  `roading-speed` in km/h; without it 25 km/h (common practice).
    Adds    `pace` (km/h), `lasts` (h), `heat` (share: speed ratio x load ratio squared x 45 K over what the air leaves
            up to 65 degC) and `state` of the heat against 100 %.
    Raises  ReadingRefused for figures no run can have, or a speed and a time that do not belong together.
    Source  flex heat by load squared times speed, an order of magnitude; the allowance for the air is a judgement.

    >>> run = {"distance": 40.0, "speed": 25.0, "air": 20.0, "load": 9000.0, "rated": 9000.0}
    >>> [road_run({**run, "speed": kmh}, {})["state"] for kmh in (18.0, 25.0, 32.0)]
    ['inside', 'too-close', 'outside']
    >>> round(float(road_run({**run, "air": 35.0}, {})["heat"]), 2)
    1.5
    """
    way = within_reach("distance", float(fields["distance"]), RUN_KM, "km", "a road run")
    air = within_reach("air", float(fields["air"]), AIR_C, "degC", "air")
    pace, lasts = _pace(way, fields)
    limit = sheet.get("roading-speed", SPEED_KMH)
    if limit <= 0:
        raise ReadingRefused("speed", "the road speed on the machine sheet is zero", "put the sheet right")
    ratio = _load_ratio(fields)
    heat = flex_heat(ratio, pace / limit) * (HOT_C - COOL_C) / (HOT_C - air)
    half = heat * together(SPEED_SHARE, 2 * together(SCALE_SHARE, SCALE_SHARE), AIR_K / (HOT_C - air))
    return {**fields, "pace": pace, "lasts": lasts, "heat": heat, "state": against(heat, 1.0, half)}


def _pace(way: float, fields: Mapping[str, float | str]) -> tuple[float, float]:
    """Mean speed in km/h and time in h, one from the other where only one is written."""
    speed, time = fields.get("speed"), fields.get("time")
    if isinstance(time, float):
        within_reach("time", time, RUN_H, "h", "the time of a road run")
        pace = way / time
        if not RUN_KMH[0] <= pace <= RUN_KMH[1]:
            what = f"{way:.4g} km in {time:.3g} h is {pace:.3g} km/h, which is no road speed of a belt machine"
            raise ReadingRefused("time", what, "look for a slipped digit or a wrong unit, and leave stops out")
        if isinstance(speed, float) and abs(speed - pace) > 0.15 * pace:
            what = f"{way:.4g} km in {time:.3g} h is {pace:.3g} km/h, and {speed:.3g} km/h is written"
            raise ReadingRefused("speed", what, "keep distance and time, or distance and mean speed; leave stops out")
        return pace, time
    if isinstance(speed, float):
        pace = within_reach("speed", speed, RUN_KMH, "km/h", "the road speed of a belt machine")
        return pace, way / pace
    raise ReadingRefused("speed", "neither a speed nor a time is written", "write one of the two")


def _load_ratio(fields: Mapping[str, float | str]) -> float:
    load, rated = fields.get("load"), fields.get("rated")
    if (load is None) != (rated is None):
        raise ReadingRefused("load" if load is None else "rated", "only one of load and rated is written", "write both")
    if not isinstance(load, float) or not isinstance(rated, float):
        return 1.0
    for name, mass in (("load", load), ("rated", rated)):
        within_reach(name, mass, MASS_KG, "kg", "the mass of a belt machine, or of what one unit carries,")
    if not 1 / MOST_LOAD <= load / rated <= MOST_LOAD:
        what = f"{load:.5g} kg and {rated:.5g} kg allowed are not of one thing"
        raise ReadingRefused("load", what, "weigh what the figure of the plate is for, in one unit")
    return load / rated
