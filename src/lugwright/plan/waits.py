"""Why a check has to wait: for work or cleaning that comes first, or because the machine must stand."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from lugwright.chaining.conclude import Conclusions
from lugwright.places import Place, met_at
from lugwright.rulebase.rules import Verdict

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

DIRTY = "packed dirt spoils the reading: clean there first"
MOVES = "the machine must stand, and it would have to move for this"
RISKY = "the machine must stand, and this is work for qualified people in a safe place"
#: Reasons that hold at every place of the machine.
EVERYWHERE = (MOVES, RISKY)


def why_it_waits(check: str, at: Place, first: Sequence[str], rulebase: RuleBase, concluded: Conclusions) -> str:
    """Why a check cannot be done at a place as the machine stands; nothing where it can.

    first: the checks that have to be done before it and are not done; they must be possible as well.
    """
    if (check, at.unit) in concluded.void:
        return DIRTY
    if comes_first := next((work for place, work in works_first(concluded, rulebase) if met_at(place, at)), ""):
        return f"first comes the work: {comes_first}"
    seen = ((one.symptom, one.place) for one in concluded.findings if one.state == "seen")
    if signs := in_the_way(rulebase.checks[check].not_while, at, seen):
        return f"first put right what was seen there: {', '.join(rulebase.symptoms[one].name for one in signs)}"
    if not any(action == "stop" for action, *_ in concluded.verdicts):
        return ""
    needed = [rulebase.checks[one] for one in (*first, check)]
    if any(one.moves for one in needed):
        return MOVES
    return RISKY if any(one.risk == "high" for one in needed) else ""


def works_first(concluded: Conclusions, rulebase: RuleBase) -> list[tuple[Place, str]]:
    """The work that a verdict puts before any check, by name, with the unit or axle it is for."""
    found = []
    for action, _, _, place, rule, _ in concluded.verdicts:
        if place.unit or place.axle:
            found += [(place, rulebase.procedures[one].name) for one in works_named(rule, action, rulebase)]
    return found


def works_named(rule: str, action: str, rulebase: RuleBase) -> list[str]:
    """The procedures that a rule names in verdicts of one kind."""
    then = rulebase.rules[rule].then if rule in rulebase.rules else ()
    return [one.work for one in then if isinstance(one, Verdict) and one.verdict == action and one.work]


def in_the_way(symptoms: Sequence[str], at: Place, seen: Iterable[tuple[str, Place]]) -> list[str]:
    """Which of some signs are seen at a place, on its axle or on the machine, each once.

    >>> in_the_way(["belt-slack"], Place(unit="left"), [("belt-slack", Place(unit="left"))])
    ['belt-slack']
    >>> in_the_way(["belt-slack"], Place(unit="left"), [("belt-slack", Place(unit="right"))])
    []
    """
    here = {name for name, place in seen if name in symptoms and met_at(place, at)}
    return [name for name in symptoms if name in here]
