"""A diagnosis in plain words for the terminal: verdict first, then causes, then what to look at, then the work."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeAlias

from lugwright.diagnosis import SETTLED, Diagnosis, NextCheck, RankedCause, Reason, Steadiness, Undecided, Without
from lugwright.report.context import moved_by
from lugwright.report.figures import moved, percent
from lugwright.report.lines import Line
from lugwright.report.sentences import (
    REPAIRS,
    STOPPED,
    beside_work,
    comes_first,
    contradictions,
    stands_all_the_same,
    telling,
    to_prove,
    too_close_to_call,
)  # fmt: skip

VERDICTS = {
    "stop": ("STOP", "stop", "do not run this machine until this is put right"),
    "limit-use": ("LIMIT USE", "limit", ""),
    "keep-running": ("KEEP RUNNING", "go", ""),
}

#: Stands over the lesser reasons on a machine that must stand; what each allows is told once it may run again.
LATER = "found beside it, and told in full once the stop is put right (the report has it now):"
TOGETHER = "several signs; leaving out any one of them changes nothing"
#: In bits; a smaller conflict would print as 0.0 and is not one.
LEAST_CONFLICT = 0.05


def diagnosis_lines(answer: Diagnosis, top: int = 5) -> Iterator[Line]:
    """Everything triage says, as lines. `top` limits how many causes are listed."""
    yield Line(f"{answer.case}   {answer.machine}", tone="strong")
    yield Line(answer.rulebase.words, tone="faint")
    if answer.invented:
        yield Line("Invented demonstration case; the machine does not exist.", tone="faint")
    yield Line()
    yield from _verdict(answer)
    yield Line()
    yield from _causes(answer, top)
    yield from _open_ends(answer)
    yield Line()
    yield Line("Before you touch anything", tone="head")
    for caution in answer.cautions:
        yield Line(caution, label="!", label_width=3, indent=2)
    yield Line()
    yield from _next(answer)
    yield from _work(answer)


def _verdict(answer: Diagnosis) -> Iterator[Line]:
    word, tone, plain = VERDICTS[answer.verdict.action]
    yield Line(f" {word} ", tone=tone)
    if plain:
        yield Line(plain, indent=2, tone="strong")
    shorter = False
    for (action, calls_for), groups in _alike(answer.verdict.grouped).items():
        if answer.verdict.action == "stop" != action and not shorter:
            yield Line(LATER, indent=2, tone="faint")
            shorter = True
        for reasons in groups:
            mark = {"stop": "stop", "limit-use": "limit", "keep-running": "go" if shorter else ""}[action]
            measured = f": {reasons[0].measured}" if reasons[0].measured else ""
            layer = "".join(dict.fromkeys(answer.rulebase.mark("chaining", one.rule) for one in reasons))
            text = f"{reasons[0].heading}{measured}{layer}"
            yield Line(text, indent=2, label=mark, label_width=7 if mark else 0)
        for text in () if shorter else (text for said in calls_for for text in said):
            if text:
                yield Line(text, indent=9, tone="faint")


#: An action with what is to be kept to, the figure behind it and the work that comes first, for each reason of a group.
CallsFor: TypeAlias = tuple[str, tuple[tuple[str, str, str], ...]]


def _alike(groups: Iterable[tuple[Reason, ...]]) -> dict[CallsFor, list[tuple[Reason, ...]]]:
    """Reasons by what they call for, in the order of the first of each: one limit is read once for many places."""
    alike: dict[CallsFor, list[tuple[Reason, ...]]] = {}
    for group in groups:
        key = group[0].action, tuple((one.limit, one.number, one.work) for one in group)
        alike.setdefault(key, []).append(group)
    return alike


def _causes(answer: Diagnosis, top: int) -> Iterator[Line]:
    yield Line("Likely causes    (causes can act together, so the figures need not add up to 100 %)", tone="head")
    lead_is_sound = bool(answer.ranked) and answer.no_fault >= answer.ranked[0].probability
    if lead_is_sound:
        yield from _sound(answer)
    listed = [one for index, one in enumerate(answer.ranked) if index < top and (index < 1 or one.probability >= 0.03)]
    for number, cause in enumerate(listed, 1):
        yield Line(
            f"{cause.name}: {cause.place_words}{answer.rulebase.mark('causes', cause.cause)}",
            label=f"{number}",
            label_width=3,
            tone="strong",
            right=f"{cause.word:>14}  {percent(cause.probability):>6}",
        )
        yield from _reasons(cause, 5 if number == 1 else 2)
        yield from _context(cause, answer)
    if not lead_is_sound:
        yield from _sound(answer)
    if answer.steadiness:
        yield Line(steadiness_said(answer.steadiness, answer), indent=3)
    if answer.undecided:
        yield Line()
        yield from undecided_lines(answer.undecided)


def undecided_lines(one: Undecided) -> Iterator[Line]:
    """What cannot be told apart, and the check that does it."""
    yield Line(" / ".join(one.words), label="Undecided between", label_width=19, tone="strong")
    split = one.split_words or "no check on hand does it; look at what was not looked at yet"
    yield Line(split, label="split by", label_width=10, indent=4)


def _sound(answer: Diagnosis) -> Iterator[Line]:
    yield Line(
        "No fault beyond normal wear",
        indent=3,
        right=f"{answer.no_fault_word:>14}  {percent(answer.no_fault):>6}",
        tone="strong" if answer.no_fault >= 0.5 else "",
    )
    if told := stands_all_the_same(answer):
        yield Line(told, indent=5)
    for one in answer.normal:
        place = "" if one.place_words == "whole machine" else f": {one.place_words}"
        yield Line(
            f"{one.name}{place}", indent=5, label="normal", label_width=9, right=f"{percent(one.probability):>6}"
        )


def _reasons(cause: RankedCause, most: int) -> Iterator[Line]:
    for speaks in ("for", "against"):
        rows = [
            one for one in cause.without if one.speaks == speaks and (cause.probability >= 0.995 or _shows(cause, one))
        ]
        if speaks == "for" and cause.together:
            yield Line(f"{TOGETHER}: {'; '.join(cause.together)}", indent=5, label="for", label_width=9)
        for index, row in enumerate(rows[:most]):
            label = speaks if index == 0 and not (speaks == "for" and cause.together) else ""
            yield _reason(cause, row, label, speaks)
        if len(rows) > most:
            yield Line(f"and {len(rows) - most} more", indent=5, label=" ", label_width=9, tone="faint")


def _context(cause: RankedCause, answer: Diagnosis) -> Iterator[Line]:
    """The rules about the machine and its work that speak against a listed cause: no sign shows them."""
    for one in moved_by(answer, cause):
        if one.speaks == "against":
            text = f"{one.words} (rule {one.step.rule}{answer.rulebase.mark('chaining', one.step.rule)})"
            yield Line(text, indent=5, label="against", label_width=9, tone="against")


def _shows(cause: RankedCause, row: Without) -> bool:
    return percent(row.probability) != percent(cause.probability)


def _reason(cause: RankedCause, row: Without, label: str, tone: str) -> Line:
    without = percent(row.probability) if _shows(cause, row) else moved(cause.probability, row.probability)[1]
    return Line(
        row.words,
        indent=5,
        label=label or " ",
        label_width=9,
        right=f"without it {without:>6}",
        tone=tone,
    )


def _open_ends(answer: Diagnosis) -> Iterator[Line]:
    yield Line()
    for text in contradictions(answer):
        yield Line(text, label="Contradictory", label_width=16)
    for text in too_close_to_call(answer.readings):
        yield Line(text, label="Too close", label_width=16)
    for reading in (one for one in answer.readings if one.void):
        taken = f"{reading.name}, {reading.place_words}: {reading.text}"
        text = f"{taken}. Not counted; clean there first, then measure again."
        yield Line(text, label="Set aside", label_width=16)
    for reading in (one for one in answer.readings if one.refused and not one.void):
        text = f"{reading.name}, {reading.place_words}: {reading.text}. Not counted: {reading.refused}. Take it again."
        yield Line(text, label="Set aside", label_width=16)
    for item in answer.ruled_out:
        place = f", {item.place_words}" if item.place_words else ""
        yield Line(
            f"{item.name}{place} (rule {item.rule}{answer.rulebase.mark('chaining', item.rule)})",
            label="Ruled out",
            label_width=16,
        )
    unexplained = "; ".join(f"{one.name}, {one.place_words}" for one in answer.unexplained) or "nothing"
    yield Line(unexplained, label="Unexplained", label_width=16)
    if answer.conflict_bits >= LEAST_CONFLICT:
        yield Line(
            f"the findings pull against each other ({answer.conflict_bits:.1f} bits): more than one cause may be at "
            "work, or a note is wrong",
            label="Conflict", label_width=16,
        )  # fmt: skip
    missing = "; ".join(answer.not_looked_at) or "nothing"
    yield Line(missing, label="Not looked at", label_width=16)
    if answer.not_counted:
        text = f"{'; '.join(answer.not_counted)}: measured, but the reading does not count"
        yield Line(text, label="Not known", label_width=16)
    if answer.bound > 5e-5:
        yield Line(f"at most {answer.bound:.1e} of the probability was not visited", label="Accuracy", label_width=16)


def _next(answer: Diagnosis) -> Iterator[Line]:
    yield Line("Look next", tone="head")
    if text := clean_first(answer.void):
        yield Line(text, indent=2, tone="strong")
    if not answer.next_checks:
        yield Line(nothing_to_check(is_settled(answer), answer.verdict.work_first), indent=2)
        return
    for check in answer.next_checks[:3]:
        yield Line(
            f"{check.name}: {check.place_words}{answer.rulebase.mark('checks', check.check)}",
            indent=2,
            label="-",
            label_width=2,
            tone="strong",
            right=f"{check.minutes:.0f} min",
        )
        yield from (Line(text, indent=6) for text in _outcomes(check, answer.ranked[0].key if answer.ranked else ""))


def _outcomes(check: NextCheck, leader: str) -> Iterator[str]:
    if check.first_for:
        yield comes_first(check)
    yield f"asks: {check.asks}"
    for outcome in telling(check):
        moved = f"{outcome.moves_words} {percent(outcome.moves_from)} → {percent(outcome.moves_to)}"
        leads = (
            ""
            if outcome.first in (leader, outcome.moves)
            else f"; first then {outcome.first_words} {percent(outcome.first_probability)}"
        )
        yield f"if {outcome.result} ({percent(outcome.probability)}): {moved}{leads}"


def _work(answer: Diagnosis) -> Iterator[Line]:
    for work in answer.work:
        yield Line()
        layer = answer.rulebase.mark("procedures", work.procedure)
        yield Line(f"Work    {work.name}: {work.place_words}{layer}", tone="head")
        for text in beside_work(answer, work.cause):
            yield Line(text, indent=2, label="beside", label_width=9, tone="strong")
        if answer.verdict.action == "stop":
            yield Line(REPAIRS if work.repairs_stop else STOPPED, indent=2, label="first", label_width=9)
        if work.confirm:
            yield Line(to_prove(work), indent=2, label="measure", label_width=9)
        yield Line(f"{len(work.steps)} steps: lugwright rules show {work.procedure}", indent=2)
        for text in work.before:
            yield Line(text, indent=2, label="first", label_width=9)
        yield Line(work.prove, indent=2, label="prove", label_width=9)
        for text in work.recheck:
            yield Line(text, indent=2, label="recheck", label_width=9)


def clean_first(void: Iterable[str]) -> str:
    """What to clean before anything is read there; nothing where no reading is void.

    void: checks whose readings mean nothing, each with its unit, as in `Diagnosis.void`.

    >>> clean_first(["Belt tension by gauge or mark, left", "Sag of the upper run, left"]).split(".")[0]
    'First clean out the packed dirt: left'
    """
    units = list(dict.fromkeys(one.rpartition(", ")[2] for one in void))
    if not units:
        return ""
    return (
        f"First clean out the packed dirt: {', '.join(units)}. Until then clearances, temperatures and tension read "
        "there count for nothing."
    )


def nothing_to_check(settled: bool, work_first: bool) -> str:
    """Why no check is offered.

    settled: whether what stands first is likely enough and explains what was seen. work_first: whether a verdict names
    work that comes before checks.

    >>> nothing_to_check(False, False)
    'No check is worth its time now.'
    """
    if work_first:
        return "No check yet: first comes the work that the verdict names (lugwright jobcard prints it)."
    if settled:
        return "Settled: no check that is left has a fair chance of changing this answer."
    return "No check is worth its time now."


def is_settled(answer: Diagnosis) -> bool:
    """Whether what stands first, a cause or no fault, is likely enough and leaves nothing unexplained."""
    first = max([answer.no_fault, *(one.probability for one in answer.ranked)])
    return first >= SETTLED and not answer.unexplained


def steadiness_said(one: Steadiness, answer: Diagnosis) -> str:
    """How steady the first place is; whose it is, where that is not the cause ranked first."""
    if answer.ranked and one.first == answer.ranked[0].key:
        return steadiness_words(one)
    names = {cause.key: f"{cause.name}, {cause.place_words}" for cause in answer.ranked}
    names["no-fault"] = "no fault beyond normal wear"
    return f"{names.get(one.first, one.first)}: {steadiness_words(one)}"


def steadiness_words(one: Steadiness) -> str:
    """How steady the first place is.

    >>> steadiness_words(Steadiness(draws=300, first="x@left", first_in=291, word="steady", low=0.81, high=0.97))
    'Steady: first in 97 of 100 redraws; 81 % to 97 %'
    """
    share = 100 * one.first_in / one.draws
    first = f"{share:.0f}" if share in (0, 100) or 0.5 <= share <= 99.5 else ("fewer than 1" if share < 50 else "99")
    note = f" ({one.note})" if one.note else ""
    return f"{one.word.capitalize()}: first in {first} of 100 redraws; {percent(one.low)} to {percent(one.high)}{note}"
