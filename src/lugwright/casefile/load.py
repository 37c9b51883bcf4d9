"""From a case file to a record that the reasoning can trust. All faults are collected and told at once."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import BaseModel

from lugwright.casefile.answers import answers, machine_sheet
from lugwright.casefile.faults import Faults
from lugwright.casefile.measured import Readings
from lugwright.casefile.record import CaseRecord, Finding, Reading
from lugwright.casefile.schema import MANY, Case, LookedAt, Machine, Measured, NotSeen, Seen
from lugwright.casefile.signs import Signs
from lugwright.casefile.where import Where
from lugwright.issues import Issue, UnusableInput
from lugwright.places import DRIVES, LAYOUTS
from lugwright.plain_build import Way
from lugwright.plain_yaml import Document, examine_plain, examine_plain_text
from lugwright.validation import Names, checked

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

_Entry = TypeVar("_Entry", bound=BaseModel)
_NAMES = Names({
    Case: "a case", Machine: "a machine", Seen: "an entry of 'seen'", NotSeen: "an entry of 'not_seen'",
    LookedAt: "an entry of 'looked_at'", Measured: "an entry of 'measured'",
})  # fmt: skip


def load_case(path: Path | str, rulebase: RuleBase, *, shown: str = "") -> CaseRecord:
    """Read and check a case file.

    shown:  the file's name in messages; without it, the path as given.
    Raises  UnusableInput with every fault found: in the YAML, in the shape, against the rule base.
    """
    document, issues = examine_plain(Path(path), shown=shown)
    return _record(document, issues, rulebase)


def case_from_text(text: str, name: str, rulebase: RuleBase) -> CaseRecord:
    """Read and check the text of a case; `name` stands for the file in messages. Raises UnusableInput."""
    document, issues = examine_plain_text(text, name)
    return _record(document, issues, rulebase)


def _record(document: Document | None, issues: tuple[Issue, ...], rulebase: RuleBase) -> CaseRecord:
    if document is None:
        raise UnusableInput(issues)
    case, shape_issues = checked(Case, document, (), _NAMES)
    parts = _whole(case) if case else _usable(document)
    faults = Faults(document)
    resolved = _resolve(parts, rulebase, faults) if parts else None
    refused = {spot for way in document.faulty for spot in (document.key_spot(way), document.value_spot(way))}
    unread = () if document.whole else ("missing-key", "missing-reading", "place-missing")
    found = (*shape_issues, *faults.told())
    told = [one for one in found if one.spot not in refused and one.code not in unread]
    if issues or told or case is None or resolved is None:
        raise UnusableInput([*issues, *told])
    return CaseRecord(
        case=case.case,
        machine_name=case.machine.name,
        layout=case.machine.layout,
        drive=case.machine.drive,
        file=document.name,
        sheet_id=case.machine.sheet or "",
        note=case.note,
        invented=case.invented,
        teaches=case.teaches,
        **resolved,
    )


@dataclass(frozen=True)
class _Parts:
    """The entries of a case that have the right shape, each with the way to it."""

    machine: Machine
    context: dict[str, str]
    seen: list[tuple[Way, Seen]]
    looked_at: list[tuple[Way, LookedAt]]
    not_seen: list[tuple[Way, NotSeen]]
    measured: list[tuple[Way, Measured]]


def _whole(case: Case) -> _Parts:
    return _Parts(
        case.machine,
        case.context,
        [(("seen", index), one) for index, one in enumerate(case.seen)],
        [(("looked_at", index), one) for index, one in enumerate(case.looked_at)],
        [(("not_seen", index), one) for index, one in enumerate(case.not_seen)],
        [(("measured", index), one) for index, one in enumerate(case.measured)],
    )


def _usable(document: Document) -> _Parts | None:
    """What can still be checked in a case of the wrong shape; None where the layout or drive is not known."""
    data: dict[str, Any] = document.data
    machine = data.get("machine")
    if not isinstance(machine, dict) or machine.get("layout") not in LAYOUTS or machine.get("drive") not in DRIVES:
        return None
    said = {key: value for key in ("hours", "sheet") if _is_short(value := machine.get(key))}
    usable = Machine(name="this machine", layout=machine["layout"], drive=machine["drive"], **said)
    context = data.get("context")
    texts = context.items() if isinstance(context, dict) else ()
    return _Parts(
        usable,
        {key: text for key, text in texts if _is_short(key) and _is_short(text)},
        _entries(document, "seen", Seen),
        _entries(document, "looked_at", LookedAt),
        _entries(document, "not_seen", NotSeen),
        _entries(document, "measured", Measured),
    )


def _is_short(value: object) -> bool:
    return isinstance(value, str) and 0 < len(value.strip()) <= 80


def _entries(document: Document, key: str, shape: type[_Entry]) -> list[tuple[Way, _Entry]]:
    entries = document.data.get(key)
    ways: list[Way] = [(key, index) for index in range(len(entries))] if isinstance(entries, list) else []
    return [(way, entry) for way in ways[:MANY] if (entry := checked(shape, document, way)[0]) is not None]


def _resolve(parts: _Parts, rulebase: RuleBase, faults: Faults) -> dict[str, Any]:
    machine = parts.machine
    where = Where(machine.layout, faults)
    hours = faults.hours(("machine", "hours"), machine.hours) if machine.hours is not None else None
    signs = Signs(rulebase, machine.drive, where, faults)
    for way, sign in parts.seen:
        signs.seen(way, sign)
    for way, absent in parts.not_seen:
        signs.not_seen(way, absent)
    swept = [signs.sweep(way, component) for way, component in parts.looked_at]
    readings = Readings(rulebase, where, faults, hours)
    for way, reading in parts.measured:
        readings.add(way, reading)
    return {
        "hours": hours,
        "sheet": machine_sheet(machine, rulebase, faults),
        "context": answers(parts.context, rulebase, faults),
        "findings": tuple(signs.found.values()),
        "readings": tuple(readings.found.values()),
        "looked_at": tuple(dict.fromkeys(one for one in swept if one)),
    }


__all__ = ["CaseRecord", "Finding", "Reading", "case_from_text", "load_case"]
