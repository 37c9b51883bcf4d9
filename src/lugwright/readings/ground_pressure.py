"""Mean contact pressure of belts, and its spread where the load does not stand in the middle."""

from __future__ import annotations

from dataclasses import dataclass

from lugwright.readings.uncertainty import State, against
from lugwright.units import GRAVITY

#: Plus-or-minus of a mean pressure, as a share: weight to 1 %, length and width of the contact to a few. judgement
PLUS_MINUS_SHARE = 0.05


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
