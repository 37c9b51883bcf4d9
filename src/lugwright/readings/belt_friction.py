"""Grip of a friction drive: what the wheel can pull before the belt slips, forward and in reverse, and the margin."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from lugwright.readings.uncertainty import State, against, within_reach
from lugwright.units import GRAVITY

#: Friction of rubber on the drive wheel by what lies between. common practice: 0.5 dry, 0.2 on wet clay.
FILMS = {"dry": 0.5, "damp": 0.35, "mud": 0.2}
#: Pull that hard braking asks of a unit, as a share of the weight on it. judgement
ASKED_SHARE = 0.4
#: What these can be: kPa, mm, degrees, kg. judgement
PRESSURE_KPA, BORE_MM, WRAP_DEG, MASS_KG = (100.0, 60_000.0), (20.0, 300.0), (60.0, 270.0), (200.0, 50_000.0)


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


def belt_grip(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Pull that the drive wheel can pass on over the pull that braking asks for, 0.4 of the weight on the unit.

    fields: `pressure` of the tensioner in kPa (100 to 60 000), its `bore` in mm (20 to 300), `mass` on the unit in kg,
            `film`: dry, damp or mud; `wrap` in degrees (60 to 270), 180 where it is not written.
    Adds    `forward` and `reverse` (share of what is asked) and `state` of the reverse one, which slips first.
    Raises  ReadingRefused outside these ranges.
    Source  belt friction equation; a round tensioner cylinder, half of its force in each run.

    >>> one = belt_grip({"pressure": 20_000.0, "bore": 80.0, "mass": 8000.0, "film": "dry"}, {})
    >>> round(float(one["forward"]), 2), round(float(one["reverse"]), 2), one["state"]
    (6.1, 1.27, 'inside')
    """
    pressure = within_reach("pressure", float(fields["pressure"]), PRESSURE_KPA, "kPa", "a tensioner pressure")
    bore = within_reach("bore", float(fields["bore"]), BORE_MM, "mm", "the bore of a tensioner cylinder")
    mass = within_reach("mass", float(fields["mass"]), MASS_KG, "kg", "the mass on one unit")
    wrap = within_reach("wrap", float(fields.get("wrap", 180.0)), WRAP_DEG, "degrees", "the wrap of a drive wheel")
    one = grip(tensioner_force(pressure, bore), FILMS[str(fields["film"])], wrap)
    asked = ASKED_SHARE * mass * GRAVITY / 1000
    reverse, state = slip_margin(one.reverse, asked)
    return {**fields, "forward": one.forward / asked, "reverse": reverse, "state": state}
