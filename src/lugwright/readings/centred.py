"""Whether a belt may stay where it is: one answer for the diagnosis and for the adjustment loop."""

from __future__ import annotations

from lugwright.readings.alignment import End

#: How far off the middle a belt may lie when both its sides reach the aim, as a share of the aim. judgement: in a room
#: of just twice an aim of 8 mm, a belt 2 mm off still takes the shim of 6 mm (both figures common practice).
AIM_SHARE = 0.25


def centred(one: End, aim: float | None = None) -> bool:
    """Whether a belt may stay where it is: both faces clearly take the shim, and it lies in the middle or at the aim.

    The middle is 40 to 60 % of the room (common practice). At the aim: both sides reach the aim of the machine sheet,
    in mm, and the belt lies no further off than a quarter of it and the uncertainty of the two gaps.

    >>> from lugwright.readings.alignment import end
    >>> centred(end(8, 9)), centred(end(8, 12.5)), centred(end(8, 12.5), aim=8.0), centred(end(2, 14))
    (True, False, True, False)
    >>> centred(end(8, 40), aim=8.0)                                  # both reach the aim, and it lies 16 mm off
    False
    """
    if one.state != "inside":
        return False
    if aim is None or min(one.inboard, one.outboard) < aim:
        return one.in_middle
    return one.in_middle or abs(one.offset) <= AIM_SHARE * aim + one.offset_plus_minus
