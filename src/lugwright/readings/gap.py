"""Scraper gap over a full turn of the wheel, and whether to set, flip, grind or replace the plate."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from lugwright.readings.uncertainty import SHIM_MM as PLUS_MINUS_MM
from lugwright.readings.uncertainty import ReadingRefused, State, against, not_negative

#: Ends of the band when the sheet names none. common practice on rubber wheels: 3 to 6 mm, up to 10 mm in stones.
LEAST_MM, MOST_MM = 3.0, 10.0
#: Positively driven drive wheels are set closer, and only they. common practice: 2.5 to 4 mm (3/32 to 5/32 in).
DRIVE_WHEEL_MM = (2.5, 4.0)
#: Under this gap at the highest point plate and wheel meet, in mm. judgement: no feeler strip goes in.
TOUCHES_MM = 0.5
#: No scraper stands further off and is still one. judgement
MOST_GAP_MM = 200.0

Work = Literal["none", "set", "flip", "grind", "replace"]


def gap(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Spread of the gap round the wheel: run-out of the wheel shows here.

    fields: `largest` and, if taken, `smallest` gap in mm, each >= 0; `edge`: sharp, rounded or both-rounded;
            `plate-left`: share of the plate's width that is left.
    sheet:  `scraper-gap-least`, `scraper-gap-most` in mm, if the sheet names them (see `usual_gap`).
    Adds    `spread` (mm) when both were taken; `state` of the largest gap against the widest allowed; `least-state` of
            the smallest against the least, with touching as `touches`, and too-close where the largest stands alone and
            leaves it open; and `work`.
    Raises  ReadingRefused for a gap below zero, larger than the part, or the two swapped.

    >>> gap({"largest": 12.0, "smallest": 9.0}, {})["spread"]
    3.0
    >>> gap({"largest": 12.0}, {})
    {'largest': 12.0, 'state': 'outside', 'least-state': 'too-close', 'work': 'set'}
    >>> [gap({"largest": 5.0, "smallest": mm}, {})["least-state"] for mm in (0.0, 2.0, 3.2, 4.0)]
    ['touches', 'outside', 'too-close', 'inside']
    """
    largest = not_negative("largest", float(fields["largest"]))
    if largest > MOST_GAP_MM:
        raise ReadingRefused(
            "largest", f"'largest' is {largest:g} mm; no scraper stands that far off", "look at the unit"
        )
    most, least = sheet.get("scraper-gap-most", MOST_MM), sheet.get("scraper-gap-least", LEAST_MM)
    found: dict[str, float | str] = dict(fields)
    smallest = largest
    if "smallest" in fields:
        smallest = not_negative("smallest", float(fields["smallest"]))
        if smallest > largest:
            what = f"the smallest gap, {smallest:g} mm, is larger than the largest, {largest:g} mm"
            raise ReadingRefused("smallest", what, "the two look swapped")
        found["spread"] = largest - smallest
    found["state"] = against(largest, most, PLUS_MINUS_MM)
    near: str = against(smallest, least, PLUS_MINUS_MM, "below")
    if smallest < TOUCHES_MM:
        near = "touches"
    elif near == "inside" and "smallest" not in fields:
        near = "too-close"
    found["least-state"] = near
    edge, left = fields.get("edge", "sharp"), fields.get("plate-left", 1.0)
    found["work"] = work_for_plate(str(edge), float(left), smallest, largest, least, most)
    return found


def usual_gap(drive: str, sheet: Mapping[str, float]) -> dict[str, float]:
    """The numbers of the sheet, with the least gap of a positive drive wheel where it names neither end.

    A reading does not say at which wheel it was taken, so the closest gap that is right at any of them is the least,
    and the widest that is right at any of them, `MOST_MM`, stays the most.

    >>> usual_gap("positive", {}), usual_gap("friction", {}), usual_gap("positive", {"scraper-gap-most": 6.0})
    ({'scraper-gap-least': 2.5}, {}, {'scraper-gap-most': 6.0})
    """
    if drive != "positive" or any(one in sheet for one in ("scraper-gap-least", "scraper-gap-most")):
        return dict(sheet)
    return {**sheet, "scraper-gap-least": DRIVE_WHEEL_MM[0]}


def work_for_plate(edge: str, plate_left: float, smallest: float, largest: float, least: float, most: float) -> Work:
    """What the plate needs: nothing, set it, turn it to the fresh edge, grind it square, or renew it.

    edge: sharp, rounded (other edge still square) or both-rounded. plate_left: share of its first width, 0 to 1.
    common practice: an edge rounded over 3 mm is flipped or ground; at half its width a plate is renewed.

    >>> [work_for_plate(edge, left, 4, 5, 3, 6) for edge, left in (("sharp", 1), ("rounded", 1), ("both-rounded", 0.8))]
    ['none', 'flip', 'grind']
    >>> work_for_plate("both-rounded", 0.45, 4, 5, 3, 6), work_for_plate("sharp", 1, 4, 12, 3, 10)
    ('replace', 'set')
    """
    if plate_left <= 0.5:
        return "replace"
    if edge != "sharp":
        return "flip" if edge == "rounded" else "grind"
    out = (
        against(largest, most, PLUS_MINUS_MM) == "outside"
        or against(smallest, least, PLUS_MINUS_MM, "below") == "outside"
    )
    return "set" if out else "none"


@dataclass(frozen=True)
class Turn:
    """The gap round a turn of the wheel, in mm. run_out: largest minus smallest; high_point: index of the smallest."""

    smallest: float
    largest: float
    run_out: float
    high_point: int
    state: State
    touches: bool


def round_the_wheel(points: Sequence[float], most: float = MOST_MM) -> Turn:
    """The gap at several points round the wheel, in mm, in the order in which they were taken; three or more.

    Raises ReadingRefused for fewer than three points, a gap below zero or larger than the part.

    >>> round_the_wheel([4.0, 5.0, 4.5, 3.5])
    Turn(smallest=3.5, largest=5.0, run_out=1.5, high_point=3, state='inside', touches=False)
    """
    if len(points) < 3:
        raise ReadingRefused("points", f"{len(points)} points; three at least, spread round a full turn, are needed")
    for n, point in enumerate(points, 1):
        not_negative(f"point {n}", point)
        if point > MOST_GAP_MM:
            raise ReadingRefused(f"point {n}", f"point {n} is {point:g} mm; no scraper stands that far off")
    low, high = min(points), max(points)
    return Turn(low, high, high - low, list(points).index(low), against(high, most, PLUS_MINUS_MM), low < PLUS_MINUS_MM)
