"""Weight front and rear, left and right: shares, and what they are against the aim and the plate."""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.readings.uncertainty import SCALE_SHARE, ReadingRefused, against, within

#: Front share in use. common practice: 55 % for towed work, 60 % with a carried tool; articulated 51-55 and 55-60 %.
FRONT = (0.51, 0.60)
#: Points outside that count. common practice
POINTS = 0.05
#: Share of the heavier side that explains uneven wear. common practice: 55 to 45.
SIDE_SHARE = 0.55


def weighing(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Shares of the weight, each against its limit.

    fields: `front`, `rear` in kg, together above zero; if weighed `left`, `right` in kg; `plate`: mass allowed in kg.
    Adds    `total` (kg), `front-share`, `front-state` (inside, below, above or too-close, 5 points outside the usual
            band), with left and right `heavier`: left or right, `heavier-share` and `side-state`; with the plate
            `plate-state`.
    Raises  ReadingRefused where the two ways of adding up differ by more than 4 %: the machine moved, or a slip.

    >>> one = weighing({"front": 11_000.0, "rear": 9_000.0, "left": 9_000.0, "right": 11_000.0}, {})
    >>> one["front-share"], one["front-state"], one["heavier-share"], one["side-state"]
    (0.55, 'inside', 0.55, 'too-close')
    """
    front, rear = float(fields["front"]), float(fields["rear"])
    total = front + rear
    if total <= 0:
        raise ReadingRefused("front", "nothing was on the scales", "weigh again")
    share = front / total
    half = SCALE_SHARE * 2 * share * (1 - share)
    found: dict[str, float | str] = {**fields, "total": total, "front-share": share}
    found["front-state"] = within(share, FRONT[0] - POINTS, FRONT[1] + POINTS, half)
    left, right = fields.get("left"), fields.get("right")
    if (left is None) != (right is None):
        raise ReadingRefused("left", "only one side was weighed", "weigh left and right")
    if isinstance(left, float) and isinstance(right, float):
        if abs(left + right - total) > 0.04 * total:
            what = f"left and right add up to {left + right:g} kg, front and rear to {total:g} kg"
            raise ReadingRefused("left", what, "look for a slipped digit; weigh all four the same way")
        heavier = max(left, right) / (left + right)
        found["heavier"] = "left" if left >= right else "right"
        found["heavier-share"] = heavier
        found["side-state"] = against(heavier, SIDE_SHARE, SCALE_SHARE * 2 * heavier * (1 - heavier))
    plate = fields.get("plate")
    if isinstance(plate, float):
        found["plate-state"] = against(total, plate, SCALE_SHARE * total)
    return found
