"""From a case to the facts the rules start from."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from lugwright.chaining.rules import Fact, fact
from lugwright.issues import Issue, UnusableInput
from lugwright.places import AXLES, SIDES, UNITS, axle_of, hand_of, opposite, partner
from lugwright.quantities import kinds_of, parse
from lugwright.readings import ReadingRefused, derive
from lugwright.readings.gap import usual_gap

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import MachineSheet


def base_facts(case: CaseRecord, rulebase: RuleBase) -> tuple[Fact, ...]:
    """What a case states, as facts: the machine, its places, context, findings and readings with what they mean.

    Raises UnusableInput naming every reading that cannot be one (one side only, sides swapped, larger than the part).
    """
    facts = [fact("machine", layout=case.layout, drive=case.drive)]
    if case.hours is not None:
        facts.append(fact("machine", hours=case.hours))
    facts += relations(case.layout)
    facts += [fact("context", name=name, value=value) for name, value in case.context.items()]
    for finding in case.findings:
        place = finding.place
        facts.append(
            fact(
                "finding",
                symptom=finding.symptom,
                state=finding.state,
                extent=finding.extent or "",
                unit=place.unit,
                axle=place.axle,
                side=place.side,
            )
        )
    numbers = usual_gap(case.drive, sheet_numbers(case.sheet))
    refused = []
    for reading in case.readings:
        try:
            fields = derive(rulebase.checks[reading.check].computation, reading.fields, numbers)
        except ReadingRefused as problem:
            why = "a rule would draw a sign from numbers that cannot be"
            what = f"{reading.key}: {problem}"
            refused.append(Issue(reading.spot, "reading-refused", what, why, problem.hint, text=reading.line))
            continue
        facts.append(fact("reading", check=reading.check, unit=reading.place.unit, axle=reading.place.axle, **fields))
    if refused:
        raise UnusableInput(refused)
    return tuple(facts)


def relations(layout: str) -> Iterator[Fact]:
    """How the places of a machine relate: partner units, the hand a side looks to, axles, opposite sides."""
    for unit in UNITS[layout]:
        yield fact("partner", unit=unit, other=partner(unit))
        yield fact("axle", unit=unit, axle=axle_of(unit))
        for side in SIDES:
            yield fact("hand", unit=unit, side=side, hand=hand_of(unit, side))
    for side in SIDES:
        yield fact("opposite-side", side=side, other=opposite(side))
    for axle in AXLES[layout]:
        yield fact("is-axle", axle=axle)


#: A number of a sheet is read as the first of these that it can be. The only temperatures that a computation compares
#: with are differences, so that 15 °F is one.
SHEET_KINDS = ("length", "pressure", "temperature-difference", "angle", "share", "mass", "speed")


def sheet_numbers(sheet: MachineSheet | None) -> dict[str, float]:
    """The numbers of a machine sheet that readings are compared with, in base units."""
    found: dict[str, float] = {}
    for name, number in (sheet.numbers if sheet else {}).items():
        kinds = kinds_of(number.value)
        kind = next((one for one in SHEET_KINDS if one in kinds), None)
        if kind:
            found[name] = parse(number.value, kind)
    return found
