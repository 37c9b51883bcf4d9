"""What the adjustment loop starts from, asks, and ends with."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from lugwright.readings.alignment import End


@dataclass(frozen=True)
class Setup:
    """What the loop needs of the machine. Lengths in mm, steps in turns, torques as texts for a person.

    sense: which screw is loosened first to move the belt outboard, or unknown. first, rear: a reading of the case, at
    the front and at the last roller, if any. play: the belt was measured to rest elsewhere after left and right turns.
    speed: the highest of the coast, for a person. notes: what must be said about the readings of the case. unmet: what
    the case shows to be amiss that must be put right first. limits: what the verdict allows while it is driven.
    """

    unit: str
    shim: float
    run: float
    first_step: float
    largest_step: float
    sense: str
    adjuster_torque: str
    lock_torque: str
    recheck: str
    aim: float | None = None
    first: End | None = None
    mirrored: bool = False
    rear: End | None = None
    play: bool = False
    speed: str = "8 km/h (5 mph)"
    notes: tuple[str, ...] = ()
    unmet: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()


@dataclass(frozen=True)
class Ask:
    """A question or a move. told: what came out of the last answer; caution: stands before the text."""

    id: str
    text: str
    read: Callable[[str], Any]
    hint: str
    caution: str = ""
    told: tuple[str, ...] = ()


@dataclass(frozen=True)
class Finish:
    """The end of the loop. outcome: done, nothing-to-do, or stopped with what to suspect."""

    outcome: Literal["done", "nothing-to-do", "stopped"]
    text: str
    suspects: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
