"""How far an alignment screw may be turned at once: one figure for the job card and for the adjustment loop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.plan.alignment_words import turn_words
from lugwright.quantities import QuantityError, parse

if TYPE_CHECKING:
    from lugwright.rulebase.schema import MachineSheet

#: In turns. common practice: half a turn to begin, never more than one turn at a time.
FIRST_STEP, LARGEST_STEP = 0.5, 1.0
#: Smallest step worth taking, in turns. common practice: an eighth.
LEAST_STEP = 1 / 8


def steps(sheet: MachineSheet | None) -> tuple[float, float]:
    """First and largest step in turns: the sheet's where it has them, never more than common practice allows.

    >>> steps(None)
    (0.5, 1.0)
    """
    largest = max(LEAST_STEP, min(LARGEST_STEP, _turns(sheet, "largest-step") or LARGEST_STEP))
    return min(largest, _turns(sheet, "first-step") or FIRST_STEP), largest


def written(sheet: MachineSheet | None, name: str) -> str | None:
    """A number of the sheet as work may use it: as it is written, or a step cut down to what may be turned.

    None where the sheet does not have it.
    """
    if sheet is None or name not in sheet.numbers:
        return None
    return cut_down(sheet, name) or sheet.numbers[name].value


def cut_down(sheet: MachineSheet | None, name: str) -> str | None:
    """The step that is taken instead of the one on the sheet; None where the sheet's own figure is used."""
    own = _turns(sheet, name)
    if own is None or name not in ("first-step", "largest-step"):
        return None
    taken = steps(sheet)[name == "largest-step"]
    return turn_words(taken) if abs(taken - own) > 1e-9 else None


def _turns(sheet: MachineSheet | None, name: str) -> float | None:
    if sheet is None or name not in sheet.numbers:
        return None
    try:
        turns = parse(sheet.numbers[name].value, "angle") / 360
    except QuantityError:
        return None
    return turns if turns > 0 else None
