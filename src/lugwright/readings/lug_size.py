"""Lug width and height: how much is left, and does one face lose more than the other?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lugwright.readings.uncertainty import (
    CALLIPER_MM,
    TAPE_MM,
    ReadingRefused,
    against,
    not_negative,
    together,
    within_reach,
)
from lugwright.readings.welch import Compared, compare

#: Share of the width of a new lug at which the belt is due. common practice: 60 %, watched from 75 %.
LIMIT_SHARE = 0.60
#: Share of the width of a new lug below which a loss on both faces counts. judgement: what both lose in ordinary
#: polish is less.
THIN_SHARE = 0.90
#: Width of a new lug, at its narrowest and widest. judgement
NEW_MM = (10.0, 500.0)
#: Smallest difference of the two faces that matters. common practice: 2 to 3 mm.
FACES_MM = 2.5
#: Height of a new lug, at its lowest and highest, in mm. judgement
HEIGHT_MM = (10.0, 300.0)
#: Loss of height that is tip wear, in mm. judgement: tips are bright from new on some belts, and lose little there.
TIP_MM = 5.0


def lug_size(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Share of a new lug's width that is left.

    fields: `width-new`, `width-now` in mm at the same height, the first 10 to 500 mm; if taken `inboard` and
            `outboard`: from the middle line to each face, in mm; if taken `height-new` (10 to 300) and `height-now`
            from belt to tip, in mm.
    Adds    `left` (share, at most 1), `state` against 60 % of new and `thin-state` against 90 %; with both faces
            `inboard-minus-outboard` (mm) and `faces-state` of its size against 2.5 mm; with both heights `height-loss`
            (mm) and `height-state` against 5 mm.
    Raises  ReadingRefused for a lug wider than new by more than the tool's error or than any lug, one face only, or
            faces that do not add up to the width; one height only, or a height that grew.

    >>> lug_size({"width-new": 90.0, "width-now": 63.0}, {})["left"]
    0.7
    >>> [lug_size({"width-new": 90.0, "width-now": now}, {})["thin-state"] for now in (75.0, 81.0, 87.0)]
    ['outside', 'too-close', 'inside']
    """
    new, now = float(fields["width-new"]), float(fields["width-now"])
    if not NEW_MM[0] <= new <= NEW_MM[1]:
        what = f"'width-new' is {new:.4g} mm; a new lug is {NEW_MM[0]:g} to {NEW_MM[1]:g} mm wide"
        raise ReadingRefused("width-new", what, "look at the unit; look it up, or measure a new belt")
    if now > new + 2 * CALLIPER_MM:
        what = f"the lug is {now:g} mm wide now and was {new:g} mm when new"
        raise ReadingRefused("width-now", what, "the two look swapped, or were taken at different heights")
    left = min(1.0, now / new)
    half = together(CALLIPER_MM / new, CALLIPER_MM * left / new)
    found: dict[str, float | str] = {**fields, "left": left, "state": against(left, LIMIT_SHARE, half, "below")}
    found["thin-state"] = against(left, THIN_SHARE, half, "below")
    inboard, outboard = fields.get("inboard"), fields.get("outboard")
    if (inboard is None) != (outboard is None):
        raise ReadingRefused("inboard", "only one face is written", "measure both from the middle line")
    if isinstance(inboard, float) and isinstance(outboard, float):
        if abs(inboard + outboard - now) > 4 * CALLIPER_MM:
            what = f"the two faces add up to {inboard + outboard:g} mm, the lug is {now:g} mm wide"
            raise ReadingRefused("inboard", what, "measure at one height, from one middle line")
        apart = inboard - outboard
        found["inboard-minus-outboard"] = apart
        found["faces-state"] = against(abs(apart), FACES_MM, together(CALLIPER_MM, CALLIPER_MM))
    found.update(_height(fields))
    return found


def _height(fields: Mapping[str, float | str]) -> dict[str, float | str]:
    """Loss of height since new and how it lies to 5 mm; nothing where no height was taken."""
    new, now = fields.get("height-new"), fields.get("height-now")
    if (new is None) != (now is None):
        raise ReadingRefused("height-now", "only one of the two heights is written", "write new and now, or neither")
    if not isinstance(new, float) or not isinstance(now, float):
        return {}
    within_reach("height-new", new, HEIGHT_MM, "mm", "a new lug, from belt to tip,")
    not_negative("height-now", now)
    if now > new + 2 * TAPE_MM:
        what = f"the lug is {now:g} mm high now and was {new:g} mm when new; rubber does not grow"
        raise ReadingRefused("height-now", what, "the two look swapped, or were taken from different places")
    loss = max(0.0, new - now)
    return {"height-loss": loss, "height-state": against(loss, TIP_MM, together(TAPE_MM, TAPE_MM))}


def face_difference(inboard: Sequence[float], outboard: Sequence[float]) -> Compared:
    """Middle line to each face, in mm, on six or more lugs: outboard against inboard by Welch's test.

    A positive difference means that the inboard face has lost more.
    Raises ReadingRefused with fewer than six lugs on a side.

    >>> face_difference([40, 41, 40, 39, 41, 40], [45, 44, 45, 46, 45, 44]).matters(FACES_MM)
    'outside'
    """
    for name, values in (("inboard", inboard), ("outboard", outboard)):
        if len(values) < 6:
            raise ReadingRefused(name, f"{len(values)} lugs; six at least, spread round the belt, are needed")
        if min(values) < 0:
            raise ReadingRefused(name, f"{min(values):g} mm; a width cannot be below zero")
    return compare(outboard, inboard)
