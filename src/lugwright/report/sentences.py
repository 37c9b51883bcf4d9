"""Sentences that the terminal, the page and the walk-round say alike: what is open, and what to heed before work."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from lugwright.diagnosis import NOTED, Diagnosis, NextCheck, Outcome, ReadingShown, Work
from lugwright.report.figures import percent

STOPPED = "put right what stops the machine (see the verdict)"
REPAIRS = "this work puts right what stops the machine; until it is proved, move it only as the verdict allows"
#: Where "no fault" stands first although what was seen calls for a stop.
STANDS = "no cause known here is likely enough, and what the verdict names is there all the same: begin at that place"
UNPROVED = "Not measured yet; prove the cause before the work."
#: Checks named that need another first, before the rest is counted.
NAMED = 3


def stands_all_the_same(answer: Diagnosis) -> str:
    """What to say beside a "no fault" that stands first although the verdict is a stop; nothing otherwise."""
    leads = bool(answer.ranked) and answer.no_fault >= answer.ranked[0].probability
    return STANDS if leads and answer.verdict.action == "stop" else ""


def contradictions(answer: Diagnosis) -> Iterator[str]:
    """Each sign that is there and not there, with where both come from, and what to do about it."""
    for one in answer.clashes:
        there, away = (_came(*came) for came in (("there", one.seen_from), ("not there", one.absent_from)))
        yield f"{one.words}: {there}; {away}. Not counted either way. Look again."
    told = {one.finding for one in answer.clashes}
    left = [finding for finding in answer.contradictory if finding not in told]
    if left:
        yield f"{'; '.join(left)}. There and not there at once, so not counted either way. Look again."


def _came(state: str, sources: Iterable[str]) -> str:
    said = [f"noted as {state}" if one == NOTED else f"{state} by {one}" for one in sources]
    return " and ".join(said) or state


def too_close_to_call(readings: Iterable[ReadingShown]) -> Iterator[str]:
    """Each reading that lies too close to a limit to call, what it leaves open, and how to take it again."""
    for one in readings:
        if not one.too_close:
            continue
        where = "" if one.place == "machine" else f", {one.place_words}"
        left = f"these stay open: {'; '.join(one.leaves_open)}" if one.leaves_open else "nothing is concluded from it"
        care = f"; see to it: {', '.join(one.care)}" if one.care else ""
        later = f" Not now: {one.not_now}." if one.not_now else ""
        yield (
            f"{one.name}{where}: {one.text}. Too close to a limit to call, so {left}. "
            f"Measure it again, twice, and take the mean{care}.{later}"
        )


def comes_first(check: NextCheck) -> str:
    """Why a check stands in the list that is there only for the sake of others."""
    names = [*check.first_for[:NAMED], *([f"{more} more"] if (more := len(check.first_for) - NAMED) > 0 else [])]
    return f"comes first, because it must be done before: {'; '.join(names)}"


def telling(check: NextCheck, figures: Callable[[float, float], tuple[str, str]] | None = None) -> tuple[Outcome, ...]:
    """The outcomes of a check that change a figure a reader can see. figures: how a view prints two of them."""
    printed = figures or (lambda before, after: (percent(before), percent(after)))
    pairs = ((one, printed(one.moves_from, one.moves_to)) for one in check.outcomes)
    return tuple(one for one, (before, after) in pairs if before != after)


def to_prove(work: Work) -> str:
    """The test that would prove the cause, or that it has to wait."""
    if not work.confirm_not_now:
        return f"{work.confirm}. {UNPROVED}"
    return (
        f"{work.confirm}. Not now: {work.confirm_not_now}. The cause is not proved yet; prove it as soon as that is "
        "put right, before more work is done."
    )


def beside_work(answer: Diagnosis, cause: str) -> Iterator[str]:
    """What must be thought of beside the work for one cause (`cause@place`)."""
    likely = [f"{one.name} ({one.place_words}), {percent(one.probability)}" for one in answer.likely_beside(cause)]
    return heed_beside(answer.undecided_with(cause), likely)


def heed_beside(undecided: Sequence[str], likely: Sequence[str]) -> Iterator[str]:
    """What to heed beside the work for a cause. undecided: with what the answer is; likely: what is likely too."""
    if undecided:
        yield (
            f"Not settled: the answer is undecided between this cause and {'; '.join(undecided)}. Split them before "
            "the work; what it says need not be touched may be what is wrong."
        )
    if likely:
        yield (
            f"Likely as well: {'; '.join(likely)}. This work is not the whole cure, and what it says need not be "
            "touched may be what is wrong there."
        )
