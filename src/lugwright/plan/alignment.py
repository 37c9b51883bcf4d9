"""The adjustment loop of one unit: one question or one move at a time, from the reading to a belt that runs centred.

The loop is a pure function of its set-up and the answers so far: the same answers always lead to the same place, so
that it can be saved after every answer and taken up again later. Nothing here reads a clock, a file or a person.
"""

from __future__ import annotations

from collections.abc import Generator, Sequence
from typing import Any

from lugwright.plan import alignment_stops as stops
from lugwright.plan import alignment_words as words
from lugwright.plan.alignment_answers import AnswerRefused, must_be_yes, sense_word
from lugwright.plan.alignment_move import Found, Travel, drive_and_read, move, reading
from lugwright.plan.alignment_shapes import Ask, Finish, Setup
from lugwright.plan.alignment_steps import LEAST_STEP
from lugwright.readings.alignment import ends_pattern
from lugwright.readings.centred import centred

#: Belt shift that says the screw did nothing. judgement: what two readings differ by on their own.
NO_RESPONSE_MM = 1.0
#: A gap below this is a face that leans on its flank. judgement
FLANK_MM = 2.0
#: Response against the one before it: beyond this many times either way it is erratic. judgement
ERRATIC = 3.0
#: Moves after which something else is wrong. judgement
MOST_MOVES = 8


__all__ = ["Ask", "Finish", "Setup", "stand", "step_turns"]

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


def _loop(setup: Setup) -> Loop:
    if setup.play:
        return Finish("stopped", stops.PLAY, stops.SUSPECT_PLAY, (*setup.notes, *setup.unmet))
    if setup.unmet:
        return Finish("stopped", stops.UNMET, (), (*setup.notes, *setup.unmet))
    yield Ask("debris", words.DEBRIS, must_be_yes(words.DEBRIS_NO), "yes or no", words.SECURE, setup.notes)
    told: tuple[str, ...] = (words.MIRRORED,) if setup.mirrored else ()
    yield Ask("ready", words.READY, must_be_yes(words.READY_NO), "yes or no", told=told)
    told = ()
    if setup.first is not None:
        here = Found(setup.first, setup.rear)
        told = (f"Reading of the case: {words.gap_words(here.front)}.",)
    else:
        here = yield from reading(setup, None, told)
        told = (f"Reading: {words.gap_words(here.front)}.",)
    now = here.front
    refusal = _unfit(here, setup.aim)
    if refusal:
        return Finish("stopped", *refusal, told)
    if centred(now, setup.aim):
        return Finish("nothing-to-do", words.nothing(setup.unit, here.rear is not None), (), told)
    sense, known = setup.sense, setup.sense != "unknown"
    if not known:
        answer = yield Ask("sense", words.SENSE, sense_word, "inboard, outboard or unknown", words.SECURE, told)
        told = ()
        known = answer != "unknown"
        sense = answer if known else "inboard-screw-first"
    response: float | None = None
    sure = False  # whether some move was large enough to tell what a turn does
    travel = Travel()
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
                refusal = _rear(here)
                if refusal:
                    return Finish("stopped", *refusal, told)
                text = words.near_enough(setup, now, response, sense, here.rear is not None)
                return Finish("done", text, (), told)
        told += (words.plan(now, outboard, turns, response, known),)
        moved = yield from move(setup, words.screws(sense, outboard), turns, number, travel, told)
        if isinstance(moved, Finish):
            return moved
        found = yield from drive_and_read(setup, here, moved)
        if isinstance(found, Finish):
            return found
        new, moved_by = found.front, moved.turns
        shift = (now.offset - new.offset) * (1 if outboard else -1)
        told = (words.shifted(new, shift, moved_by, outboard, moved.even),)
        refusal = _unfit(found, setup.aim)
        if refusal:
            return Finish("stopped", *refusal, told)
        at_flank = min(now.inboard, now.outboard) < FLANK_MM
        if not known and shift < NO_RESPONSE_MM and at_flank and not back and moved.even:
            # a belt that leans on its flank cannot show a move the wrong way
            sense, travel, back, here, now = words.other(sense), Travel(), moved_by, found, new
            told += (words.LEANS,)
            continue
        telling = moved.even and (response is None or response * moved_by >= 2 * NO_RESPONSE_MM)
        if abs(shift) < NO_RESPONSE_MM and telling and not centred(new, setup.aim):
            return Finish("stopped", stops.no_response(moved_by), stops.SUSPECT_NOTHING, told)
        settled = known or abs(shift) >= NO_RESPONSE_MM
        measured = abs(shift) / moved_by if telling else response
        if shift <= -NO_RESPONSE_MM:
            if known:
                return Finish("stopped", stops.wrong_way(sense), stops.SUSPECT_WRONG, told)
            sense, travel = words.other(sense), Travel()
            told += (words.learned(sense),)
        elif not known:
            told += (words.learned(sense),) if settled else ()
        elif (
            telling
            and not at_flank
            and response is not None
            and measured is not None
            and not 1 / ERRATIC <= measured / response <= ERRATIC
            and not centred(new, setup.aim)
        ):
            return Finish("stopped", stops.erratic(measured, response), stops.SUSPECT_NOTHING, told)
        known, response, back, here, now = known or settled or moved.even, measured, 0.0, found, new
        sure = sure or (moved.even and response is not None and response * moved_by >= NO_RESPONSE_MM)
        if centred(now, setup.aim):
            learned = sense if settled else ""
            text = words.done(setup, now, response if sure else None, learned, here.rear is not None)
            return Finish("done", text, (), told)
    return Finish("stopped", stops.too_many(MOST_MOVES), stops.SUSPECT_NOTHING, told)


def _unfit(here: Found, aim: float | None) -> tuple[str, tuple[str, ...]] | None:
    """Why no screw may be turned on this reading, with what to suspect; None where one may."""
    front, rear = here.front, here.rear
    for one in (front, rear):
        if one is not None and one.states == ("outside", "outside"):
            return stops.PINCHED, stops.SUSPECT_PINCHED
        if one is not None and one.total < 2 * one.shim - 2 * one.offset_plus_minus:
            return stops.narrow(one), stops.SUSPECT_PINCHED
    if rear is not None and ends_pattern(front, rear) == "skew":
        return stops.SKEW, stops.SUSPECT_SKEW
    if front.in_middle and front.state != "inside":
        return stops.BARELY, stops.SUSPECT_PINCHED
    return _rear(here) if centred(front, aim) else None


def _rear(here: Found) -> tuple[str, tuple[str, ...]] | None:
    """Why a unit whose front may stay is not done: its last roller binds, or is too close to call."""
    if here.rear is None or here.rear.state == "inside":
        return None
    return (stops.REAR_BINDS if here.rear.state == "outside" else stops.REAR_BARELY), stops.SUSPECT_SKEW
