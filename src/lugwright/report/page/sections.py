"""The sections of the page in the order of reading: verdict, map, causes, what was and was not seen, what to do."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.diagnosis import Diagnosis, FindingShown, RankedCause, Steadiness, Without
from lugwright.places import UNITS
from lugwright.report.context import moved_by
from lugwright.report.figures import arrow, percent
from lugwright.report.page.blocks import (
    Block,
    Bullets,
    Facts,
    Heading,
    Picture,
    Section,
    Table,
    Text,
)
from lugwright.report.page.noted import absence_notes, noted_blocks, place_notes
from lugwright.report.page.record import audit_sections
from lugwright.report.page.to_do import next_blocks, work_blocks
from lugwright.report.page.verdict import verdict_blocks
from lugwright.report.pattern import pattern_lines
from lugwright.report.sentences import contradictions, too_close_to_call
from lugwright.report.text import LEAST_CONFLICT, TOGETHER, steadiness_said
from lugwright.report.wear_cells import place_list, wear_cells
from lugwright.report.wear_map import description

#: Causes below this are listed in one table instead of a part of their own.
IN_FULL = 0.05
#: Findings listed under the first cause and under each further one; the lighter ones are counted.
MOST_FIRST, MOST_FURTHER = 16, 8


def sections(answer: Diagnosis) -> tuple[Section, ...]:
    """Every section of the page; each is there in every report, so that an empty one says so."""
    return (
        Section("verdict", "Verdict", tuple(verdict_blocks(answer))),
        Section("map", "Wear map", tuple(_map(answer))),
        Section("causes", "Likely causes", tuple(_causes(answer))),
        Section("sound", "Looked at and not found", tuple(_sound(answer))),
        Section("not-looked-at", "Not looked at", tuple(_not_looked_at(answer))),
        Section("ruled-out", "Ruled out", tuple(_ruled_out(answer))),
        Section("open", "Unexplained, contradictory, in conflict", tuple(_open(answer))),
        Section("next", "Look next", tuple(next_blocks(answer))),
        Section("work", "Work", tuple(work_blocks(answer))),
        Section("noted", "As it was noted", tuple(noted_blocks(answer))),
        *audit_sections(answer),
    )


def _map(answer: Diagnosis) -> Iterator[Block]:
    for line in pattern_lines(answer):
        yield Text(line)
    yield Picture("map", description(answer), "The machine from above, front up. The numbers are those of the table.")
    signs = wear_cells(answer).signs
    if signs:
        columns: tuple[str, ...] = ("No.", "Sign", "Kind", "Where")
        rows: tuple[tuple[str, ...], ...] = tuple(
            (str(one.number), one.name, one.family.name, place_list(one)) for one in signs
        )
        if any(place_notes(one.places) for one in signs):
            columns += ("Noted beside it",)
            rows = tuple((*row, place_notes(one.places)) for row, one in zip(rows, signs, strict=True))
        yield Table("Signs that were seen", columns, rows)


def _causes(answer: Diagnosis) -> Iterator[Block]:
    yield Text("Causes can act together, so the figures need not add up to 100 %.")
    if answer.undecided:
        yield Text("Undecided between: " + "; ".join(answer.undecided.words) + ".")
        if answer.undecided.check:
            yield Text(f"Split by: {answer.undecided.split_words}")
    lead_is_sound = not answer.ranked or answer.no_fault >= answer.ranked[0].probability
    if lead_is_sound:
        yield from _no_fault(answer)
    full = [one for rank, one in enumerate(answer.ranked) if rank == 0 or one.probability >= IN_FULL]
    for number, one in enumerate(full, 1):
        yield from _cause(one, number, answer)
    if not lead_is_sound:
        yield from _no_fault(answer)
    rest = answer.ranked[len(full) :]
    if rest:
        rows = tuple((one.name, one.place_words, f"{one.word}, {percent(one.probability)}") for one in rest)
        yield Table("Further causes, each below 5 %", ("Cause", "Place", "How likely"), rows, figures=(2,))


def _no_fault(answer: Diagnosis) -> Iterator[Block]:
    figure = f"{answer.no_fault_word}, {percent(answer.no_fault)}"
    yield Heading("No fault beyond normal wear", right=figure, share=answer.no_fault)
    for one in answer.normal:
        yield Text(
            f"Normal on a sound machine: {one.name}, {one.place_words} ({one.word}, {percent(one.probability)})."
        )


def _cause(one: RankedCause, number: int, answer: Diagnosis) -> Iterator[Block]:
    layer = answer.rulebase.mark("causes", one.cause)
    figure = f"{one.word}, {percent(one.probability)}"
    yield Heading(f"{number}. {one.name}: {one.place_words}", right=figure, share=one.probability, id=f"cause-{number}")
    rows = [
        ("Why it wears so", one.because),
        ("If it is left", one.if_ignored),
        ("Before anything was looked at", percent(one.prior)),
        *(("Context for it", text) for text in _context(one, "for", answer)),
        *(("Context against it", text) for text in _context(one, "against", answer)),
        ("Of this, still mild", percent(one.mild) if one.mild else ""),
        ("Rests on", one.basis),
        ("Written at", f"{one.written}{layer}"),
    ]
    yield Facts(tuple((name, text) for name, text in rows if text))
    shown = _weightiest(one, MOST_FIRST if number == 1 else MOST_FURTHER)
    if one.together:
        yield Text(f"{TOGETHER[0].upper()}{TOGETHER[1:]}: {'; '.join(one.together)}.")
    said = [
        (row.words, "for" if row.speaks == "for" else "against", arrow(one.probability, row.probability))
        for speaks in ("for", "against")
        for row in shown
        if row.speaks == speaks
    ]
    if said:
        yield Table(
            f"What carries cause {number} and what speaks against it",
            ("Finding", "Speaks", "Without this finding"),
            tuple(said),
            figures=(2,),
        )
    elif not one.together:
        together = "; several carry it together" if one.probability >= 0.5 else ""
        yield Text(f"No single finding changes this figure by more than half a per cent{together}.", "faint")
    if len(shown) < len(one.without):
        yield Text(f"{len(one.without) - len(shown)} further findings change it less than any of these.", "faint")


def _context(one: RankedCause, speaks: str, answer: Diagnosis) -> Iterator[str]:
    for moved in moved_by(answer, one):
        if moved.speaks == speaks:
            layer = answer.rulebase.mark("chaining", moved.step.rule)
            yield f"{moved.words} (rule {moved.step.rule}{layer}, {moved.step.file}:{moved.step.line})"


def _weightiest(one: RankedCause, most: int) -> tuple[Without, ...]:
    """The findings that change a cause most, in the order in which they are told."""
    order = sorted(range(len(one.without)), key=lambda at: (-abs(one.without[at].probability - one.probability), at))
    return tuple(one.without[at] for at in sorted(order[:most]))


def _sound(answer: Diagnosis) -> Iterator[Block]:
    absent: dict[str, dict[str, list[FindingShown]]] = {}
    for one in answer.findings:
        if one.state == "absent":
            absent.setdefault(one.component or "other", {}).setdefault(one.symptom, []).append(one)
    if not absent:
        yield Text("No sign was recorded as looked for and not found.")
        return
    count = sum(len(places) for signs in absent.values() for places in signs.values())
    were = "1 sign was" if count == 1 else f"{count} signs were"
    yield Text(f"{were} looked for and not found. Each counts in the figures above.")
    rows = tuple(
        (part.replace("-", " "), "; ".join(_absence(places, answer) for places in signs.values()))
        for part, signs in sorted(absent.items())
    )
    yield Table("Not found, by part", ("Part", "Signs that are not there"), rows)
    notes = absence_notes(answer)
    if notes:
        yield Table("Noted beside signs that are not there", ("Sign", "Note"), notes)


def _absence(places: list[FindingShown], answer: Diagnosis) -> str:
    """One sign with the places it is absent from; `everywhere` where that is every unit, or both sides of each."""
    first = places[0]
    units = len(UNITS[answer.layout])
    if first.place == "machine" or len(places) == (2 * units if "/" in first.place else units):
        return first.name
    return f"{first.name} ({', '.join(one.place_words.replace(', ', ' ') for one in places)})"


def _not_looked_at(answer: Diagnosis) -> Iterator[Block]:
    if answer.not_looked_at:
        yield Text("Nothing was written about these parts. That is no evidence either way, and it clears nothing.")
        yield Bullets(answer.not_looked_at)
    elif not answer.not_counted:
        yield Text("Something was written about every part of every unit.")
    if answer.not_counted:
        yield Text("Measured, but the reading does not count, so nothing is known of these parts either.")
        yield Bullets(answer.not_counted)


def _ruled_out(answer: Diagnosis) -> Iterator[Block]:
    if not answer.ruled_out:
        yield Text("No cause was ruled out by a rule.")
        return
    why = {step.rule: step for step in answer.steps}
    rows = []
    for one in answer.ruled_out:
        step = why.get(one.rule)
        said = f"{step.name or one.rule}. {step.because}" if step else one.rule
        written = f"{step.file}:{step.line}" if step else ""
        layer = answer.rulebase.mark("chaining", one.rule)
        rows.append((one.name, one.place_words or "everywhere", said, f"{one.rule}{layer}, {written}".rstrip(", ")))
    yield Table("Causes a rule excludes", ("Cause", "Where", "Why", "Rule"), tuple(rows))


def _open(answer: Diagnosis) -> Iterator[Block]:
    unexplained = "; ".join(f"{one.name}, {one.place_words}" for one in answer.unexplained)
    rows = [
        ("Unexplained", unexplained or "nothing: each sign is accounted for by a cause above or by normal wear"),
        ("Contradictory", " ".join(contradictions(answer)) or "nothing"),
        ("Too close to call", " ".join(too_close_to_call(answer.readings)) or "no reading"),
        (
            "Conflict",
            f"the findings pull against each other ({answer.conflict_bits:.1f} bits); more than one cause may be at "
            "work, or a note is wrong"
            if answer.conflict_bits >= LEAST_CONFLICT
            else f"none; the findings fit together ({answer.conflict_bits:.1f} bits)",
        ),
        ("Accuracy", f"no figure is off by more than {answer.bound:.1e}" if answer.bound > 0 else "exact"),
    ]
    yield Facts(tuple(rows))
    yield Heading("Steadiness")
    if answer.steadiness is None:
        yield Text("The frequencies were not redrawn for this page, so nothing is said about steadiness.")
    else:
        yield from _steadiness(answer, answer.steadiness)


def _steadiness(answer: Diagnosis, steady: Steadiness) -> Iterator[Block]:
    """How much the first place hangs on the exact frequencies."""
    names = {one.key: f"{one.name} ({one.place_words})" for one in answer.ranked}
    names["no-fault"] = "no fault beyond normal wear"
    yield Text(f"{steadiness_said(steady, answer)}.")
    first = names.get(steady.first, steady.first)
    others = "; ".join(names.get(key, key) for key in steady.instead)
    yield Facts((("First with the words as they are", first), ("Instead came first", others or "nothing else")))
