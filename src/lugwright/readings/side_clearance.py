"""Lug-to-flank clearance after a straight coast: is the belt centred, and if not, which face is tight?"""

from __future__ import annotations

from collections.abc import Mapping

#: Gauge thickness when the machine sheet names none. common practice: 6 mm, a quarter inch.
SHIM_MM = 6.0


def side_clearance(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Total clearance, offset of the belt, and the face that does not take the shim.

    fields: `inboard`, `outboard`, clearances in mm, each >= 0.
    sheet:  `shim-thickness` in mm, if the sheet names one.
    Adds    `total` (mm), `offset` (mm, half of outboard minus inboard: positive when the inboard face is the tighter
            one) and `tight`: inboard, outboard, both or none.
    Source  statics of a guide lug between two flanks: the two clearances add up to a fixed total.

    >>> side_clearance({"inboard": 4.0, "outboard": 14.0}, {})
    {'inboard': 4.0, 'outboard': 14.0, 'total': 18.0, 'offset': 5.0, 'tight': 'inboard'}
    >>> side_clearance({"inboard": 8.0, "outboard": 9.0}, {"shim-thickness": 6.0})["tight"]
    'none'
    """
    inboard, outboard = float(fields["inboard"]), float(fields["outboard"])
    shim = sheet.get("shim-thickness", SHIM_MM)
    binds = [side for side, gap in (("inboard", inboard), ("outboard", outboard)) if gap < shim]
    tight = binds[0] if len(binds) == 1 else "both" if binds else "none"
    return {**fields, "total": inboard + outboard, "offset": (outboard - inboard) / 2, "tight": tight}
