"""Readings that are compared as they are, and the difference of two sides where both were measured."""

from __future__ import annotations

from collections.abc import Mapping


def inboard_minus_outboard(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """The fields as they are; adds `inboard-minus-outboard` when both sides carry a number of the same unit.

    >>> inboard_minus_outboard({"inboard": 41.0, "outboard": 46.0}, {})["inboard-minus-outboard"]
    -5.0
    >>> inboard_minus_outboard({"slip": 0.12}, {})
    {'slip': 0.12}
    """
    inboard, outboard = fields.get("inboard"), fields.get("outboard")
    if isinstance(inboard, float) and isinstance(outboard, float):
        return {**fields, "inboard-minus-outboard": inboard - outboard}
    return dict(fields)
