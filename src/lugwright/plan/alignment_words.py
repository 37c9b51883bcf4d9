"""What the adjustment loop says: questions, moves and readings. What it says when it stops: `alignment_stops`."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from lugwright.quantities import show

if TYPE_CHECKING:
    from lugwright.plan.alignment import Setup
    from lugwright.readings.alignment import End

SECURE = "Engine off, key out, brake on, chocks both ways, everything stopped, before a hand, shim or tool goes in."
SCREW_CAUTION = (
    f"{SECURE} "
    "Unpowered hand tools only: a power tool hides resistance and strips threads. Stand aside of the idler; it can "
    "jump when a screw lets go. Never force one screw while the one against it is closed."
)
LOCK_CAUTION = "No driving with loose locks, not even a few metres."
DRIVE_CAUTION = "Closed level ground, one person in charge, nobody beside the moving track."
COAST_CAUTION = "Nobody beside the machine while it rolls."

DEBRIS = (
    "Is the lug gap clean, and are lever and slide of the adjuster free of dirt on both sides over their full travel?"
)
DEBRIS_NO = "clean first: over packed dirt a reading is a reading of the dirt, and a screw presses on dirt"
READY = (
    "Do these hold: tension in its band and alike left and right, fasteners tight, no play in wheel bearings and "
    "pivots, no wheel shifted, toe within its limit, lugs dusted?"
)
READY_NO = "put that right first; until then an adjuster only moves the error"
MIRRORED = "Both units of this axle bind on the same side: that points at the toe. Do the toe first, then align."
FREE = "Was it free of brake and steering all the way, forward, on flat ground without a crown, in a clean gap?"
FREE_NO = "such a reading says nothing about the machine: coast again"
GAPS = "Gaps at the front roller, inboard first, then outboard?"
REAR = "Gaps at the last roller, inboard first, then outboard? (skip if not taken)"
SENSE = (
    "The machine sheet does not say which way the screws work. Look for the mark beside them: to move the belt "
    "outboard, which screw is loosened first? Without a mark write unknown; the first move is then a question, not an "
    "answer. Never take it from another machine or from the other unit."
)
TORQUE_NO = "the locks come before the drive"
DRIVE = "Drive 5 to 10 min: several belt turns, with a few gentle bends to the left and to the right. How long was it?"
BOTH_WAYS = "Did it turn gently both ways on that drive?"
BOTH_WAYS_NO = "the belt settles only after bends to both hands: drive again"
TURN_HINT = "done, the turns really made (e.g. 3/8 turn), or stuck"

HOT = "Stop off the road with engine off and the machine secured before you reach in; hot rubber and hubs burn."

SIDES = (
    "This is the mirror image of the reading before. Inboard is the side toward the middle of the machine. Go and look "
    "which gap is which, at both rollers. Are they written the right way round? (swapped: this reading is turned round)"
)
REAR_UNSEEN = "The last roller was not measured: try the shim there as well, on both faces, before you call it centred."

LEANS = (
    "The belt leans on its flank, and there a move the wrong way shows nothing. Now the other way round: the next move "
    "takes the first one back and goes as far again."
)


def turn_words(turns: float) -> str:
    """Turns as a workshop fraction.

    >>> turn_words(0.5), turn_words(0.375), turn_words(1.0), turn_words(1.25)
    ('1/2 turn', '3/8 turn', '1 turn', '1 1/4 turn')
    """
    whole, rest = divmod(Fraction(turns).limit_denominator(16), 1)
    parts = [str(whole)] * bool(whole) + [f"{rest.numerator}/{rest.denominator}"] * bool(rest)
    return f"{' '.join(parts) or '0'} turn"


def other(sense: str) -> str:
    """The opposite screw sense."""
    return "outboard-screw-first" if sense == "inboard-screw-first" else "inboard-screw-first"


def screws(sense: str, outboard: bool) -> tuple[str, str]:
    """Which screw is loosened first, and which is tightened then, to move the belt outboard (or inboard).

    >>> screws("inboard-screw-first", True), screws("inboard-screw-first", False)
    (('inboard', 'outboard'), ('outboard', 'inboard'))
    """
    first = "inboard" if (sense == "inboard-screw-first") == outboard else "outboard"
    return first, "outboard" if first == "inboard" else "inboard"


def gap_words(one: End) -> str:
    """Both gaps and what they say."""
    both = f"{show(one.inboard, 'length', 'both')} inboard, {show(one.outboard, 'length', 'both')} outboard"
    if abs(one.offset) <= one.offset_plus_minus:
        return f"{both}; the belt lies in the middle"
    side = "inboard" if one.offset > 0 else "outboard"
    call = " (too close to call against the shim)" if one.state == "too-close" else ""
    return f"{both}; the belt lies {abs(one.offset):.3g} ± {one.offset_plus_minus:.1g} mm too far {side}{call}"


def plan(now: End, outboard: bool, turns: float, response: float | None, known: bool) -> str:
    """Which way the belt must go, and why the step is what it is."""
    way = f"The belt must move {'outboard' if outboard else 'inboard'} by about {abs(now.offset):.3g} mm"
    if response is not None:
        return f"{way}; measured {response:.3g} mm per turn, so the next step is {turn_words(turns)}."
    sort = "a careful first step" if known else "a question put to the machine, since the screw sense is not known"
    return f"{way}; {turn_words(turns)} is {sort}."


def travel(loosened: str, tightened: str) -> str:
    """The question about what is left of the adjuster."""
    return (
        f"Paint a mark across both screws and count the threads in sight. How many turns are left before the "
        f"{tightened} screw (to be tightened; the {loosened} one is loosened) comes to its end?"
    )


def loosen(name: str, turns: float, number: int) -> str:
    """First half of a move: always the screw that is in the way."""
    return f"Move {number}. Release the lock plates. First loosen the {name} screw by {turn_words(turns)}."


def tighten(name: str, turns: float) -> str:
    """Second half of a move."""
    return f"Now tighten the {name} screw by the same {turn_words(turns)}. If it resists, stop and write stuck."


def slack(loosened: str, opened: float, tightened: str, closed: float) -> str:
    """What is loose between the two screws when less was tightened than was loosened."""
    return (
        f"The {loosened} screw was loosened by {turn_words(opened)} and the {tightened} one tightened by only "
        f"{turn_words(closed)}: {turn_words(opened - closed)} is slack, and torque would take it up by moving the belt "
        f"on. Turn the {loosened} screw back in by {turn_words(opened - closed)} until it bears again. How far was it?"
    )


def torque(setup: Setup) -> str:
    """Locks and torques from the sheet, or the manual."""
    locks = f"Fit the lock plates and torque them to {setup.lock_torque}"
    return f"Torque both screws to {setup.adjuster_torque}. {locks}. Done?"


def run(setup: Setup) -> str:
    """The coast before a reading."""
    return (
        f"Drive straight forward at no more than {setup.speed}. Over the last {show(setup.run, 'length', 'both')} or "
        "more neither brake nor steer; ease the speed down and let it come to rest by itself (the free roll is only "
        "some metres). Then secure it. How long was the straight run?"
    )


def shifted(new: End, shift: float, turns: float, outboard: bool, even: bool) -> str:
    """What the move did. even: whether both screws were turned alike; only then does it tell what a turn does."""
    way = "outboard" if outboard == (shift > 0) else "inboard"
    if abs(shift) < 0.05:
        return f"Reading: {gap_words(new)}. The belt did not move for {turn_words(turns)}."
    moved = f"Reading: {gap_words(new)}. The belt moved {abs(shift):.3g} mm {way}"
    if not even:
        return f"{moved}. The two screws were not turned alike, so this does not tell what a turn does."
    return f"{moved} for {turn_words(turns)}: {abs(shift) / turns:.3g} mm per turn."


def learned(sense: str) -> str:
    """What the first response says about the screws."""
    first = sense.removesuffix("-screw-first")
    return (
        f"That settles the screw sense of this unit: to move the belt outboard, loosen the {first} screw first. "
        "Write it on the machine sheet."
    )


def nothing(unit: str, rear_seen: bool) -> str:
    """The belt already runs where it should."""
    said = f"The belt of {unit} runs centred: leave the adjusters alone and look at the work the machine does instead."
    return said if rear_seen else f"{said} {REAR_UNSEEN}"


def not_counted(why: str) -> str:
    """A reading of the case that the loop does not take."""
    return f"The reading of the case does not count ({why}), so it is taken again."


def shim_alone(tight: str) -> str:
    """A case that holds what the shim said, and no gaps."""
    said = {"none": "it goes in on both faces", "both": "it binds on both faces"}.get(tight, f"it binds {tight}")
    return f"The case holds only what the shim said ({said}); a step needs both gaps, so they are measured now."


def limited(caution: str, setup: Setup) -> str:
    """A caution before a drive, with what the verdict of the case allows."""
    return " ".join([caution, *(f"Limit of use: {text}" for text in setup.limits)])


def near_enough(setup: Setup, now: End, response: float, sense: str, rear_seen: bool) -> str:
    """What is left is less than the smallest step."""
    return f"What is left is less than an eighth of a turn. {done(setup, now, response, sense, rear_seen)}"


def done(setup: Setup, now: End, response: float | None, sense: str, rear_seen: bool) -> str:
    """The belt runs centred: what remains to be done. response, sense: None and empty where no move told them."""
    note = f"Write on the sheet of this machine: {response:.3g} mm per turn, {sense}." if response and sense else (
        "The moves were uneven or too small to tell what a turn does here; write no response on the sheet."
    )  # fmt: skip
    rear = "" if rear_seen else f"{REAR_UNSEEN} "
    return (
        f"The belt of {setup.unit} lies at {gap_words(now)}. {rear}{note} {HOT} Now prove it hot: run straight until "
        "warm and compare the lug faces. Look at the partner unit as well, since the two share the steering loads. "
        f"Recheck {setup.recheck}, and after any work on wheels or frame."
    )
