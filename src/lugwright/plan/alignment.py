"""The adjustment loop of one unit: one question or one move at a time, from the reading to a belt that runs centred.

The loop is a pure function of its set-up and the answers so far: the same answers always lead to the same place, so
that it can be saved after every answer and taken up again later. Nothing here reads a clock, a file or a person.
"""

from __future__ import annotations

from collections.abc import Generator, Sequence
from typing import Any

from lugwright.plan import alignment_stops as stops
from lugwright.plan import alignment_words as words
from lugwright.plan.alignment_answers import (
    AnswerRefused,
    gaps,
    length_of_run,
    minutes,
    must_be_yes,
    rear_gaps,
    sense_word,
    turned,
    turns_left,
)
from lugwright.plan.alignment_shapes import Ask, Finish, Setup
from lugwright.readings.alignment import CENTRED_MM, End, ends_pattern

#: Belt shift that says the screw did nothing. judgement: what two readings differ by on their own.
NO_RESPONSE_MM = 1.0
#: A gap below this is a face that leans on its flank. judgement
FLANK_MM = 2.0
#: Response against the one before it: beyond this many times either way it is erratic. judgement
ERRATIC = 3.0
#: Moves after which something else is wrong. judgement
MOST_MOVES = 8
#: Turns that must be left on a screw after a move. judgement
SPARE_TURNS = 1.0
#: Smallest step worth taking, in turns. common practice: an eighth.
LEAST_STEP = 1 / 8


__all__ = ["Ask", "Finish", "Setup", "centred", "in_the_middle", "stand", "step_turns"]

Loop = Generator[Ask, Any, Finish]


def stand(setup: Setup, answers: Sequence[tuple[str, str]]) -> Ask | Finish:
    """Where the loop stands after the answers given so far, each with the id of its question.

    Raises AnswerRefused where an answer is not one to its question (also when the set-up has changed since).
    """
    loop = _loop(setup)
    try:
        here: Ask | Finish = next(loop)
    except StopIteration as end:
        here = end.value
    for asked, text in answers:
        if isinstance(here, Finish) or asked != here.id:
            raise AnswerRefused("the saved answers do not fit this machine any more", "begin again with --restart")
        try:
            here = loop.send(here.read(text))
        except StopIteration as end:
            here = end.value
    return here


def step_turns(offset: float, response: float, largest: float) -> float:
    """Turns that the measured response calls for, rounded down to an eighth and never above the largest step.

    offset in mm, response in mm per turn (> 0), largest in turns.

    >>> step_turns(5.0, 12.0, 1.0), step_turns(9.0, 4.0, 1.0), step_turns(0.4, 12.0, 1.0)
    (0.375, 1.0, 0.0)
    """
    return min(int(abs(offset) / response / LEAST_STEP) * LEAST_STEP, int(largest / LEAST_STEP) * LEAST_STEP)


def centred(one: End, aim: float | None = None) -> bool:
    """Whether a belt may stay where it is: both faces clearly take the shim, and it lies in the middle or at the aim.

    >>> from lugwright.readings.alignment import end
    >>> centred(end(8, 9)), centred(end(7, 14)), centred(end(7, 14), aim=7.0), centred(end(2, 14))
    (True, False, True, False)
    """
    biased = aim is not None and min(one.inboard, one.outboard) >= aim
    return one.state == "inside" and (in_the_middle(one) or biased)


def in_the_middle(one: End) -> bool:
    """Whether the belt lies within 40 to 60 % of its room (common practice), or within what two people read apart.

    >>> from lugwright.readings.alignment import end
    >>> in_the_middle(end(6.2, 6.3)), in_the_middle(end(4, 14))
    (True, False)
    """
    return abs(one.offset) <= max(CENTRED_MM, 0.1 * one.total)


def _loop(setup: Setup) -> Loop:
    if setup.play:
        return Finish("stopped", stops.PLAY, stops.SUSPECT_PLAY, setup.notes)
    yield Ask("debris", words.DEBRIS, must_be_yes(words.DEBRIS_NO), "yes or no", words.SECURE, setup.notes)
    told: tuple[str, ...] = (words.MIRRORED,) if setup.mirrored else ()
    yield Ask("ready", words.READY, must_be_yes(words.READY_NO), "yes or no", told=told)
    told = ()
    if setup.first is not None:
        now, rear = setup.first, setup.rear
        told = (f"Reading of the case: {words.gap_words(now)}.",)
    else:
        now, rear = yield from _reading(setup, None, told)
        told = (f"Reading: {words.gap_words(now)}.",)
    refusal = _unfit(now, rear)
    if refusal:
        return Finish("stopped", *refusal, told)
    if centred(now, setup.aim):
        return Finish("nothing-to-do", words.nothing(setup.unit), (), told)
    sense, known = setup.sense, setup.sense != "unknown"
    if not known:
        answer = yield Ask("sense", words.SENSE, sense_word, "inboard, outboard or unknown", words.SECURE, told)
        told = ()
        known = answer != "unknown"
        sense = answer if known else "inboard-screw-first"
    response: float | None = None
    sure = False  # whether some move was large enough to tell what a turn does
    left: dict[str, float | None] = {}
    back = 0.0
    for number in range(1, MOST_MOVES + 1):
        outboard = now.offset > 0
        turns = min(setup.first_step + back, setup.largest_step)
        if response is not None:
            turns = step_turns(now.offset, response, setup.largest_step)
            if turns == 0 and now.state != "inside" and abs(now.offset) > response * LEAST_STEP / 2:
                turns = LEAST_STEP  # an eighth goes past the middle, but lands nearer to it than the belt lies now
            if turns == 0 and now.state == "outside":
                return Finish("stopped", stops.too_coarse(now, response), stops.SUSPECT_PINCHED, told)
            if turns == 0:
                return Finish("done", words.near_enough(setup, now, response, sense), (), told)
        loosen, tighten = words.screws(sense, outboard)
        told += (words.plan(now, outboard, turns, response, known),)
        if tighten not in left:
            left[tighten] = yield Ask(
                "travel", words.travel(loosen, tighten), turns_left, "a number, or unknown", words.SECURE, told
            )
            told = ()
        spare = left[tighten]
        if spare is not None and spare < turns + SPARE_TURNS:
            return Finish("stopped", stops.near_end(tighten, spare), stops.SUSPECT_END, told)
        loosened = yield Ask(
            "loosen", words.loosen(loosen, turns, number), turned(setup.largest_step, turns), words.TURN_HINT,
            words.SCREW_CAUTION, told,
        )  # fmt: skip
        told = ()
        if loosened is None:
            return Finish("stopped", stops.stuck(loosen), stops.SUSPECT_STUCK)
        moved_by = yield Ask(
            "tighten",
            words.tighten(tighten, loosened),
            turned(loosened, loosened),
            words.TURN_HINT,
            words.SCREW_CAUTION,
        )
        if moved_by is None:
            return Finish("stopped", stops.stuck(tighten), stops.SUSPECT_STUCK)
        for name, change in ((tighten, -moved_by), (loosen, loosened)):
            before = left.get(name)
            if before is not None:
                left[name] = before + change
        yield Ask("torque", words.torque(setup), must_be_yes(words.TORQUE_NO), "yes or no", words.LOCK_CAUTION)
        yield Ask("drive", words.DRIVE, minutes, "minutes, e.g. 6 min", words.DRIVE_CAUTION)
        yield Ask("both-ways", words.BOTH_WAYS, must_be_yes(words.BOTH_WAYS_NO), "yes or no")
        new, rear = yield from _reading(setup, now, ())
        shift = (now.offset - new.offset) * (1 if outboard else -1)
        told = (words.shifted(new, shift, moved_by, outboard),)
        refusal = _unfit(new, rear)
        if refusal:
            return Finish("stopped", *refusal, told)
        at_flank = min(now.inboard, now.outboard) < FLANK_MM
        if not known and shift < NO_RESPONSE_MM and at_flank and not back:
            # a belt that leans on its flank cannot show a move the wrong way
            sense, left, back, now = words.other(sense), {}, moved_by, new
            told += (words.LEANS,)
            continue
        telling = response is None or response * moved_by >= 2 * NO_RESPONSE_MM
        if abs(shift) < NO_RESPONSE_MM and telling and not centred(new, setup.aim):
            return Finish("stopped", stops.no_response(moved_by), stops.SUSPECT_NOTHING, told)
        settled = known or abs(shift) >= NO_RESPONSE_MM
        measured = abs(shift) / moved_by if telling or response is None else response
        if shift <= -NO_RESPONSE_MM:
            if known:
                return Finish("stopped", stops.wrong_way(sense), stops.SUSPECT_WRONG, told)
            sense, left = words.other(sense), {}
            told += (words.learned(sense),)
        elif not known:
            told += (words.learned(sense),) if settled else ()
        elif (
            telling
            and not at_flank
            and response is not None
            and not 1 / ERRATIC <= measured / response <= ERRATIC
            and not centred(new, setup.aim)
        ):
            return Finish("stopped", stops.erratic(measured, response), stops.SUSPECT_NOTHING, told)
        known, response, back, now = True, measured, 0.0, new
        sure = sure or response * moved_by >= NO_RESPONSE_MM
        if centred(now, setup.aim):
            return Finish(
                "done", words.done(setup, now, response if sure else None, sense if settled else ""), (), told
            )
    return Finish("stopped", stops.too_many(MOST_MOVES), stops.SUSPECT_NOTHING, told)


def _reading(setup: Setup, before: End | None, told: tuple[str, ...]) -> Generator[Ask, Any, tuple[End, End | None]]:
    """The coast and its reading; a coast that was not driven as it must be is refused and asked for again."""
    yield Ask("run", words.run(setup), length_of_run(setup.run), "a length, e.g. 50 m", words.COAST_CAUTION, told)
    yield Ask("free", words.FREE, must_be_yes(words.FREE_NO), "yes or no")
    front = yield Ask("gaps", words.GAPS, gaps(setup.shim, before), "two gaps, e.g. 4 mm, 14 mm", words.SECURE)
    rear = yield Ask("rear", words.REAR, rear_gaps(setup.shim, front), "two gaps, or skip", words.SECURE)
    return front, rear


def _unfit(front: End, rear: End | None) -> tuple[str, tuple[str, ...]] | None:
    """Why no screw may be turned on this reading, with what to suspect; None where one may."""
    for one in (front, rear):
        if one is not None and one.states == ("outside", "outside"):
            return stops.PINCHED, stops.SUSPECT_PINCHED
        if one is not None and one.total < 2 * one.shim - 2 * one.offset_plus_minus:
            return stops.narrow(one), stops.SUSPECT_PINCHED
    if rear is not None and ends_pattern(front, rear) == "skew":
        return stops.SKEW, stops.SUSPECT_SKEW
    if in_the_middle(front) and front.state != "inside":
        return stops.BARELY, stops.SUSPECT_PINCHED
    return None
