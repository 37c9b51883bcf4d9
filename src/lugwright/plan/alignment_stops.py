"""Why the adjustment loop stops, and what to suspect then."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.plan.alignment_words import gap_words, turn_words
from lugwright.quantities import show

if TYPE_CHECKING:
    from lugwright.readings.alignment import End

PINCHED = "Both faces refuse the shim: the room of the lug is too narrow, and no adjuster can make it wider."
BARELY = (
    "The belt lies in the middle, and still the shim does not clearly pass on both faces: too close to call. Clean and "
    "measure again; if it stays so, the room of the lug is too narrow, and no adjuster can make it wider."
)
PLAY = (
    "After left and right turns the belt comes to rest at two places: that is play, and aligning would only move the "
    "error. Find the play first, then repeat the reading after turns, note it in the case, and align."
)
SUSPECT_PLAY = (
    "worn pivots or bushings",
    "low or unequal tension",
    "play in wheel bearings",
    "loose hardware or locks",
)
STOPPED = (
    "The verdict of this case is STOP, and this loop drives the machine. Put right what stands here, note it in the "
    "case, and align then."
)
UNMET = (
    "The case already shows what must not be while an adjuster is turned; it would only move the error. Put right what "
    "stands here, look again, write in the case that it is gone, and align then."
)
SUSPECT_PINCHED = ("packed dirt between the wheel halves", "wrong spacing or size of a wheel", "swollen or wrong lugs")
SKEW = "Opposite faces bind front and rear: a wheel is out of place, a part is bent, or the yaw exceeds the whole room."
REAR_BINDS = (
    "The belt lies in the middle at the front roller and binds at the last one. The adjuster shifts the belt in front "
    "first: to free the rear it would take the front out of the middle. So no screw is turned. Compare the line of the "
    "rollers and the wheels of this unit, and measure both ends again, standing on the same side."
)
REAR_BARELY = (
    "The belt is free at the front roller, and at the last one the shim does not clearly pass: too close to call. "
    "Clean and measure the last roller again; if it binds there, a wheel may be out of its place."
)
SUSPECT_SKEW = (
    "a wheel that has moved on its hub",
    "a wrong spacer",
    "a bent frame or axle",
    "a wrong reading at one end",
)
SUSPECT_END = (
    "a bent frame or axle",
    "a belt that steers by itself",
    "a wheel out of its place",
    "toe that was never set",
)
SUSPECT_STUCK = ("dirt at the lever or slide", "the opposite screw still closed", "a rusted or damaged thread")
SUSPECT_NOTHING = (
    "dirt at the lever or slide", "worn pivots or bushings", "loose hardware or locks", "low or unequal tension",
    "a wheel out of its place", "a reading taken before the belt had followed",
)  # fmt: skip
SUSPECT_WRONG = (
    "the screw sense noted for this unit (sheet or mark) is wrong", "play in pivots or bearings",
    "a reading after reversing or with the brake on", "inboard and outboard mixed up in one of the readings",
)  # fmt: skip

SUSPECT_SIDES = (
    "inboard and outboard mixed up in one of the readings", "a reading taken before the belt had followed",
    "a wheel or a fastener that gave way", "play in pivots or bearings",
)  # fmt: skip


def beyond(shift: float, turns: float, most: float) -> str:
    """More than a screw can do."""
    return (
        f"The two readings lie {abs(shift):.3g} mm apart after {turn_words(turns)}, more than an adjuster can do "
        f"(about {most:g} mm per turn at most): one of them is wrong, or something has moved. Turn nothing; look which "
        "side is which, coast and measure again, and begin again with --restart."
    )


def narrow(one: End) -> str:
    """A room in which the shim cannot pass on both faces, wherever the belt lies."""
    both = f"{show(one.total, 'length', 'both')}, less than twice the shim of {show(one.shim, 'length', 'both')}"
    return f"The two gaps add up to {both}: the room of the lug is too narrow, and no adjuster can make it wider."


def too_coarse(now: End, response: float) -> str:
    """A face still binds, and the smallest step would do no better."""
    return (
        f"At {gap_words(now)} a face still refuses the shim, and an eighth of a turn ({response / 8:.2g} mm) would lie "
        "no better: the room of the lug is too narrow for the shim, or a reading is wrong."
    )


def near_end(name: str, left: float) -> str:
    """The adjuster is used up."""
    return f"Only {left:g} turns are left on the {name} screw: it is near its end, and the cause lies elsewhere."


def stuck(name: str) -> str:
    """A screw resists."""
    return f"The {name} screw resists: it is not forced. Go back to the paint marks, torque both screws, fit the locks."


def no_response(turns: float) -> str:
    """The screw did nothing."""
    return f"{turn_words(turns)} moved the belt by less than 1 mm: turning on would only load the thread."


def wrong_way(sense: str) -> str:
    """The belt went the wrong way although the sense was known."""
    back = "Go back to the paint marks, torque both screws and fit the locks"
    return f"The belt moved the wrong way, although this unit is noted as {sense}. {back}."


def erratic(now: float, before: float) -> str:
    """The response is not the same twice."""
    return f"The belt answers with {now:.3g} mm per turn now and {before:.3g} before: something gives that should not."


def too_many(moves: int) -> str:
    """It does not come to an end."""
    return f"After {moves} moves the belt is still not centred."
