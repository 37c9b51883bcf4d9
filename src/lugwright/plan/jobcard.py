"""The job card of one cause: its procedure at its place, with this machine's numbers in metric and inch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.diagnosis import Diagnosis, Frozen, RankedCause
from lugwright.plan.work import PLACEHOLDER, UNKNOWN_NUMBER
from lugwright.quantities import QuantityError, kinds_of, parse, show

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import MachineSheet, Procedure

#: Said before any work, in every output.
COMMON = (
    "Level firm ground, tool down, engine off, key in your pocket, park brake on, chocks both ways, everything stopped "
    "and cool before a hand goes near belt or wheel. The operator's manual, local rules and qualified people come "
    "first."
)


class CardStep(Frozen):
    """One thing to do, with the caution that stands before it."""

    caution: str = ""
    do: str


class CardNumber(Frozen):
    """A number of this machine that the card uses, and where it comes from; `value` sends to the manual if unknown."""

    name: str
    value: str
    means: str = ""
    known: bool


class Recheck(Frozen):
    """When to look again: the hour meter at which it is due, where both figures are known."""

    text: str
    due: tuple[str, ...] = ()


class JobCard(Frozen):
    """Everything a job card prints. It says nothing that the procedure, the sheet and the diagnosis do not say."""

    case: str
    machine: str
    invented: bool
    rulebase: str
    title: str
    procedure: str
    cause: str
    cause_name: str
    place_words: str
    probability: float
    word: str
    likely: bool
    verdict: str
    minutes: float | None
    tools: tuple[str, ...]
    before: tuple[str, ...]
    cautions: tuple[str, ...]
    steps: tuple[CardStep, ...]
    prove: str
    recheck: tuple[Recheck, ...]
    numbers: tuple[CardNumber, ...]
    sign_off: tuple[str, ...] = ("Work done by", "Locks and torque seen by", "Date", "Hour meter")


class NoCard(Exception):
    """There is no card for what was asked; the message says why and what there is."""


def both_systems(text: str) -> str:
    """A quantity as a person reads it in both systems; the one it was written in is kept to the digit where it can be.

    >>> both_systems("130 N·m"), both_systems("1/2 turn"), both_systems("150 ft"), both_systems("15 °F")
    ('130 N·m (96 lbf·ft)', '1/2 turn', '45.7 m (150 ft)', '8.33 K (15 °F)')
    """
    kinds = kinds_of(text)
    kind = "temperature-difference" if "temperature-difference" in kinds else kinds[0] if kinds else ""
    if not kind or kind in ("angle", "hours", "share", "count", "years"):
        return text
    value = parse(text, kind)
    if kind == "length" and abs(value) >= 3000:
        return f"{value / 1000:.3g} m ({value / 304.8:.3g} ft)"
    return show(value, kind, "both")


def fill_both(text: str, sheet: MachineSheet | None) -> str:
    """A text with {number-name} replaced by the sheet's number in both systems; what it lacks is never invented.

    >>> fill_both("Torque to {adjuster-torque}.", None)
    "Torque to [see the operator's manual]."
    """
    numbers = sheet.numbers if sheet else {}
    return PLACEHOLDER.sub(lambda m: both_systems(numbers[m[1]].value) if m[1] in numbers else UNKNOWN_NUMBER, text)


def job_card(
    answer: Diagnosis, rulebase: RuleBase, sheet: MachineSheet | None = None, cause: str | None = None
) -> JobCard:
    """The card for the first ranked cause that has a procedure, or for a named one.

    cause: a cause id or cause@place among the ranked causes, or the id of any other cause of the rule base that the
           case does not rank; then the place is left to the person.
    Raises NoCard where there is no such cause, or it has no procedure.
    """
    ranked = _chosen(answer, rulebase, cause)
    entry = rulebase.causes[ranked.cause]
    if entry.procedure is None:
        raise NoCard(f"the rule base names no procedure for '{ranked.cause}': {entry.remedy}")
    procedure = rulebase.procedures[entry.procedure]

    def filled(texts: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(fill_both(text, sheet) for text in texts)

    return JobCard(
        case=answer.case,
        machine=answer.machine,
        invented=answer.invented or bool(sheet and sheet.invented),
        rulebase=answer.rulebase.words,
        title=procedure.name,
        procedure=entry.procedure,
        cause=ranked.key,
        cause_name=ranked.name,
        place_words=ranked.place_words,
        probability=ranked.probability,
        word=ranked.word,
        likely=ranked.probability >= 0.5 and ranked.probability > answer.no_fault,
        verdict=answer.verdict.action,
        minutes=procedure.minutes,
        tools=filled(procedure.tools),
        before=filled(procedure.before),
        cautions=(COMMON, *filled(procedure.cautions)),
        steps=tuple(CardStep(caution=fill_both(s.caution, sheet), do=fill_both(s.do, sheet)) for s in procedure.steps),
        prove=fill_both(procedure.prove, sheet),
        recheck=tuple(_recheck(text, sheet, answer.hours) for text in procedure.recheck),
        numbers=_numbers(procedure, sheet),
    )


def _chosen(answer: Diagnosis, rulebase: RuleBase, cause: str | None) -> RankedCause:
    if cause is None:
        for one in answer.ranked:
            if rulebase.causes[one.cause].procedure:
                return one
        raise NoCard("no ranked cause of this case has a procedure")
    named = [one for one in answer.ranked if cause in (one.cause, one.key)]
    if named:
        return named[0]
    if cause in rulebase.causes:
        words = "place to be found"
        return RankedCause(cause=cause, name=rulebase.causes[cause].name, place_words=words, probability=0.0,
                           word="not ranked", mild=0.0, prior=0.0)  # fmt: skip
    known = ", ".join(dict.fromkeys(one.cause for one in answer.ranked))
    raise NoCard(f"there is no cause '{cause[:80]}'; ranked in this case: {known}")


def _recheck(text: str, sheet: MachineSheet | None, hours: float | None) -> Recheck:
    """The text, and the hour meter at which each of its times from now is reached."""
    due = []
    for name in PLACEHOLDER.findall(text):
        number = sheet.numbers.get(name) if sheet else None
        if number is None or hours is None:
            continue
        try:
            due.append(f"{hours + parse(number.value, 'hours'):g} h")
        except QuantityError:
            continue
    return Recheck(text=fill_both(text, sheet), due=tuple(due))


def _numbers(procedure: Procedure, sheet: MachineSheet | None) -> tuple[CardNumber, ...]:
    texts = [*procedure.tools, *procedure.before, *procedure.cautions, procedure.prove, *procedure.recheck]
    texts += [text for step in procedure.steps for text in (step.caution, step.do)]
    names = dict.fromkeys(name for text in texts for name in PLACEHOLDER.findall(text))
    rows = []
    for name in names:
        number = sheet.numbers.get(name) if sheet else None
        value = both_systems(number.value) if number else UNKNOWN_NUMBER
        rows.append(CardNumber(name=name, value=value, means=number.means if number else "", known=number is not None))
    return tuple(rows)


__all__ = ["CardNumber", "CardStep", "JobCard", "NoCard", "Recheck", "both_systems", "fill_both", "job_card"]
