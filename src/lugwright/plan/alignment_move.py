"""One move of the adjuster: loosen, tighten, leave nothing slack, lock; then the drive and the reading.

Each piece asks one thing at a time and returns what came of it, or the end of the loop where it must stop.
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from lugwright.plan import alignment_stops as stops
from lugwright.plan import alignment_words as words
from lugwright.plan.alignment_answers import (
    LIKE_TURNS,
    brought_back,
    gaps,
    length_of_run,
    minutes,
    must_be_yes,
    rear_gaps,
    sides,
    turned,
    turns_left,
)
from lugwright.plan.alignment_shapes import Ask, Finish, Setup
from lugwright.readings.uncertainty import together

if TYPE_CHECKING:
    from lugwright.readings.alignment import End

#: Turns that must be left on a screw after a move. judgement
SPARE_TURNS = 1.0
#: More than this, in mm per turn, no adjuster does. judgement: it turns the axle a small part of a degree.
MOST_RESPONSE = 20.0


@dataclass
class Travel:
    """Turns left on each screw, None where nobody knows; a screw that was not asked about is missing."""

    left: dict[str, float | None] = field(default_factory=dict)

    def turned(self, tightened: str, loosened: str, turns: float) -> None:
        """Count a move: what one screw lost, the other gained."""
        for name, change in ((tightened, -turns), (loosened, turns)):
            before = self.left.get(name)
            if before is not None:
                self.left[name] = before + change


@dataclass(frozen=True)
class Moved:
    """What was turned: by how many turns, and whether both screws were turned alike."""

    turns: float
    even: bool


@dataclass(frozen=True)
class Found:
    """What was read after a coast, at the front roller and, if taken, at the last."""

    front: End
    rear: End | None


def move(
    setup: Setup, screws: tuple[str, str], turns: float, number: int, travel: Travel, told: tuple[str, ...]
) -> Generator[Ask, Any, Moved | Finish]:
    """Loosen, tighten, take up what is slack, torque, lock. screws: the one to loosen, then the one to tighten."""
    loosen, tighten = screws
    if tighten not in travel.left:
        travel.left[tighten] = yield Ask(
            "travel", words.travel(loosen, tighten), turns_left, "a number, or unknown", words.SECURE, told
        )
        told = ()
    spare = travel.left[tighten]
    if spare is not None and spare < turns + SPARE_TURNS:
        return Finish("stopped", stops.near_end(tighten, spare), stops.SUSPECT_END, told)
    loosened = yield Ask(
        "loosen", words.loosen(loosen, turns, number), turned(setup.largest_step, turns), words.TURN_HINT,
        words.SCREW_CAUTION, told,
    )  # fmt: skip
    if loosened is None:
        return Finish("stopped", stops.stuck(loosen), stops.SUSPECT_STUCK)
    tightened = yield Ask(
        "tighten", words.tighten(tighten, loosened), turned(loosened, loosened), words.TURN_HINT, words.SCREW_CAUTION
    )
    if tightened is None:
        return Finish("stopped", stops.stuck(tighten), stops.SUSPECT_STUCK)
    even = loosened - tightened < LIKE_TURNS - 1e-9
    if not even:
        back = yield Ask(
            "slack", words.slack(loosen, loosened, tighten, tightened), brought_back(loosened - tightened),
            words.TURN_HINT, words.SCREW_CAUTION,
        )  # fmt: skip
        if back is None:
            return Finish("stopped", stops.stuck(loosen), stops.SUSPECT_STUCK)
    travel.turned(tighten, loosen, tightened)
    yield Ask("torque", words.torque(setup), must_be_yes(words.TORQUE_NO), "yes or no", words.LOCK_CAUTION)
    return Moved(tightened, even)


def drive_and_read(setup: Setup, before: Found, moved: Moved) -> Generator[Ask, Any, Found | Finish]:
    """The drive that lets the belt follow, and the reading; a mirror image of the last one is asked about.

    Ends the loop where the belt seems to have moved further than an adjuster can do.
    """
    caution = words.limited(words.DRIVE_CAUTION, setup)
    yield Ask("drive", words.DRIVE, minutes, "minutes, e.g. 6 min", caution)
    yield Ask("both-ways", words.BOTH_WAYS, must_be_yes(words.BOTH_WAYS_NO), "yes or no")
    now = yield from reading(setup, before, ())
    if mirror_image(before.front, now.front):
        told = (f"Reading: {words.gap_words(now.front)}.",)
        if (yield Ask("sides", words.SIDES, sides, "yes, or swapped", words.SECURE, told)):
            now = Found(_turned_round(now.front), _turned_round(now.rear) if now.rear else None)
    shift = before.front.offset - now.front.offset
    sure = abs(shift) - together(before.front.offset_plus_minus, now.front.offset_plus_minus)
    if sure > MOST_RESPONSE * moved.turns:
        told = (f"Reading: {words.gap_words(now.front)}.",)
        return Finish("stopped", stops.beyond(shift, moved.turns, MOST_RESPONSE), stops.SUSPECT_SIDES, told)
    return now


def reading(setup: Setup, before: Found | None, told: tuple[str, ...]) -> Generator[Ask, Any, Found]:
    """The coast and its reading; a coast that was not driven as it must be is refused and asked for again."""
    caution = words.limited(words.COAST_CAUTION, setup)
    yield Ask("run", words.run(setup), length_of_run(setup.run), "a length, e.g. 50 m", caution, told)
    yield Ask("free", words.FREE, must_be_yes(words.FREE_NO), "yes or no")
    last = (before.front, before.rear) if before else (None, None)
    front = yield Ask("gaps", words.GAPS, gaps(setup.shim, last[0]), "two gaps, e.g. 4 mm, 14 mm", words.SECURE)
    rear = yield Ask("rear", words.REAR, rear_gaps(setup.shim, last[1]), "two gaps, or skip", words.SECURE)
    return Found(front, rear)


def mirror_image(before: End, now: End) -> bool:
    """Whether a reading is the one before with its sides changed over, within what two readings differ by.

    >>> from lugwright.readings.alignment import end
    >>> mirror_image(end(2, 14), end(14, 2)), mirror_image(end(2, 14), end(9, 7)), mirror_image(end(8, 8), end(8, 8))
    (True, False, False)
    """
    apart = together(before.offset_plus_minus, now.offset_plus_minus)
    return not before.in_middle and abs(before.offset + now.offset) <= apart


def _turned_round(one: End) -> End:
    return replace(one, inboard=one.outboard, outboard=one.inboard)
