"""Toe of an axle: are the fronts of the two frames closer together than the rears?"""

from __future__ import annotations

from collections.abc import Mapping


def toe(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Toe-in in mm over the measured length.

    fields: `leading`, `trailing`: distance between the same features of both frames, front and rear, in mm, > 0.
    Adds    `toe-in` (mm): trailing minus leading, and `toe-out`, its negative. The positive one names the fault.
    Source  definition of toe in wheel alignment (common practice).

    >>> toe({"leading": 2212.0, "trailing": 2210.0}, {})["toe-in"]
    -2.0
    """
    toe_in = float(fields["trailing"]) - float(fields["leading"])
    return {**fields, "toe-in": toe_in, "toe-out": -toe_in}
