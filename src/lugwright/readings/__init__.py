"""What a measurement means: one small module per computation, each a pure function.

`derive` takes the fields of one reading in base units (mm, degC, fractions) and gives back those fields together with
what follows from them, which the chaining rules then compare with limits. A `state` says how the reading lies to its
limit: inside, outside, or too close to call when the limit lies within the reading's plus-or-minus.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from lugwright.readings.belt_friction import belt_grip
from lugwright.readings.differences import inboard_minus_outboard
from lugwright.readings.gap import gap
from lugwright.readings.ground_pressure import ground_pressure
from lugwright.readings.lug_size import lug_size
from lugwright.readings.roading import road_run
from lugwright.readings.sag import sag_tension
from lugwright.readings.side_clearance import side_clearance
from lugwright.readings.side_temperature import side_temperature
from lugwright.readings.slip import slip
from lugwright.readings.slope_load import side_slope
from lugwright.readings.tension import leak_down, tension
from lugwright.readings.toe import toe
from lugwright.readings.tread_profile import tread_profile
from lugwright.readings.turn_repeat import turn_repeat
from lugwright.readings.uncertainty import ReadingRefused
from lugwright.readings.weighing import weighing
from lugwright.readings.wheel_heat import hub_heat

__all__ = ["COMPUTATIONS", "ReadingRefused", "derive"]

Fields = Mapping[str, float | str]
Derived = dict[str, float | str]

COMPUTATIONS: dict[str, Callable[[Fields, Mapping[str, float]], Derived]] = {
    "side-clearance": side_clearance,
    "turn-repeat": turn_repeat,
    "toe": toe,
    "side-temperature": side_temperature,
    "gap": gap,
    "hub-heat": hub_heat,
    "tension": tension,
    "leak-down": leak_down,
    "lug-size": lug_size,
    "tread-profile": tread_profile,
    "weighing": weighing,
    "slip": slip,
    "side-slope": side_slope,
    "road-run": road_run,
    "belt-grip": belt_grip,
    "ground-pressure": ground_pressure,
    "sag-tension": sag_tension,
    "plain": inboard_minus_outboard,
}


def derive(computation: str | None, fields: Fields, sheet: Mapping[str, float]) -> Derived:
    """The fields of a reading with everything that follows from them.

    computation: name in the check's `computation`; None leaves the fields as they are.
    fields:      base units (mm, degC, kPa, fractions) or words.
    sheet:       numbers of this machine's sheet in base units; may be empty.
    Raises       ReadingRefused for numbers that cannot be a reading.

    >>> derive("toe", {"leading": 2210.0, "trailing": 2218.0}, {})["toe-in"]
    8.0
    """
    return COMPUTATIONS[computation](fields, sheet) if computation else dict(fields)
