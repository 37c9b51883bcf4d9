"""What to look at next, in plain words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from lugwright.diagnosis import NextCheck
from lugwright.prospects import NextPlan, Standing
from lugwright.report.figures import percent
from lugwright.report.lines import Line
from lugwright.report.sentences import comes_first, telling, too_close_to_call
from lugwright.report.text import VERDICTS, clean_first, nothing_to_check, steadiness_words, undecided_lines

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

#: Left-out checks that are named one by one.
NAMED = 6


def next_lines(plan: NextPlan, rulebase: RuleBase, caution: str) -> Iterator[Line]:
    """The whole plan as lines. What protects a person stands before the check that needs it.

    caution: what is said before any check at all.
    """
    yield Line(f"{plan.case}   {plan.machine}", tone="strong")
    yield Line(plan.rulebase.words, tone="faint")
    yield Line()
    word, tone, plain = VERDICTS[plan.verdict]
    yield Line(f" {word} ", tone=tone)
    if plain:
        yield Line(f"{plain}; only checks that are safe on a standing machine are offered", indent=2, tone="strong")
    yield Line()
    yield Line("As it stands", tone="head")
    yield from standing_lines(plan.now[:4])
    if plan.steadiness:
        yield Line(steadiness_words(plan.steadiness), indent=3)
    if plan.undecided:
        yield Line()
        yield from undecided_lines(plan.undecided)
    yield Line()
    yield Line(f"Look next    (uncertainty now {plan.uncertainty_bits:.2f} bits)", tone="head")
    if plan.checks or (plan.batch and plan.batch.checks):
        yield Line(caution, indent=2, label="!", label_width=2)
    if text := clean_first(plan.void):
        yield Line(text, indent=2, tone="strong")
    for text in too_close_to_call(plan.too_close):
        yield Line(text, indent=2, label="Too close", label_width=11)
    for number, check in enumerate(plan.checks, 1):
        yield from check_lines(check, plan, f"{number}", rulebase)
    if not plan.checks:
        yield Line(nothing_to_check(plan.settled, plan.work_first), indent=2)
    if plan.batch:
        yield Line()
        one = plan.batch
        yield Line(f"Within {one.allowed:g} min", tone="head", right=f"{one.minutes:g} min")
        for number, check in enumerate(one.checks, 1):
            yield Line(f"{check.name}: {check.place_words}", indent=2, label=f"{number}", label_width=3)
        if one.checks:
            count = f", the best of the {one.tried} sets that were weighed" if one.tried > 1 else ""
            told = f"together at least {one.gain_bits:.2f} bits{count}; a set-up counts once"
            yield Line(told, indent=5, tone="faint")
        else:
            yield Line("No check worth its time fits into that.", indent=2)
    if plan.left_out or plan.notes:
        yield Line()
        yield Line("Left out", tone="head")
        yield from _left_out(plan)


def standing_lines(now: tuple[Standing, ...]) -> Iterator[Line]:
    """A ranking, one line for each."""
    for number, one in enumerate(now, 1):
        right = f"{one.word:>14}  {percent(one.probability):>6}"
        yield Line(one.words, label=f"{number}", label_width=3, right=right)


def check_lines(check: NextCheck, plan: NextPlan, label: str, rulebase: RuleBase) -> Iterator[Line]:
    """One check: minutes, cautions, what it asks and needs, what must be so before it, what each outcome would do."""
    yield Line(
        f"{check.name}: {check.place_words}{plan.rulebase.mark('checks', check.check)}",
        label=label, label_width=3, tone="strong", right=f"{check.minutes:g} min",
    )  # fmt: skip
    for text in check.cautions:
        yield Line(text, indent=3, label="!", label_width=7)
    if check.first_for:
        yield Line(comes_first(check), indent=3, label="why", label_width=7)
    elif check.gain_bits:
        least = "at least " if check.gain_is == "at-least" else ""
        count = f", counting its {len(check.signs)} most telling signs" if least else ""
        if check.several_as_one:
            count = f", counting whether none, one or several of these {len(check.signs)} signs show"
        told = f"{least}{check.gain_bits:.2f} bits{count}; risk {check.risk}"
        yield Line(told, indent=3, label="tells", label_width=7)
    yield Line(check.asks, indent=3, label="asks", label_width=7)
    if check.needs:
        yield Line("; ".join(check.needs), indent=3, label="needs", label_width=7)
    if check.preconditions:
        yield Line("; ".join(check.preconditions), indent=3, label="before", label_width=7)
    if check.after:
        names = (rulebase.checks[name].name for name in check.after)
        yield Line("; ".join(names), indent=3, label="after", label_width=7)
    if check.share_set_up:
        names = (rulebase.checks[name].name for name in check.share_set_up)
        text = f"its set-up ({check.set_up_minutes:g} min) also serves: {'; '.join(names)}"
        yield Line(text, indent=3, label="share", label_width=7)
    leader = plan.now[0].cause
    for outcome in telling(check):
        moved = f"{outcome.moves_words} {percent(outcome.moves_from)} → {percent(outcome.moves_to)}"
        other = outcome.first not in (leader, outcome.moves)
        then = f"; first then {outcome.first_words} {percent(outcome.first_probability)}" if other else ""
        yield Line(f"{outcome.result} ({percent(outcome.probability)}): {moved}{then}", indent=3, label="if",
                   label_width=7)  # fmt: skip


def _left_out(plan: NextPlan) -> Iterator[Line]:
    by_reason: dict[str, list[str]] = {}
    for one in plan.left_out:
        by_reason.setdefault(one.why, []).append(one.check + (f" ({one.where})" if one.where else ""))
    for why, names in by_reason.items():
        more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
        yield Line(f"{why}: {', '.join(names[:NAMED])}{more}", indent=2, label="-", label_width=2)
    for note in plan.notes:
        yield Line(note, indent=2, label="-", label_width=2)
