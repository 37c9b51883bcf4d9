"""Are the numbers of a machine sheet quantities, can its bolts take the torques, and do its steps agree?"""

from __future__ import annotations

from lugwright.plain_build import Way, short
from lugwright.quantities import kinds_of, parse, show
from lugwright.rulebase.bolts import DRY, LIMIT, Bolt, NoSuchBolt, strained
from lugwright.rulebase.gather import Draft
from lugwright.rulebase.schema import MachineSheet, SheetNumber


def sheet_disagreements(draft: Draft, name: str, sheet: MachineSheet) -> None:
    """Add to the draft what is wrong with the numbers of a machine sheet."""
    for key, number in sheet.numbers.items():
        if not kinds_of(number.value):
            why = "a number without a unit can be read in two ways"
            what = f"'{short(number.value)}' is not a quantity with its unit"
            hint = "for example 6 mm or 300 N·m"
            draft.fault("machines", name, ("numbers", key, "value"), "bad-quantity", what, why, hint)
        elif number.bolt is not None:
            _bolt(draft, name, key, number)
    _steps(draft, name, sheet)


def _steps(draft: Draft, name: str, sheet: MachineSheet) -> None:
    """The first move of an alignment screw can be no larger than the largest."""
    first, largest = sheet.numbers.get("first-step"), sheet.numbers.get("largest-step")
    if first is None or largest is None:
        return
    if not all("angle" in kinds_of(one.value) for one in (first, largest)):
        return
    if parse(first.value, "angle") <= parse(largest.value, "angle"):
        return
    what = f"the first step, {short(first.value)}, is more than the largest step, {short(largest.value)}"
    why = "one of the two is wrong, and a screw turned too far at once bends or strips what it holds"
    hint = "compare with the operator's manual; half a turn to begin and never more than one turn is common practice"
    draft.fault("machines", name, ("numbers", "first-step", "value"), "first-step-over-largest", what, why, hint)


def _bolt(draft: Draft, name: str, key: str, number: SheetNumber) -> None:
    """A torque must be one that its bolt can take; the commonest fault is a slipped digit or a wrong unit."""
    way: Way = ("numbers", key)
    try:
        bolt = Bolt.read(number.bolt or "")
    except NoSuchBolt as problem:
        why = "without size and class nobody can tell what torque it takes"
        draft.fault(
            "machines", name, (*way, "bolt"), "bad-bolt", str(problem), why, "for example M24-10.9 or M24x2-10.9"
        )
        return
    if "torque" not in kinds_of(number.value):
        what, why = f"'{short(number.value)}' is not a torque", "only a torque tightens a bolt"
        draft.fault("machines", name, (*way, "bolt"), "bad-bolt", what, why, "leave bolt out, or write a torque")
        return
    reached = strained(bolt, parse(number.value, "torque"))
    if reached.says == "too-much":
        share = f"{reached.dry * 100:.0f} % of its proof load"
        what = f"{number.bolt} cannot take {number.value}: clean and dry it reaches {share}"
        why = f"above about {LIMIT * 100:.0f} % a bolt stretches, and oiled it is reached sooner still"
        most = show(bolt.torque_at(LIMIT, DRY), "torque", "both")
        hint = f"look for a slipped digit or a wrong unit; {LIMIT * 100:.0f} % is at {most}"
        draft.fault("machines", name, (*way, "value"), "bolt-overloaded", what, why, hint)
