"""What the person wrote beside signs and readings, the machine sheet, and what each answer did, for the page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lugwright.diagnosis import AnswerShown, Diagnosis, FindingShown
from lugwright.report.page.blocks import Block, Bullets, Facts, Table, Text

#: Rules and causes that are named before the rest is counted.
NAMED = 4


def place_notes(places: Iterable[FindingShown]) -> str:
    """The notes beside one sign, each with its place where only some of the places have it; empty without any."""
    found = list(places)
    by_note: dict[str, list[str]] = {}
    for one in found:
        if one.note:
            by_note.setdefault(one.note, []).append(one.place_words)
    if len(by_note) == 1 and all(one.note for one in found):
        return next(iter(by_note))
    return "; ".join(f"{', '.join(where)}: {note}" for note, where in by_note.items())


def absence_notes(answer: Diagnosis) -> tuple[tuple[str, str], ...]:
    """What was written beside signs that are not there; a part that was looked over is told once."""
    found: dict[tuple[str, str], list[str]] = {}
    for one in answer.findings:
        if one.state == "absent" and one.note:
            swept = one.source == "looked_at"
            what = f"{(one.component or 'part').replace('-', ' ')}, looked over" if swept else one.name
            unit = one.place_words.partition(",")[0] if swept else one.place_words
            found.setdefault((what, one.note), []).append(unit)
    return tuple((f"{what} ({'; '.join(dict.fromkeys(where))})", note) for (what, note), where in found.items())


def noted_blocks(answer: Diagnosis) -> Iterator[Block]:
    """The machine sheet, what each answer did, and notes that stand by no sign above."""
    sheet = answer.sheet
    said = f"{sheet.name} ({sheet.sheet}, {sheet.written})" if sheet else ""
    layer = answer.rulebase.mark("machines", sheet.sheet) if sheet else ""
    none = "none is named, so no number of this machine was used"
    yield Facts((("Machine sheet", f"{said}{layer}" if sheet else none),))
    if answer.context:
        rows = tuple((one.name, one.answer, _effect(one, answer)) for one in answer.context)
        yield Table("Answers about the machine and its work", ("Asked", "Answer", "What it did"), rows)
    else:
        yield Text("No question about the machine and its work was answered.")
    if answer.other_notes:
        yield Text("Written beside signs that were recorded both ways:")
        yield Bullets(answer.other_notes)


def _effect(one: AnswerShown, answer: Diagnosis) -> str:
    parts = ["sets how common every fault is beforehand"] if one.everywhere else []
    if one.rules:
        parts.append("fired " + _few([f"{rule}{answer.rulebase.mark('chaining', rule)}" for rule in one.rules]))
    if one.causes:
        parts.append("a sign counts by it under " + _few(one.causes))
    return "; ".join(parts) or "nothing: no rule fired on it"


def _few(names: Iterable[str]) -> str:
    every = list(names)
    more = f" and {len(every) - NAMED} more" if len(every) > NAMED else ""
    return f"{', '.join(every[:NAMED])}{more}"
