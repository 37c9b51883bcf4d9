"""Temperatures of the two lug faces after a straight run: is one face working harder?"""

from __future__ import annotations

from collections.abc import Mapping


def side_temperature(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """How much hotter one lug face is than the other, in kelvin.

    fields: `inboard`, `outboard`: mean surface temperatures of five or more lugs, in degC.
    Adds    `inboard-excess` and `outboard-excess` (K, one the negative of the other) and `difference` (K, >= 0).
    Source  difference of two readings with the same instrument and emissivity, so their common error drops out.

    >>> side_temperature({"inboard": 61.0, "outboard": 48.0}, {})["inboard-excess"]
    13.0
    """
    excess = float(fields["inboard"]) - float(fields["outboard"])
    return {**fields, "inboard-excess": excess, "outboard-excess": -excess, "difference": abs(excess)}
