"""From a case to the facts the rules start from."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from lugwright.chaining.rules import Fact, fact
from lugwright.places import AXLES, SIDES, UNITS, axle_of, hand_of, opposite, partner
from lugwright.quantities import parse
from lugwright.readings import derive

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import MachineSheet


def base_facts(case: CaseRecord, rulebase: RuleBase) -> tuple[Fact, ...]:
    """What a case states, as facts: the machine, its places, context, findings and readings with what they mean."""
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
    lengths = sheet_lengths(case.sheet)
    for reading in case.readings:
        fields = derive(rulebase.checks[reading.check].computation, reading.fields, lengths)
        facts.append(fact("reading", check=reading.check, unit=reading.place.unit, axle=reading.place.axle, **fields))
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


def sheet_lengths(sheet: MachineSheet | None) -> dict[str, float]:
    """The numbers of a machine sheet that are lengths, in mm."""
    found: dict[str, float] = {}
    for name, number in (sheet.numbers if sheet else {}).items():
        try:
            found[name] = parse(number.value, "length")
        except ValueError:
            continue
    return found
