"""Mean contact pressure of belts, and its spread where the load does not stand in the middle."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lugwright.readings.uncertainty import ReadingRefused, State, against, within_reach
from lugwright.units import GRAVITY

#: Plus-or-minus of a mean pressure, as a share: weight to 1 %, length and width of the contact to a few. judgement
PLUS_MINUS_SHARE = 0.05
#: What can be: mass on one unit in kg, contact length and width in mm, limit in kPa. judgement
MASS_KG, LENGTH_MM, WIDTH_MM, LIMIT_KPA = (100.0, 50_000.0), (300.0, 8000.0), (100.0, 1500.0), (10.0, 1000.0)


@dataclass(frozen=True)
class Contact:
    """Pressures in kPa under a contact, and the length in m that carries."""

    mean: float
    most: float
    least: float
    length: float

    def against(self, limit: float) -> State:
        """The mean pressure against a limit in kPa.

        >>> contact(20_000, 2.5, 0.63).against(60.0), contact(20_000, 2.5, 0.63).against(80.0)
        ('too-close', 'inside')
        """
        return against(self.mean, limit, PLUS_MINUS_SHARE * self.mean)


def contact(mass_kg: float, length_m: float, width_m: float, belts: int = 2, off_centre_m: float = 0.0) -> Contact:
    """Pressure under equal belts; the load may stand ahead of or behind the middle of the contact.

    All above zero; off_centre_m: distance of the load from the middle, less than half the length. Beyond a sixth of
    the length one end lifts and a triangle carries. Real peaks stand under the rollers, so this compares machines and
    ballast; it is no check of a roller. The allowance for sinking of ISO 16754 is not applied.
    Source: eccentric footing formulas of statics.

    >>> one = contact(3600, 1.5, 0.45, off_centre_m=0.15)
    >>> round(one.mean, 2), round(one.most, 2), round(one.least, 2)
    (26.15, 41.84, 10.46)
    >>> round(contact(20_000, 2.5, 0.63).mean, 1)
    62.3
    """
    if min(mass_kg, length_m, width_m) <= 0 or belts < 1:
        raise ValueError("mass, length and width must be above zero, and there is at least one belt")
    off = abs(off_centre_m)
    if off >= length_m / 2:
        raise ValueError("the load stands outside the contact: the machine would tip")
    load = mass_kg * GRAVITY / 1000 / belts
    mean = load / (length_m * width_m)
    if off <= length_m / 6:
        lean = 6 * off / length_m
        return Contact(mean, mean * (1 + lean), mean * (1 - lean), length_m)
    carrying = 3 * (length_m / 2 - off)
    return Contact(mean, 2 * load / (carrying * width_m), 0.0, carrying)


def ground_pressure(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Mean contact pressure under one unit, against the limit that was written or stands on the sheet.

    fields: `mass` on the unit in kg (100 to 50 000), `length` (300 to 8000) and `width` (100 to 1500) of the contact in
            mm; if known `limit` in kPa (10 to 1000) and `off-middle`, how far from the middle the load stands, in mm.
    sheet:  `ground-pressure-limit` in kPa, where `limit` is not written.
    Adds    `mean` and `most` in kPa; with a limit `state` of the mean. Without one nothing is assumed.
    Raises  ReadingRefused outside these ranges, or for a load that stands outside the contact.

    >>> belt = {"mass": 10_000.0, "length": 2500.0, "width": 630.0}
    >>> round(float(ground_pressure(belt, {})["mean"]), 1), ground_pressure({**belt, "limit": 50.0}, {})["state"]
    (62.3, 'outside')
    """
    mass = within_reach("mass", float(fields["mass"]), MASS_KG, "kg", "the mass on one unit")
    length = within_reach("length", float(fields["length"]), LENGTH_MM, "mm", "the contact of a belt")
    width = within_reach("width", float(fields["width"]), WIDTH_MM, "mm", "the width of a belt")
    off = float(fields.get("off-middle", 0.0))
    if not 0 <= off < length / 2:
        what = f"'off-middle' is {off:.4g} mm; the load of a belt stands within {length / 2:.4g} mm of it"
        raise ReadingRefused("off-middle", what, "measure it from the middle of the contact")
    one = contact(mass, length / 1000, width / 1000, belts=1, off_centre_m=off / 1000)
    found: dict[str, float | str] = {**fields, "mean": one.mean, "most": one.most}
    limit = fields.get("limit", sheet.get("ground-pressure-limit"))
    if isinstance(limit, float):
        found["state"] = one.against(within_reach("limit", limit, LIMIT_KPA, "kPa", "a limit of ground pressure"))
    return found
