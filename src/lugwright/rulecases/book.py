"""The cases of a rule base, read strictly: every one of them, or every fault at once."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lugwright.casefile.load import CaseRecord, _record
from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.plain_build import Mark, Way
from lugwright.plain_yaml import Document, examine_plain
from lugwright.rulebase.unfilled import WHY as OPEN
from lugwright.rulebase.unfilled import unfilled
from lugwright.rulecases.agree import disagreements
from lugwright.rulecases.schema import AmongFirst, Between, Expect, RuleCase
from lugwright.validation import WHY, Names, checked

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

_ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*$")
_NAMES = Names({
    RuleCase: "a case of the rules", Expect: "'expect'", AmongFirst: "'among_first'", Between: "'no_fault'",
})  # fmt: skip
UNNAMED = "a machine without a name"


@dataclass(frozen=True)
class LoadedCase:
    """A case that can be run: what is written, the case record it makes, and where it stands."""

    name: str
    written: RuleCase
    record: CaseRecord
    spot: Spot


def load_cases(rulebase: RuleBase) -> tuple[LoadedCase, ...]:
    """Every case under `cases/` of a loaded rule base, in the order of files and lines.

    Raises UnusableInput with every fault found, or when there is no case at all.
    """
    cases, issues = inspect_cases(rulebase)
    if not cases and not issues:
        what = "there are no cases beside this rule base"
        why = "a rule that no case exercises can change its answers unseen"
        home = rulebase.layers[-1].shown
        issues = (Issue(Spot(f"{home}/cases"), "no-cases", what, why, f"write {home}/cases/first.yaml"),)
    if issues:
        raise UnusableInput(issues)
    return cases


def inspect_cases(rulebase: RuleBase) -> tuple[tuple[LoadedCase, ...], tuple[Issue, ...]]:
    """The cases that can be run, and every fault of the others.

    An overlay's cases are added to those below it; one with the id of a case below replaces it.
    """
    found: dict[str, LoadedCase] = {}
    issues: list[Issue] = []
    for layer in rulebase.layers:
        first_at: dict[str, Spot] = {}
        for path in case_files(layer.folder, layer.shown, issues):
            document, faults = examine_plain(path, shown=f"{layer.shown}/cases/{path.name}")
            issues += faults
            if document is not None:
                found |= {case.name: case for case in _from_document(document, rulebase, first_at, issues)}
    return tuple(found.values()), tuple(sorted(set(issues)))


def case_files(folder: Path, shown: str, issues: list[Issue]) -> list[Path]:
    """The files under `cases/` in order; what does not belong there is added to `issues`."""
    home = folder / "cases"
    files = []
    for path in sorted(home.iterdir(), key=lambda one: one.name) if home.is_dir() else ():
        if path.name.startswith(".") or path.name == "README.md":
            continue
        if path.suffix == ".yaml" and path.is_file():
            files.append(path)
            continue
        what = f"this {'folder' if path.is_dir() else 'file'} has no place among the cases"
        hint = "call it .yaml" if path.suffix.lower() in (".yml", ".yaml") else "move it elsewhere"
        why = "a file nobody reads is a mistake that stays hidden"
        issues.append(Issue(Spot(f"{shown}/cases/{path.name}"), "unknown-file", what, why, hint))
    return files


def _from_document(
    document: Document, rulebase: RuleBase, first_at: dict[str, Spot], issues: list[Issue]
) -> Iterator[LoadedCase]:
    blanks = unfilled(document, RuleCase, keyed=True)
    issues += [document.issue(blank.spot, "unfilled", blank.what, OPEN, blank.hint) for blank in blanks]
    faulty = {way[0] for way in (*document.faulty, *(blank.way for blank in blanks)) if way}
    if not document.whole and document.data:
        faulty.add(next(reversed(document.data)))
    bodies = _bodies(document)
    for name in document.data:
        spot = document.key_spot((name,))
        if not _ID.match(name) or len(name) > 60:
            what, hint = f"'{name[:60]}' is not written like an id", "small letters and digits with single hyphens"
            issues.append(document.issue(spot, "bad-id", what, WHY["bad-id"], hint))
            continue
        if name in first_at:
            what, why = f"the case '{name}' is written a second time", "only one of the two could be meant"
            hint = f"rename or delete one; the first stands at {first_at[name]}"
            issues.append(document.issue(spot, "duplicate-id", what, why, hint))
            continue
        first_at[name] = spot
        if name in faulty:
            continue
        written, shape_issues = checked(RuleCase, document, (name,), _NAMES)
        issues += shape_issues
        record = _record_of(name, document, bodies.get(name, {}), rulebase, issues)
        if written is None:
            continue
        told = disagreements(written, record, document, (name,), rulebase)
        issues += told
        if record is not None and not told:
            yield LoadedCase(name, written, record, spot)


def _bodies(document: Document) -> dict[str, dict[Way, Mark]]:
    """The marks of each case body, by the id of the entry, with ways that begin inside the body."""
    found: dict[str, dict[Way, Mark]] = {}
    for way, mark in document.marks.items():
        if len(way) >= 2 and way[1] == "case":
            found.setdefault(str(way[0]), {})[way[2:]] = mark
    return found


def _record_of(
    name: str, document: Document, marks: dict[Way, Mark], rulebase: RuleBase, issues: list[Issue]
) -> CaseRecord | None:
    """The case record inside an entry, its faults at their own lines of the cases file."""
    entry: Any = document.data[name]
    body = entry.get("case") if isinstance(entry, dict) else None
    if not isinstance(body, dict):
        return None  # the shape of the entry is faulty, which is told already
    if "case" in body:
        what, why = "a case beside the rules has no 'case' line", "its id above is its name"
        issues.append(document.issue(document.key_spot((name, "case", "case")), "unknown-key", what, why, "delete it"))
        return None
    data = {"case": name, **body}
    machine = body.get("machine")
    if isinstance(machine, dict):
        data["machine"] = {"name": UNNAMED, **machine}
    inner = replace(document, data=data, marks=marks, faulty=frozenset(), whole=True)
    try:
        return _record(inner, (), rulebase)
    except UnusableInput as problem:
        issues += problem.issues
        return None
