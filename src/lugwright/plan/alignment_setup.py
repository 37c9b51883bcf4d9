"""What the adjustment loop needs of a case: the unit, its reading, and the numbers of the machine sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.places import UNITS, partner
from lugwright.plan import alignment_stops as stops
from lugwright.plan import alignment_words as words
from lugwright.plan.alignment_before import limits_of_use, unmet
from lugwright.plan.alignment_shapes import Finish, Setup
from lugwright.plan.alignment_steps import steps
from lugwright.plan.jobcard import both_systems
from lugwright.quantities import QuantityError, parse
from lugwright.readings.alignment import RUN_MM, SHIM_MM, End, Tight, end, from_shim
from lugwright.readings.side_clearance import side_clearance
from lugwright.readings.turn_repeat import turn_repeat
from lugwright.readings.uncertainty import ReadingRefused

if TYPE_CHECKING:
    from lugwright.casefile.record import CaseRecord, Reading
    from lugwright.diagnosis import Diagnosis
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import MachineSheet

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


def setup_of(
    case: CaseRecord, unit: str | None = None, answer: Diagnosis | None = None, rulebase: RuleBase | None = None
) -> Setup:
    """The set-up for one unit; without a name, for the one that binds and lies furthest off the middle.

    answer: the diagnosis of the case; a reading that it calls void (packed dirt) is not taken, and the loop asks anew.
    rulebase: with it and the answer, what the case shows to be amiss before aligning.
    Raises UnusableInput for a unit the machine does not have, a reading that cannot be one, or where nothing says
    which unit is meant.
    """
    units = UNITS[case.layout]
    taken = {name: one for name in units if (one := _reading(case, "lug-clearance", name)) is not None}
    ends = {name: both[0] for name, one in taken.items() if (both := _ends(case, one)) is not None}
    tight = {name: ends[name].tight if name in ends else _by_shim(one) for name, one in taken.items()}
    if unit is None:
        if not taken:
            what = "no clearance is written in this case"
            raise _fault("--unit", "unit-needed", what, f"one of {', '.join(units)}")
        unit = min(taken, key=lambda name: (*_how_far_off(tight[name], ends.get(name)), name))
    if unit not in units:
        what = f"this machine has no unit '{unit[:40]}'"
        raise _fault("--unit", "impossible-place", what, f"one of {', '.join(units)}")
    void = {(one.check, one.place) for one in answer.readings if one.void} if answer else set()
    why_not = {name: _why_not(case, one, void) for name, one in taken.items()}
    counted = {name: word for name, word in tight.items() if not why_not[name]}
    word = counted.get(unit)
    own = ends.get(unit) if unit in counted else None
    turns = _reading(case, "turn-repeat", unit)
    says = turn_repeat(turns.fields, {})["says"] if turns and ("turn-repeat", unit) not in void else ""
    notes = (words.not_counted(why_not[unit]),) if why_not.get(unit) else ()
    sheet = case.sheet
    first_step, largest_step = steps(sheet)
    rechecks = [
        both_systems(sheet.numbers[name].value)
        for name in ("recheck-first", "recheck-second")
        if sheet and name in sheet.numbers
    ]
    return Setup(
        unit=unit,
        shim=_number(sheet, "shim-thickness", "length", SHIM_MM),
        run=max(RUN_MM, _number(sheet, "straight-run", "length", RUN_MM)),
        first_step=first_step,
        largest_step=largest_step,
        sense=sheet.screw_sense if sheet else "unknown",
        adjuster_torque=_text(sheet, "adjuster-torque"),
        lock_torque=_text(sheet, "lock-torque"),
        recheck=f"after {' and after '.join(rechecks)} of work" if rechecks else "as the operator's manual says",
        aim=_number(sheet, "clearance-aim", "length", 0.0) or None,
        first=own,
        mirrored=word in ("inboard", "outboard") and counted.get(partner(unit)) == word,
        rear=(_ends(case, taken[unit]) or (None, None))[1] if own else None,
        play=says == "play",
        speed=_text(sheet, "coast-speed", SPEED),
        notes=notes or ((words.shim_alone(word),) if word and own is None else ()),
        unmet=unmet(answer, rulebase, unit) if answer and rulebase else (),
        limits=limits_of_use(answer) if answer else (),
    )


def _how_far_off(tight: Tight, one: End | None) -> tuple[bool, float]:
    """Sorts units: one that binds on one face before one that does not, then by the offset where it was measured."""
    return tight not in ("inboard", "outboard"), -abs(one.offset) if one else 0.0


def _by_shim(one: Reading) -> Tight:
    """Which faces refuse the shim by its words alone."""
    return from_shim(*(one.fields.get(f"{side}-shim") == "goes" for side in ("inboard", "outboard")))


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
