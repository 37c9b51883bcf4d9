"""Tension by the sag of a free run: the tensioner pressure it stands for. It finds a slack belt and sets nothing."""

from __future__ import annotations

import math
from collections.abc import Mapping

from lugwright.readings.tension import LOW_SHARE, from_sag
from lugwright.readings.uncertainty import ReadingRefused, within, within_reach
from lugwright.units import GRAVITY

#: Plus-or-minus of a tension from sag, as a share: the belt is stiff. common practice: by half.
SAG_SHARE = 0.5
#: What can be: span, sag and bore in mm, mass of one metre of belt in kg. judgement
SPAN_MM, SAG_MM, BORE_MM, METRE_KG = (300.0, 6000.0), (1.0, 600.0), (20.0, 300.0), (5.0, 300.0)


def sag_tension(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """The tensioner pressure that the sag of a free run stands for, against the band on the sheet.

    fields: `span` (300 to 6000), `sag` (1 to 600, at most a tenth of the span) and `bore` of the tensioner (20 to 300)
            in mm; `metre-mass`: mass of one metre of belt in kg (5 to 300).
    sheet:  `tension-low` and `tension-high` in kPa; without them nothing is compared.
    Adds    `stands-for` (kPa) and `state`: below, above, inside or too-close, with plus-or-minus half of the figure
            because the belt is stiff, so that only a very slack belt is clearly below.
    Raises  ReadingRefused outside these ranges, or where the sheet's band is upside down.
    Source  parabola of a shallow cable; half of the force of a round cylinder stands in each run.

    >>> run = {"span": 1600.0, "bore": 80.0, "metre-mass": 110.0}
    >>> band = {"tension-low": 19_000.0, "tension-high": 21_000.0}
    >>> [sag_tension({**run, "sag": mm}, band)["state"] for mm in (8.0, 20.0)]
    ['too-close', 'below']
    """
    span = within_reach("span", float(fields["span"]), SPAN_MM, "mm", "a free run")
    sag = within_reach("sag", float(fields["sag"]), SAG_MM, "mm", "the sag of a free run")
    bore = within_reach("bore", float(fields["bore"]), BORE_MM, "mm", "the bore of a tensioner cylinder")
    mass = within_reach("metre-mass", float(fields["metre-mass"]), METRE_KG, "kg", "the mass of one metre of belt")
    if sag > span / 10:
        what = f"the sag of {sag:.4g} mm is more than a tenth of the span of {span:.4g} mm"
        raise ReadingRefused("sag", what, "a belt that hangs so deep is off its tensioner; look at the two figures")
    pull = from_sag(mass * GRAVITY, span / 1000, sag / 1000)
    stands = 2 * pull / (math.pi / 4 * bore**2) * 1000
    found: dict[str, float | str] = {**fields, "stands-for": stands}
    if {"tension-low", "tension-high"} <= set(sheet):
        low, high = sheet["tension-low"], sheet["tension-high"]
        if low > high:
            what = f"the band on the machine sheet is upside down: tension-low {low:g} kPa, tension-high {high:g} kPa"
            raise ReadingRefused("sag", what, "put the two numbers of the sheet right")
        found["state"] = within(stands, low * (1 - LOW_SHARE), high, SAG_SHARE * stands)
    return found
