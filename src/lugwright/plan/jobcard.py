"""The job card of one cause, or of the work that a verdict puts first: its procedure at its place, with this machine's
numbers in metric and inch.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.diagnosis import Diagnosis, Frozen
from lugwright.places import Place
from lugwright.plan.alignment_steps import cut_down, written
from lugwright.plan.jobcard_cause import NoCard, chosen_cause
from lugwright.plan.work import PLACEHOLDER, UNKNOWN_NUMBER
from lugwright.quantities import QuantityError, kinds_of, parse, show
from lugwright.units import MILE

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
    """Everything a job card prints. It says nothing that the procedure, the sheet and the diagnosis do not say.

    found: what asks for the work where a verdict puts it first; such a card is for no cause, and `cause` is empty.
    also: other work that a verdict puts first, by name.
    likely: more likely than not, and than no fault. first: ahead of every other cause and of no fault. undecided: with
    what, in words, the answer is undecided beside this cause. beside: what is more likely than not beside it, in words.
    repairs_stop: whether this work puts right what stops the machine.
    """

    case: str
    machine: str
    invented: bool
    rulebase: str
    title: str
    procedure: str
    found: str = ""
    also: tuple[str, ...] = ()
    cause: str = ""
    cause_name: str = ""
    place_words: str
    probability: float = 0.0
    word: str = ""
    likely: bool = True
    first: bool = False
    undecided: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()
    repairs_stop: bool = False
    verdict: str
    reasons: tuple[str, ...] = ()
    minutes: float | None
    tools: tuple[str, ...]
    before: tuple[str, ...]
    cautions: tuple[str, ...]
    steps: tuple[CardStep, ...]
    prove: str
    recheck: tuple[Recheck, ...]
    numbers: tuple[CardNumber, ...]
    sign_off: tuple[str, ...] = ("Work done by", "Locks and torque seen by", "Date", "Hour meter")


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
    if kind == "speed" and 1 <= value < 95:
        return f"{value:.2g} km/h ({value / MILE:.2g} mph)"  # no speedometer shows more, and 5 mph is not 4.97
    return show(value, kind, "both")


def fill_both(text: str, sheet: MachineSheet | None) -> str:
    """A text with {number-name} replaced by the sheet's number in both systems; what it lacks is never invented.

    >>> fill_both("Torque to {adjuster-torque}.", None)
    "Torque to [see the operator's manual]."
    """
    return PLACEHOLDER.sub(lambda m: both_systems(written(sheet, m[1]) or "") or UNKNOWN_NUMBER, text)


def job_card(
    answer: Diagnosis, rulebase: RuleBase, sheet: MachineSheet | None = None, cause: str | None = None
) -> JobCard:
    """The card for what comes first: the work that a verdict names, else that for the first cause with a procedure.

    cause: a cause id or cause@place instead; a cause that the case does not rank gets a card as well, and where it can
           act at several places and none is named, the place is left to the person.
    Raises NoCard where there is no such cause, where it cannot act on this machine or at that place, where it has no
    procedure, and, without a name, where no fault at all is likelier than the first cause.
    """
    works = [name for one in answer.verdict.reasons for name in one.procedures]
    if cause is None and works:
        asking = [one for one in answer.verdict.reasons if works[0] in one.procedures]
        stops = [one for one in answer.verdict.reasons if one.action == "stop"]
        return _filled(
            answer, rulebase, sheet, works[0],
            found="; ".join(dict.fromkeys(one.finding for one in asking)),
            also=tuple(rulebase.procedures[name].name for name in dict.fromkeys(works) if name != works[0]),
            place_words="; ".join(dict.fromkeys(one.place_words or Place().words for one in asking)),
            repairs_stop=bool(stops) and all(works[0] in one.procedures for one in stops),
        )  # fmt: skip
    ranked = chosen_cause(answer, rulebase, cause)
    procedure = rulebase.causes[ranked.cause].procedure
    if procedure is None:
        raise NoCard(f"the rule base names no procedure for '{ranked.cause}': {rulebase.causes[ranked.cause].remedy}")
    return _filled(
        answer, rulebase, sheet, procedure,
        cause=ranked.key,
        cause_name=ranked.name,
        place_words=ranked.place_words,
        probability=ranked.probability,
        word=ranked.word,
        likely=ranked.probability >= 0.5 and ranked.probability > answer.no_fault,
        first=bool(answer.ranked) and ranked.key == answer.ranked[0].key and ranked.probability > answer.no_fault,
        undecided=answer.undecided_with(ranked.key),
        beside=tuple(f"{one.name} ({one.place_words})" for one in answer.likely_beside(ranked.key)),
        repairs_stop=any(one.repairs_stop and one.cause == ranked.key for one in answer.work),
    )  # fmt: skip


def _filled(
    answer: Diagnosis, rulebase: RuleBase, sheet: MachineSheet | None, name: str, **what_for: object
) -> JobCard:
    """The card of one procedure with this machine's numbers.

    what_for: the parts of the card that say for what it is.
    """
    procedure = rulebase.procedures[name]

    def filled(texts: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(fill_both(text, sheet) for text in texts)

    card = {
        "case": answer.case,
        "machine": answer.machine,
        "invented": answer.invented or bool(sheet and sheet.invented),
        "rulebase": answer.rulebase.words,
        "title": procedure.name,
        "procedure": name,
        "verdict": answer.verdict.action,
        "reasons": _reasons(answer, name),
        "minutes": procedure.minutes,
        "tools": filled(procedure.tools),
        "before": filled(procedure.before),
        "cautions": (COMMON, *filled(procedure.cautions)),
        "steps": tuple(
            CardStep(caution=fill_both(s.caution, sheet), do=fill_both(s.do, sheet)) for s in procedure.steps
        ),
        "prove": fill_both(procedure.prove, sheet),
        "recheck": tuple(_recheck(text, sheet, answer.hours) for text in procedure.recheck),
        "numbers": _numbers(procedure, sheet),
    }
    return JobCard.model_validate(card | what_for)


def _reasons(answer: Diagnosis, procedure: str) -> tuple[str, ...]:
    """Why the verdict is stop or a limit, for the head of the card: only the reasons as severe as the verdict.

    The work that such a reason puts first is named, unless it is the work of this card.
    """
    action = answer.verdict.action
    if action == "keep-running":
        return ()
    rows = []
    for group in answer.verdict.grouped:
        if group[0].action == action:
            measured = f": {group[0].measured}" if group[0].measured else ""
            first = (one.work for one in group if one.work and procedure not in one.procedures)
            limits = (one.limit for one in group if one.limit)
            rows.append(" ".join([f"{group[0].heading}{measured}.", *limits, *first]))
    return tuple(dict.fromkeys(rows))


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
        value = both_systems(written(sheet, name) or "") or UNKNOWN_NUMBER
        if number and cut_down(sheet, name):
            value += f" (the sheet says {number.value}, which may not be turned in one step)"
        rows.append(CardNumber(name=name, value=value, means=number.means if number else "", known=number is not None))
    return tuple(rows)


__all__ = ["CardNumber", "CardStep", "JobCard", "NoCard", "Recheck", "both_systems", "fill_both", "job_card"]
