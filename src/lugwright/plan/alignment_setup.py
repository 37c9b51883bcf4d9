"""What the adjustment loop needs of a case: the unit, its reading, and the numbers of the machine sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.places import UNITS, partner
from lugwright.plan.alignment import Setup
from lugwright.plan.jobcard import both_systems
from lugwright.quantities import QuantityError, parse
from lugwright.readings.alignment import RUN_MM, SHIM_MM, End, end
from lugwright.readings.side_clearance import side_clearance
from lugwright.readings.uncertainty import ReadingRefused

if TYPE_CHECKING:
    from lugwright.casefile.record import CaseRecord
    from lugwright.rulebase.schema import MachineSheet

#: common practice: half a turn to begin, never more than one turn at a time.
FIRST_STEP, LARGEST_STEP = 0.5, 1.0
MANUAL = "the figure of the operator's manual"


def setup_of(case: CaseRecord, unit: str | None = None) -> Setup:
    """The set-up for one unit; without a name, for the unit whose reading lies furthest off the middle.

    Raises UnusableInput for a unit the machine does not have, a reading that cannot be one, or where nothing says
    which unit is meant.
    """
    ends = {name: one for name in UNITS[case.layout] if (one := _end_of(case, name)) is not None}
    if unit is None:
        if not ends:
            raise _fault(
                "--unit",
                "unit-needed",
                "no clearance is written in this case",
                f"one of {', '.join(UNITS[case.layout])}",
            )
        unit = min(ends, key=lambda name: (-abs(ends[name].offset), name))
    if unit not in UNITS[case.layout]:
        raise _fault(
            "--unit",
            "impossible-place",
            f"this machine has no unit '{unit[:40]}'",
            f"one of {', '.join(UNITS[case.layout])}",
        )
    own, beside = ends.get(unit), ends.get(partner(unit))
    mirrored = (
        own is not None and beside is not None and own.tight == beside.tight and own.tight in ("inboard", "outboard")
    )
    sheet = case.sheet
    largest = min(LARGEST_STEP, _number(sheet, "largest-step", "angle", LARGEST_STEP * 360) / 360)
    rechecks = [
        both_systems(sheet.numbers[name].value)
        for name in ("recheck-first", "recheck-second")
        if sheet and name in sheet.numbers
    ]
    return Setup(
        unit=unit,
        shim=_number(sheet, "shim-thickness", "length", SHIM_MM),
        run=max(RUN_MM, _number(sheet, "straight-run", "length", RUN_MM)),
        first_step=min(largest, _number(sheet, "first-step", "angle", FIRST_STEP * 360) / 360),
        largest_step=largest,
        sense=sheet.screw_sense if sheet else "unknown",
        adjuster_torque=_text(sheet, "adjuster-torque"),
        lock_torque=_text(sheet, "lock-torque"),
        recheck=f"after {' and after '.join(rechecks)} of work" if rechecks else "as the operator's manual says",
        aim=_number(sheet, "clearance-aim", "length", 0.0) or None,
        first=own,
        mirrored=mirrored,
    )


def _end_of(case: CaseRecord, unit: str) -> End | None:
    for one in case.readings:
        if one.check == "lug-clearance" and one.place.unit == unit and {"inboard", "outboard"} <= set(one.fields):
            try:
                if "refused" in side_clearance(one.fields, {}):
                    return None  # the coast was not driven as it must be, so the loop asks for another
                return end(
                    float(one.fields["inboard"]), float(one.fields["outboard"]),
                    shim=_number(case.sheet, "shim-thickness", "length", SHIM_MM),
                )  # fmt: skip
            except ReadingRefused as problem:
                raise UnusableInput(
                    [Issue(one.spot, "reading-refused", f"{one.key}: {problem}", hint=problem.hint)]
                ) from None
    return None


def _number(sheet: MachineSheet | None, name: str, kind: str, otherwise: float) -> float:
    if sheet is None or name not in sheet.numbers:
        return otherwise
    try:
        return parse(sheet.numbers[name].value, kind)
    except QuantityError:
        return otherwise


def _text(sheet: MachineSheet | None, name: str) -> str:
    return both_systems(sheet.numbers[name].value) if sheet and name in sheet.numbers else MANUAL


def _fault(where: str, code: str, what: str, hint: str) -> UnusableInput:
    return UnusableInput([Issue(Spot(where), code, what, hint=hint)])
