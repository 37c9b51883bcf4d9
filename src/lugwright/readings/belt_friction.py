"""Grip of a friction drive: what the wheel can pull before the belt slips, forward and in reverse, and the margin."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lugwright.readings.uncertainty import State, against


def pull_ratio(friction: float, wrap_deg: float) -> float:
    """Tight side over slack side at the point of slipping: e^(friction x wrap).

    friction >= 0, wrap >= 0 degrees (turns x 360). Source: belt friction (capstan) equation, as in any statics text.

    >>> round(600 / pull_ratio(0.25, 120), 1)
    355.4
    """
    if friction < 0 or wrap_deg < 0:
        raise ValueError("friction and wrap cannot be below zero")
    return math.exp(friction * math.radians(wrap_deg))


def friction_from_pulls(tight: float, slack: float, wrap_deg: float) -> float:
    """The friction that just holds a tight side with a slack side, both > 0 in one unit.

    >>> round(friction_from_pulls(5000, 80, 720), 3)
    0.329
    """
    if not tight >= slack > 0 or wrap_deg <= 0:
        raise ValueError("the tight side is at least the slack side, and both and the wrap are above zero")
    return math.log(tight / slack) / math.radians(wrap_deg)


@dataclass(frozen=True)
class Grip:
    """Greatest pull in kN before slipping, forward and in reverse or braking."""

    forward: float
    reverse: float


def grip(tensioner_kn: float, friction: float, wrap_deg: float = 180.0) -> Grip:
    """Drive wheel at the rear, tensioner on the front idler: half its force stands in each run.

    Forward the idler runs are the slack side, in reverse and braking they are the tight one, so reverse slips first.
    Source: belt friction equation with the slack (or tight) side held at half the tensioner force.

    >>> [round(pull, 1) for pull in (grip(100.5, 0.5).forward, grip(100.5, 0.5).reverse)]
    [191.5, 39.8]
    """
    if tensioner_kn < 0:
        raise ValueError("the tensioner force cannot be below zero")
    ratio = pull_ratio(friction, wrap_deg)
    return Grip(tensioner_kn / 2 * (ratio - 1), tensioner_kn / 2 * (1 - 1 / ratio))


def tensioner_force(pressure_kpa: float, bore_mm: float) -> float:
    """Force in kN of a round cylinder: pressure x area.

    >>> round(tensioner_force(20_000, 80), 1)
    100.5
    """
    if pressure_kpa < 0 or bore_mm <= 0:
        raise ValueError("the pressure cannot be below zero, and a cylinder has a bore")
    return pressure_kpa * math.pi / 4 * (bore_mm / 1000) ** 2


def slip_margin(pull_kn: float, wanted_kn: float, plus_minus: float = 0.2) -> tuple[float, State]:
    """What can be pulled over what is wanted, and whether that is enough: inside above 1, outside below.

    plus_minus: share by which the friction makes the ratio uncertain. judgement

    >>> slip_margin(17.6, 39.2)[1], slip_margin(191.5, 39.2)[1], slip_margin(40.0, 39.2)[1]
    ('outside', 'inside', 'too-close')
    """
    if wanted_kn <= 0:
        raise ValueError("the pull that is wanted must be above zero")
    margin = pull_kn / wanted_kn
    return margin, against(margin, 1.0, plus_minus * margin, "below")
