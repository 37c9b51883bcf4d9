"""Belt tension: pressure against the band of this machine, leak-down overnight, and tension from sag or push."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Literal

from lugwright.readings.uncertainty import GAUGE_SHARE, ReadingRefused, against, together, within

#: Share under the lower end of the band from which tension counts as low. common practice: 10 %.
LOW_SHARE = 0.10

#: A tensioner under less than this, in kPa, holds nothing that could be lost. judgement
LEAST_KPA = 100.0

#: Drop overnight that is a leak. common practice: 5 to 10 %.
LEAK_SHARE = 0.10


def tension(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Pressure against the band on the sheet; without a band on the sheet nothing is compared and nothing assumed.

    fields: `pressure` in kPa and `band` (below, inside, above) as noted, either of them.
    sheet:  `tension-low` and `tension-high` in kPa.
    Adds    `under`: how far under the lower end, as a share of it, 0 where it is not under; `state`: below where that
            is clearly more than 10 %, under where it is clearly under by less, inside between the two ends, above where
            the upper end is clearly passed, or too-close where 10 % under or an end lies within the gauge's 2 %;
            `noted`: the band as noted, unless the gauge says that it is neither below nor inside but a little under.
    Raises  ReadingRefused where the band noted contradicts the pressure clearly, or the sheet's band is upside down.

    >>> band = {"tension-low": 20_000.0, "tension-high": 22_000.0}
    >>> [tension({"pressure": kpa}, band)["state"] for kpa in (17_000.0, 19_000.0, 21_000.0, 21_800.0, 23_000.0)]
    ['below', 'under', 'inside', 'too-close', 'above']
    >>> tension({"pressure": 15_000.0}, band)["under"]
    0.25
    >>> tension({"pressure": 18_000.0}, {})
    {'pressure': 18000.0}
    """
    pressure, noted = fields.get("pressure"), fields.get("band")
    found: dict[str, float | str] = dict(fields) if noted is None else {**fields, "noted": noted}
    if not isinstance(pressure, float) or not {"tension-low", "tension-high"} <= set(sheet):
        return found
    low, high = sheet["tension-low"], sheet["tension-high"]
    if low > high:
        what = f"the band on the machine sheet is upside down: tension-low {low:g} kPa, tension-high {high:g} kPa"
        raise ReadingRefused("pressure", what, "put the two numbers of the sheet right")
    state = _to_band(pressure, low, high)
    agrees = {noted, "too-close"} if noted == "above" else {noted, "too-close", "under"}
    if noted is not None and state not in agrees:
        what = f"the band is noted as {noted}, but the pressure lies {state} the band of the sheet"
        raise ReadingRefused("band", what, "keep the one that was read off the gauge")
    if state == "under":
        found.pop("noted", None)
    return {**found, "under": max(0.0, (low - pressure) / low) if low > 0 else 0.0, "state": state}


def _to_band(pressure: float, low: float, high: float) -> Literal["below", "under", "inside", "above", "too-close"]:
    """Below counts from 10 % under the lower end, in kPa; a little under it is a way of its own.

    >>> [_to_band(bar * 100.0, 19_000.0, 21_000.0) for bar in (150, 173, 180, 188, 200, 208, 220)]
    ['below', 'too-close', 'under', 'too-close', 'inside', 'too-close', 'above']
    """
    half = GAUGE_SHARE * pressure
    slack = against(pressure, low * (1 - LOW_SHARE), half, "below")
    if slack == "outside":
        return "below"
    lies = within(pressure, low, high, half)
    return lies if lies != "below" else "under" if slack == "inside" else "too-close"


def leak_down(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Drop of pressure over a night: what was lost lies between the raw drop and the one corrected for temperature.

    fields: `evening`, `morning` in kPa; `evening-temperature`, `morning-temperature` in degC, both or neither.
    Adds    `drop`: raw, as a share of the evening's pressure, negative where it rose; `drop-least`, `drop-most`: the
            smaller and the larger of the raw and the corrected one; `state` against 10 %: outside or inside where both
            are, else too-close.
    Raises  ReadingRefused for less than 1 bar in the evening, one temperature without the other, or a pressure that
            rose, raw and corrected, by more than gauge and limit together explain: evening and morning swapped would
            hide a leak.
    Source  gas law for the gas charge: absolute pressure follows absolute temperature. The correction is an upper
            bound, since only the gas side follows it.

    >>> round(float(leak_down({"evening": 20_000.0, "morning": 16_000.0}, {})["drop"]), 3)
    0.2
    >>> cold = {"evening": 20_000.0, "morning": 19_300.0, "evening-temperature": 30.0, "morning-temperature": 18.0}
    >>> leak_down(cold, {})["state"], leak_down({**cold, "morning": 16_500.0}, {})["state"]
    ('inside', 'outside')
    >>> leak_down({**cold, "morning": 17_200.0}, {})["state"]
    'too-close'
    """
    evening, morning = float(fields["evening"]), float(fields["morning"])
    if evening < LEAST_KPA:
        raise ReadingRefused("evening", f"there was no pressure in the evening ({evening:.3g} kPa)", "charge it first")
    warm, cold = fields.get("evening-temperature"), fields.get("morning-temperature")
    if (warm is None) != (cold is None):
        raise ReadingRefused(
            "morning-temperature", "only one of the two temperatures is written", "write both, or neither"
        )
    expected = evening
    if isinstance(warm, float) and isinstance(cold, float):
        expected = (evening + 101.325) * (cold + 273.15) / (warm + 273.15) - 101.325
        if expected < LEAST_KPA:
            what = "at the morning's temperature nothing of the evening's pressure would be left"
            raise ReadingRefused("morning-temperature", what, "look at the two temperatures and their units")
    drop = (evening - morning) / evening
    least, most = sorted((drop, (expected - morning) / expected))
    half = together(GAUGE_SHARE, GAUGE_SHARE)
    if most < -LEAK_SHARE - half:
        what = f"the pressure rose overnight by {-drop * 100:.0f} %, which no tensioner does by itself"
        raise ReadingRefused("morning", what, "evening and morning look swapped, or the unit is wrong")
    states = {against(least, LEAK_SHARE, half), against(most, LEAK_SHARE, half)}
    state = states.pop() if len(states) == 1 else "too-close"
    return {**fields, "drop": drop, "drop-least": least, "drop-most": most, "state": state}


def from_sag(weight_n_per_m: float, span_m: float, sag_m: float) -> float:
    """Pull in N of a hanging run: weight per length x span squared / (8 x sag), all > 0.

    Bending stiffness of a belt can shift this by half: a figure for a trend, not for a setting.
    Source: parabola of a shallow cable, as in any statics text; below catenary by 1.3 % at sag/span 0.1.

    >>> round(from_sag(1079.0, 1.6, 0.010) / 1000, 1)
    34.5
    """
    _positive(weight_n_per_m, span_m, sag_m)
    return weight_n_per_m * span_m**2 / (8 * sag_m)


def from_catenary(weight_n_per_m: float, span_m: float, sag_m: float) -> tuple[float, float]:
    """Horizontal and greatest pull in N of the same run, exactly: sag = c (cosh(span / 2c) - 1), pull = weight x c.

    Source: catenary, as in any statics text.

    >>> [round(pull) for pull in from_catenary(3.0, 500.0, 100.0)]
    [984, 1284]
    """
    _positive(weight_n_per_m, span_m, sag_m)
    low, high = span_m / 1400, span_m**2 / (8 * sag_m) + sag_m
    for _ in range(200):
        c = (low + high) / 2
        low, high = (c, high) if c * (math.cosh(span_m / (2 * c)) - 1) > sag_m else (low, c)
    return weight_n_per_m * c, weight_n_per_m * (c + sag_m)


def from_push(push_n: float, span_m: float, deflection_m: float) -> float:
    """Pull in N from a push in the middle of a straight run: push x span / (4 x deflection), all > 0.

    Source: balance of forces at the middle, small deflection.

    >>> round(from_push(500.0, 1.6, 0.005) / 1000)
    40
    """
    _positive(push_n, span_m, deflection_m)
    return push_n * span_m / (4 * deflection_m)


def _positive(*values: float) -> None:
    if min(values) <= 0:
        raise ValueError("weight or push, span and sag must be above zero")
