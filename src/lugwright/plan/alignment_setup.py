"""What the adjustment loop needs of a case: the unit, its reading, and the numbers of the machine sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.places import UNITS, partner
from lugwright.plan import alignment_stops as stops
from lugwright.plan import alignment_words as words
from lugwright.plan.alignment import LEAST_STEP, Finish, Setup
from lugwright.plan.jobcard import both_systems
from lugwright.quantities import QuantityError, parse
from lugwright.readings.alignment import RUN_MM, SHIM_MM, End, end
from lugwright.readings.side_clearance import side_clearance
from lugwright.readings.turn_repeat import turn_repeat
from lugwright.readings.uncertainty import ReadingRefused

if TYPE_CHECKING:
    from lugwright.casefile.record import CaseRecord, Reading
    from lugwright.diagnosis import Diagnosis
    from lugwright.rulebase.schema import MachineSheet

#: common practice: half a turn to begin, never more than one turn at a time.
FIRST_STEP, LARGEST_STEP = 0.5, 1.0
MANUAL = "the figure of the operator's manual"
#: common practice: highest speed at the start of a coast.
SPEED = "8 km/h (5 mph)"


def hindrance(answer: Diagnosis) -> Finish | None:
    """Why the loop must not begin at all: the verdict of the case is stop, and the loop drives the machine."""
    if answer.verdict.action != "stop":
        return None
    reasons = [one for one in answer.verdict.reasons if one.action == "stop"]
    told = [f"{one.heading}. {one.limit}".strip() for one in reasons]
    return Finish("stopped", stops.STOPPED, (), tuple(dict.fromkeys(told)))


def setup_of(case: CaseRecord, unit: str | None = None, answer: Diagnosis | None = None) -> Setup:
    """The set-up for one unit; without a name, for the unit whose reading lies furthest off the middle.

    answer: the diagnosis of the case; a reading that it calls void (packed dirt) is not taken, and the loop asks anew.
    Raises UnusableInput for a unit the machine does not have, a reading that cannot be one, or where nothing says
    which unit is meant.
    """
    taken = {name: one for name in UNITS[case.layout] if (one := _reading(case, "lug-clearance", name)) is not None}
    ends = {name: both[0] for name, one in taken.items() if (both := _ends(case, one)) is not None}
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
    void = {(one.check, one.place) for one in answer.readings if one.void} if answer else set()
    counted = {name: one for name, one in ends.items() if not _why_not(case, taken[name], void)}
    own, beside = counted.get(unit), counted.get(partner(unit))
    mirrored = (
        own is not None and beside is not None and own.tight == beside.tight and own.tight in ("inboard", "outboard")
    )
    sheet = case.sheet
    largest = max(LEAST_STEP, min(LARGEST_STEP, _number(sheet, "largest-step", "angle", LARGEST_STEP * 360) / 360))
    rechecks = [
        both_systems(sheet.numbers[name].value)
        for name in ("recheck-first", "recheck-second")
        if sheet and name in sheet.numbers
    ]
    why_not = _why_not(case, taken[unit], void) if unit in taken else ""
    turns = _reading(case, "turn-repeat", unit)
    says = turn_repeat(turns.fields, {})["says"] if turns and ("turn-repeat", unit) not in void else ""
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
        rear=(_ends(case, taken[unit]) or (None, None))[1] if own else None,
        play=says == "play",
        speed=_text(sheet, "coast-speed", SPEED),
        notes=(words.not_counted(why_not),) if why_not else (),
    )


def _reading(case: CaseRecord, check: str, unit: str) -> Reading | None:
    return next((one for one in case.readings if one.check == check and one.place.unit == unit), None)


def _limits(case: CaseRecord) -> dict[str, float]:
    return {
        "shim-thickness": _number(case.sheet, "shim-thickness", "length", SHIM_MM),
        "straight-run": _number(case.sheet, "straight-run", "length", RUN_MM),
    }


def _ends(case: CaseRecord, one: Reading) -> tuple[End, End | None] | None:
    """The clearances of a reading at the front roller and, if taken, at the last; None for shim words alone."""
    shim = _limits(case)["shim-thickness"]
    pairs: list[End | None] = []
    try:
        side_clearance(one.fields, _limits(case))
        for names in (("inboard", "outboard"), ("rear-inboard", "rear-outboard")):
            if set(names) <= set(one.fields):
                pairs.append(end(float(one.fields[names[0]]), float(one.fields[names[1]]), shim))
            else:
                pairs.append(None)
    except ReadingRefused as problem:
        what = f"{one.key}: {problem}"
        issue = Issue(one.spot, "reading-refused", what, hint=problem.hint, text=one.line)
        raise UnusableInput([issue]) from None
    front, rear = pairs
    return (front, rear) if front is not None else None


def _why_not(case: CaseRecord, one: Reading, void: set[tuple[str, str]]) -> str:
    """Why a clearance reading says nothing about the machine: the coast, or dirt; empty where it counts."""
    if (one.check, one.place.unit) in void:
        return "it was taken over dirt"
    return str(side_clearance(one.fields, _limits(case)).get("refused", ""))


def _number(sheet: MachineSheet | None, name: str, kind: str, otherwise: float) -> float:
    if sheet is None or name not in sheet.numbers:
        return otherwise
    try:
        value = parse(sheet.numbers[name].value, kind)
    except QuantityError:
        return otherwise
    return value if value > 0 else otherwise


def _text(sheet: MachineSheet | None, name: str, otherwise: str = MANUAL) -> str:
    return both_systems(sheet.numbers[name].value) if sheet and name in sheet.numbers else otherwise


def _fault(where: str, code: str, what: str, hint: str) -> UnusableInput:
    return UnusableInput([Issue(Spot(where), code, what, hint=hint)])
