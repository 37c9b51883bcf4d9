"""Reading the answers of the adjustment loop: each is checked, and a refusal says why."""

from __future__ import annotations

import re
from collections.abc import Callable

from lugwright.quantities import QuantityError, parse
from lugwright.readings.alignment import End, coast_faults, end, same_room
from lugwright.readings.uncertainty import ReadingRefused

#: Verification drive. common practice: 5 to 10 min, with turns both ways.
LEAST_MINUTES = 5.0
#: Turns that nobody reads apart on a screw. judgement: a sixteenth.
LIKE_TURNS = 1 / 16
#: A screw has no more turns than this. judgement
MOST_TURNS = 40.0

_YES, _NO = ("yes", "y", "done", "ok"), ("no", "n", "not yet")


class AnswerRefused(ValueError):
    """An answer that cannot be taken, with the reason; the question stays open. `hint` says what would be."""

    def __init__(self, why: str, hint: str = "") -> None:
        super().__init__(why)
        self.hint = hint


def must_be_yes(otherwise: str) -> Callable[[str], bool]:
    """Takes yes; no keeps the question open and says what must come first."""

    def read(text: str) -> bool:
        word = text.strip().lower()
        if word in _YES:
            return True
        raise AnswerRefused(
            otherwise if word in _NO else f"'{text[:40]}' is neither yes nor no", "answer yes when it holds"
        )

    return read


def length_of_run(least: float) -> Callable[[str], float]:
    """Takes a straight run of at least `least` mm."""

    def read(text: str) -> float:
        run = _quantity(text, "length")
        faults = coast_faults(run, least_run_mm=least)
        if faults:
            raise AnswerRefused(f"this reading would be worthless: {faults[0]}", "drive it again on a longer straight")
        return run

    return read


def gaps(shim: float, before: End | None) -> Callable[[str], End]:
    """Takes inboard and outboard gap; their sum must be that of the reading before."""

    def read(text: str) -> End:
        return _as_before(before, _two(text, shim))

    return read


def rear_gaps(shim: float, before: End | None) -> Callable[[str], End | None]:
    """Takes the gaps at the last roller, or `skip` unless a face did not clearly take the shim there before."""

    def read(text: str) -> End | None:
        if text.strip().lower() not in ("skip", "-", "none"):
            return _as_before(before, _two(text, shim))
        if before is not None and before.state != "inside":
            what = "the last roller was not clear of the shim when it was last measured"
            raise AnswerRefused(what, "measure it again, both sides")
        return None

    return read


def _as_before(before: End | None, one: End) -> End:
    """The reading, unless its room differs from that of the reading before. Raises AnswerRefused."""
    if before is not None:
        try:
            same_room(before, one)
        except ReadingRefused as problem:
            hint = f"{problem.hint}; where it was the earlier one, mend it in the case or begin again with --restart"
            raise AnswerRefused(str(problem), hint) from None
    return one


def sides(text: str) -> bool:
    """Whether the reading is to be turned round: yes keeps it as it is written, swapped turns it round.

    >>> sides("yes"), sides("swapped")
    (False, True)
    """
    word = text.strip().lower()
    if word == "swapped":
        return True
    if word in _YES:
        return False
    raise AnswerRefused(f"'{text[:40]}' does not say which side is which", "go and look, then write yes or swapped")


def sense_word(text: str) -> str:
    """Which screw the mark says is loosened first to move the belt outboard, or unknown.

    >>> sense_word("Inboard"), sense_word("unknown")
    ('inboard-screw-first', 'unknown')
    """
    word = text.strip().lower()
    if word in ("unknown", "?", "no mark"):
        return "unknown"
    if word in ("inboard", "outboard"):
        return f"{word}-screw-first"
    raise AnswerRefused(f"'{text[:40]}' is not an answer here", "write inboard, outboard or unknown")


def turns_left(text: str) -> float | None:
    """How many turns are left on a screw, or None where nobody knows."""
    if text.strip().lower() in ("unknown", "?"):
        return None
    turns = _turns(text)
    if not 0 <= turns <= MOST_TURNS:
        raise AnswerRefused(f"no screw has {turns:g} turns", "count the threads in sight, or write unknown")
    return turns


def turned(most: float, planned: float) -> Callable[[str], float | None]:
    """Takes `done` (the planned turns), another amount up to `most`, or `stuck` (None)."""

    def read(text: str) -> float | None:
        word = text.strip().lower()
        if word in _YES:
            return planned
        if word == "stuck":
            return None
        turns = _turns(text)
        if turns > most + 1e-9:
            raise AnswerRefused(
                f"{turns:g} turns is more than the {most:g} that may be turned here",
                "turn it back, and write what is left",
            )
        if turns <= 0:
            raise AnswerRefused("nothing was turned", "turn it, or write stuck")
        return turns

    return read


def brought_back(slack: float) -> Callable[[str], float | None]:
    """Takes `done` or the turns of slack that were taken up, no less and no more; or `stuck` (None)."""
    taken = turned(slack + LIKE_TURNS, slack)

    def read(text: str) -> float | None:
        turns = taken(text)
        if turns is not None and turns < slack - LIKE_TURNS:
            raise AnswerRefused(
                f"{turns:g} of {slack:g} turns leaves slack between the screws",
                "turn it in until it bears, without force, and write the turns in all",
            )
        return turns

    return read


def minutes(text: str) -> float:
    """Minutes of the verification drive; fewer than five are refused."""
    bare = re.fullmatch(r"\d+(\.\d+)?", text.strip())
    taken = _quantity(f"{text} min" if bare else text, "hours") * 60
    if taken < LEAST_MINUTES - 1e-9:
        raise AnswerRefused(
            f"after {taken:g} min the belt has not followed yet", f"drive {LEAST_MINUTES:g} to 10 min, then answer"
        )
    return taken


def _two(text: str, shim: float) -> End:
    # a comma between two digits may be a decimal one, and is left for the number to refuse
    parts = [part for part in re.split(r"\s*(?:;|\band\b|(?<!\d),|,(?!\d))\s*", text.strip()) if part]
    if len(parts) != 2:
        raise AnswerRefused(
            "two gaps are needed, inboard first; one side alone says nothing", "for example 4 mm, 14 mm"
        )
    try:
        inboard, outboard = (_quantity(part, "length") for part in parts)
        return end(inboard, outboard, shim)
    except ReadingRefused as problem:
        raise AnswerRefused(str(problem), problem.hint) from None


def _turns(text: str) -> float:
    bare = re.fullmatch(r"[\d./ ]+", text.strip())
    try:
        if "%" in text:
            raise QuantityError(f"'{text[:40]}' is a share or a slope, and turns of a screw are needed here")
        return parse(f"{text} turn" if bare else text.strip(), "angle") / 360
    except QuantityError as problem:
        raise AnswerRefused(str(problem), "write turns, for example 3/8 turn") from None


def _quantity(text: str, kind: str) -> float:
    try:
        return parse(text.strip(), kind)
    except QuantityError as problem:
        raise AnswerRefused(str(problem), problem.hint) from None
