"""What a case says about the machine itself: its hours, its sheet, and the answers to the questions."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import TYPE_CHECKING

from lugwright.casefile.faults import Faults
from lugwright.casefile.schema import Machine
from lugwright.issues import did_you_mean, nearest
from lugwright.plain_build import Way, short

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import ContextFact, MachineSheet


def machine_sheet(machine: Machine, rulebase: RuleBase, faults: Faults) -> MachineSheet | None:
    """The sheet the machine names, if it is one for this layout and drive."""
    if machine.sheet is None:
        return None
    way = ("machine", "sheet")
    sheet = rulebase.machines.get(machine.sheet)
    if sheet is None:
        hint = did_you_mean(machine.sheet, rulebase.machines)
        faults.add(way, "unknown-sheet", f"there is no machine sheet '{short(machine.sheet)}'", hint)
        return None
    for key, own, wanted in (("layout", machine.layout, sheet.layout), ("drive", machine.drive, sheet.drive)):
        if own != wanted:
            what = f"the sheet '{machine.sheet}' has {key} {wanted}, this machine has {own}"
            faults.add(way, "sheet-mismatch", what, f"choose another sheet, or check `{key}:` of the machine")
    return sheet


def answers(written: Mapping[str, str], rulebase: RuleBase, faults: Faults) -> dict[str, str | float]:
    """Context id -> answer id, or a number in base units where the question asks for a quantity."""
    found: dict[str, str | float] = {}
    for name, text in written.items():
        question = rulebase.context.get(name)
        if question is None:
            spot, what = faults.key(("context", name)), f"there is no question '{short(name)}'"
            faults.add_at(spot, "unknown-context", what, partial(_meant, name, rulebase))
            continue
        if question.derived:
            hint = "leave it out"
            faults.add_at(faults.key(("context", name)), "derived-context", f"'{name}' is not asked", hint)
            continue
        value = _answer(("context", name), name, text, question, faults)
        if value is not None:
            found[name] = value
    return found


def _answer(way: Way, name: str, text: str, question: ContextFact, faults: Faults) -> str | float | None:
    if question.quantity == "hours" and name.endswith("hours"):
        return faults.hours(way, text)
    if question.quantity:
        return faults.number(way, text, question.quantity)
    if text in question.answers:
        return text
    hint = did_you_mean(text, question.answers)
    if not hint.startswith("one of"):
        hint = f"{hint} (one of: {', '.join(question.answers)})".strip()
    faults.add(way, "unknown-answer", f"'{short(text)}' is no answer to '{name}'", hint)
    return None


def _meant(word: str, rulebase: RuleBase) -> str:
    if word in rulebase.symptoms:
        return "that is a symptom: write it under `seen` or `not_seen`"
    asked = [name for name, one in rulebase.context.items() if not one.derived]
    return did_you_mean(word, nearest(word, asked)) or "lugwright rules list context prints them all"
