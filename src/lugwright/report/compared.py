"""Two answers set against each other: what changed in findings, readings, ranking and verdict.

Nothing is weighed anew: each side is a finished diagnosis, and a change is a plain difference of the two.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Literal

from lugwright.diagnosis import Diagnosis, FindingShown, Frozen, RankedCause, ReadingShown
from lugwright.places import place_from_key
from lugwright.report.figures import percent
from lugwright.report.text import VERDICTS
from lugwright.rulebase.words import SEVERITY

Part = Literal["machine", "verdict", "causes", "findings", "readings", "open"]
#: Causes below this on both sides are left out, unless one of them stands first.
LISTED = 0.03
ABSENT = "looked for, not found"
OPEN = "not looked at"


class Change(Frozen):
    """One thing on both sides, in words. change: -1 to 1 where it is a probability that moved."""

    part: Part
    what: str
    before: str
    after: str
    changed: bool
    change: float | None = None


class Comparison(Frozen):
    """Two answers side by side.

    same_rules: whether one and the same rule base gave both. same_kind: whether layout and drive are the same;
    same_machine: whether the name is as well.
    """

    before: str
    after: str
    same_rules: bool
    same_kind: bool
    same_machine: bool
    summary: tuple[str, ...]
    changes: tuple[Change, ...]


def compared(before: Diagnosis, after: Diagnosis) -> Comparison:
    """Set two diagnoses against each other; causes and findings are matched with their place."""
    changes = (
        *_machine(before, after),
        *_verdict(before, after),
        *_causes(before, after),
        *_findings(before, after),
        *_readings(before, after),
        *_open(before, after),
    )
    return Comparison(
        before=before.case,
        after=after.case,
        same_rules=before.rulebase == after.rulebase,
        same_kind=(before.layout, before.drive) == (after.layout, after.drive),
        same_machine=(before.machine_name, before.layout, before.drive)
        == (after.machine_name, after.layout, after.drive),
        summary=tuple(_summary(before, after, changes)),
        changes=changes,
    )


def _row(part: Part, what: str, before: str, after: str, change: float | None = None) -> Change:
    return Change(part=part, what=what, before=before, after=after, changed=before != after, change=change)


def _machine(before: Diagnosis, after: Diagnosis) -> Iterator[Change]:
    yield _row("machine", "Machine", before.machine, after.machine)
    yield _row("machine", "Rule base", before.rulebase.words, after.rulebase.words)


def _verdict(before: Diagnosis, after: Diagnosis) -> Iterator[Change]:
    old, new = (VERDICTS[one.verdict.action][0] for one in (before, after))
    yield _row("verdict", "Verdict", old, new)
    was, is_now = (_reasons(one) for one in (before, after))
    for key in sorted({*was, *is_now}):
        sides = [side.get(key, ("", "no reason")) for side in (was, is_now)]
        yield _row("verdict", sides[0][0] or sides[1][0], sides[0][1], sides[1][1])


def _reasons(side: Diagnosis) -> dict[tuple[int, str, str], tuple[str, str]]:
    """What calls for a stop or a limit, the severest first: action, place and rule -> what it is, what to keep to."""
    found: dict[tuple[int, str, str], tuple[str, str]] = {}
    for one in side.verdict.reasons:
        if one.action == "keep-running":
            continue
        key = (SEVERITY.index(one.action), one.place_words, one.rule or one.finding)
        what = f"{one.finding}, {one.place_words}".rstrip(", ") + (f" (rule {one.rule})" if one.rule else "")
        keep_to = ". ".join(part for part in (VERDICTS[one.action][0], one.limit) if part)
        before = found.get(key)
        found[key] = (before[0], f"{before[1]}; {keep_to}") if before else (what, keep_to)
    return found


def _causes(before: Diagnosis, after: Diagnosis) -> Iterator[Change]:
    yield _row(
        "causes",
        "No fault beyond normal wear",
        f"{before.no_fault_word}, {percent(before.no_fault)}",
        f"{after.no_fault_word}, {percent(after.no_fault)}",
        round(after.no_fault - before.no_fault, 6),
    )
    sides = [{one.key: (rank, one) for rank, one in enumerate(side.ranked, 1)} for side in (before, after)]
    keys = {key: max(side[key][1].probability for side in sides if key in side) for side in sides for key in side}
    first = {side.ranked[0].key for side in (before, after) if side.ranked}
    for key in sorted(keys, key=lambda key: (-keys[key], key)):
        if keys[key] < LISTED and key not in first:
            continue
        one = next(side[key][1] for side in sides if key in side)
        words = [_ranked(side.get(key)) for side in sides]
        change = None
        if all(key in side for side in sides):
            change = round(sides[1][key][1].probability - sides[0][key][1].probability, 6)
        yield _row("causes", f"{one.name}: {one.place_words}", words[0], words[1], change)


def _ranked(found: tuple[int, RankedCause] | None) -> str:
    if found is None:
        return "not listed"
    rank, one = found
    return f"{one.word}, {percent(one.probability)}, place {rank}"


def _findings(before: Diagnosis, after: Diagnosis) -> Iterator[Change]:
    """Findings that differ: new, gone, never looked at before, or of another extent."""
    sides = [{one.key: one for one in side.findings} for side in (before, after)]
    for key in sorted({key for side in sides for key in side}, key=lambda key: _order(key, sides)):
        pair = [side.get(key) for side in sides]
        if not any(one and one.state == "seen" for one in pair):
            continue
        words = [_state(one) for one in pair]
        if words[0] != words[1]:
            one = pair[0] or pair[1]
            assert one is not None
            yield _row("findings", f"{one.name}, {one.place_words}", words[0], words[1])


def _order(key: str, sides: list[dict[str, FindingShown]]) -> tuple[str, str]:
    symptom, _, place = key.partition("@")
    return place_from_key(place).key, symptom


def _state(one: FindingShown | None) -> str:
    if one is None:
        return OPEN
    if one.state == "absent":
        return ABSENT
    return f"seen ({one.extent})" if one.extent else "seen"


def _readings(before: Diagnosis, after: Diagnosis) -> Iterator[Change]:
    sides = [{one.key: one for one in side.readings} for side in (before, after)]
    for key in dict.fromkeys((*sides[0], *sides[1])):
        one = sides[0].get(key) or sides[1][key]
        words = [_reading(side.get(key)) for side in sides]
        yield _row("readings", f"{one.name}, {one.place_words}", words[0], words[1])


def _reading(one: ReadingShown | None) -> str:
    if one is None:
        return "not measured"
    means = f" ({one.means})" if one.means else ""
    return f"{one.text}{means}{'; set aside' if one.void else ''}"


def _open(before: Diagnosis, after: Diagnosis) -> Iterator[Change]:
    def words(side: Diagnosis) -> str:
        return "; ".join(f"{one.name}, {one.place_words}" for one in side.unexplained) or "nothing"

    yield _row("open", "Unexplained", words(before), words(after))
    old, new = ("; ".join(side.not_looked_at) or "nothing" for side in (before, after))
    yield _row("open", "Not looked at", old, new)


def _summary(before: Diagnosis, after: Diagnosis, changes: Iterable[Change]) -> Iterator[str]:
    """What changed, in a few sentences; first of all whether the two are one machine."""
    names = [side.machine_name or side.machine for side in (before, after)]
    if names[0] != names[1]:
        yield f"These are two machines by their names: {names[0]} and {names[1]}. What follows compares them."
    old, new = (VERDICTS[side.verdict.action][0] for side in (before, after))
    yield f"The verdict stays {new}." if old == new else f"The verdict goes from {old} to {new}."
    first = [_first(side) for side in (before, after)]
    if first[0][0] == first[1][0]:
        yield f"First stays {first[1][1]}: {first[0][2]} → {first[1][2]}."
    else:
        yield f"First was {first[0][1]} ({first[0][2]}); now it is {first[1][1]} ({first[1][2]})."
    found = [one for one in changes if one.part == "findings"]
    counts = {
        "new": sum(one.after.startswith("seen") and one.before == ABSENT for one in found),
        "seen where nobody had looked": sum(one.after.startswith("seen") and one.before == OPEN for one in found),
        "gone": sum(one.before.startswith("seen") and one.after == ABSENT for one in found),
        "not looked at again": sum(one.before.startswith("seen") and one.after == OPEN for one in found),
        "of another extent": sum(one.before.startswith("seen") and one.after.startswith("seen") for one in found),
    }
    said = ", ".join(f"{count} {word}" for word, count in counts.items() if count)
    yield f"Signs: {said}." if said else "No sign changed."
    if before.rulebase != after.rulebase:
        yield "The two answers came from different rule bases, so a change may lie in the rules."
    if (before.layout, before.drive) != (after.layout, after.drive):
        yield "The two machines are of different kinds; places may not correspond."


def _first(side: Diagnosis) -> tuple[str, str, str]:
    """What stands first: its key, its words, its figure."""
    if not side.ranked or side.no_fault >= side.ranked[0].probability:
        return "no-fault", "no fault beyond normal wear", percent(side.no_fault)
    one = side.ranked[0]
    return one.key, f"{one.name} ({one.place_words})", percent(one.probability)
