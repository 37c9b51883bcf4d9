"""Where a belt lies after a straight coast: shim or rule, one end or both, and play told from misalignment."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from lugwright.readings.uncertainty import SHIM_MM as PLUS_MINUS_MM
from lugwright.readings.uncertainty import ReadingRefused, State, against, not_negative, together
from lugwright.readings.welch import compare

#: Gauge thickness when the machine sheet names none. common practice: 6 mm, a quarter inch.
SHIM_MM = 6.0
#: Shortest straight run before a reading. common practice: 45 to 60 m, 150 to 200 ft.
RUN_MM = 45_000.0
#: A sheet's own run counts as driven from this share of it on: 45 m and 150 ft are one trade figure. judgement
RUN_SHARE = 0.98
#: No gap of a guide lug is wider than this; a larger figure is a slip of the pen. judgement
MOST_GAP_MM = 150.0
#: Change of the clearance sum between two readings of one place that says a reading is wrong. judgement
SUM_MM = 2.0
#: Belt offset that counts as centred. judgement: what two people measure differently.
CENTRED_MM = 1.0
#: Share of its room, either way from the middle, within which a belt lies. common practice: 40 to 60 % on each side.
MIDDLE_SHARE = 0.1

Tight = Literal["inboard", "outboard", "both", "none"]
Pattern = Literal["centred", "offset", "skew", "rear-binds", "tight-both", "too-close"]


def coast_faults(
    run_mm: float | None = None,
    brake_or_steering: str | None = None,
    ground: str | None = None,
    gap: str | None = None,
    tension: str | None = None,
    least_run_mm: float = RUN_MM,
) -> tuple[str, ...]:
    """Which conditions of the coast-down were not met, in words; empty when none is known to be broken.

    A condition that nobody stated (None) is not a fault; only a stated one can refuse a reading.
    least_run_mm: the run that the machine sheet asks for, in mm; less than 45 m is never enough.
    Source: common practice (straight run of at least 45 m or 150 ft without brake or steering, flat, clean, in band).

    >>> coast_faults(30_000.0, "none", "flat", "clean", "inside")
    ('straight run of 30 m, at least 45 m is needed',)
    >>> coast_faults(50_000.0, "used", "crowned", "packed", "below")[0]
    'brake or steering was used'
    """
    found = []
    if run_mm is not None and run_mm < max(RUN_MM, RUN_SHARE * least_run_mm) - 1e-6:
        least = max(RUN_MM, least_run_mm)
        found.append(f"straight run of {run_mm / 1000:.4g} m, at least {least / 1000:.0f} m is needed")
    if brake_or_steering not in (None, "none"):
        found.append("brake or steering was used")
    if ground not in (None, "flat"):
        found.append(f"the ground is {ground}, not flat")
    if gap not in (None, "clean"):
        found.append("the lug gap is not clean")
    if tension not in (None, "inside"):
        found.append(f"tension is {tension} its band")
    return tuple(found)


@dataclass(frozen=True)
class End:
    """One end of a unit: clearances in mm, and what they say.

    offset: half of outboard minus inboard; positive when the inboard face is the tighter one. plus_minus: of a gap.
    """

    inboard: float
    outboard: float
    shim: float = SHIM_MM
    plus_minus: float = PLUS_MINUS_MM

    @property
    def total(self) -> float:
        """The two gaps together: the room of the lug, the same wherever the belt lies."""
        return self.inboard + self.outboard

    @property
    def offset(self) -> float:
        """How far the belt lies from the middle of its room, toward inboard where positive."""
        return (self.outboard - self.inboard) / 2

    @property
    def offset_plus_minus(self) -> float:
        """Half width of the offset: two independent gaps, halved."""
        return together(self.plus_minus, self.plus_minus) / 2

    @property
    def in_middle(self) -> bool:
        """Whether the belt lies within 40 to 60 % of its room, or within what two people read apart."""
        return abs(self.offset) <= max(CENTRED_MM, MIDDLE_SHARE * self.total)

    @property
    def tight(self) -> Tight:
        """Which faces refuse the shim, taking the figures as they are."""
        return _tight(self.inboard < self.shim, self.outboard < self.shim)

    @property
    def states(self) -> tuple[State, State]:
        """Inboard and outboard against the shim: inside takes it, outside binds."""
        return (
            against(self.inboard, self.shim, self.plus_minus, "below"),
            against(self.outboard, self.shim, self.plus_minus, "below"),
        )

    @property
    def state(self) -> State:
        """Outside when the belt is clearly off centre or pinched, inside when both faces clearly take the shim."""
        if "outside" in self.states:
            return "outside"
        return "inside" if self.states == ("inside", "inside") else "too-close"


def end(
    inboard: float,
    outboard: float,
    shim: float = SHIM_MM,
    plus_minus: float = PLUS_MINUS_MM,
    most: float = MOST_GAP_MM,
) -> End:
    """Clearances of one end in mm, checked: not negative, not larger than the part can be.

    Raises ReadingRefused.

    >>> one = end(4.0, 14.0)
    >>> one.total, one.offset, one.tight, one.state
    (18.0, 5.0, 'inboard', 'outside')
    >>> end(6.2, 8.0).state
    'too-close'
    """
    for field, value in (("inboard", inboard), ("outboard", outboard)):
        not_negative(field, value)
        if value > most:
            what = f"'{field}' is {value:g} mm; no lug has a gap of more than {most:g} mm"
            raise ReadingRefused(field, what, "look for a slipped digit or a wrong unit")
    return End(float(inboard), float(outboard), shim, plus_minus)


def from_shim(inboard_goes: bool, outboard_goes: bool) -> Tight:
    """Go or no-go: which faces refuse the shim.

    >>> from_shim(False, True), from_shim(True, True), from_shim(False, False)
    ('inboard', 'none', 'both')
    """
    return _tight(not inboard_goes, not outboard_goes)


def _tight(inboard: bool, outboard: bool) -> Tight:
    if inboard and outboard:
        return "both"
    return "inboard" if inboard else "outboard" if outboard else "none"


def pattern(front: Tight, rear: Tight) -> Pattern:
    """The two ends of a unit together.

    offset: the same face binds at both ends, or one end binds and the other is free (idler or frame yaw).
    skew:   opposite faces bind front and rear: a wheel out of place, a bent part, or a yaw larger than the clearance.
    Source: kinematics of a guided belt; common practice for what to suspect.

    >>> pattern("inboard", "inboard"), pattern("inboard", "outboard"), pattern("none", "none"), pattern("both", "none")
    ('offset', 'skew', 'centred', 'tight-both')
    """
    if "both" in (front, rear):
        return "tight-both"
    if front == rear == "none":
        return "centred"
    return "skew" if "none" not in (front, rear) and front != rear else "offset"


def ends_pattern(front: End, rear: End) -> Pattern:
    """As `pattern`, for measured clearances; too close to call where an end is.

    rear-binds: in the middle in front, and one face binds behind. judgement: a yawed idler shifts the front first.

    >>> ends_pattern(end(2, 14), end(14, 2)), ends_pattern(end(8, 8), end(6.1, 9)), ends_pattern(end(8, 8), end(0, 16))
    ('skew', 'too-close', 'rear-binds')
    """
    if "too-close" in (front.state, rear.state):
        return "too-close"
    if front.state == "inside" and front.in_middle and rear.tight in ("inboard", "outboard"):
        return "rear-binds"
    return pattern(front.tight, rear.tight)


def same_room(one: End, other: End, most: float = SUM_MM) -> None:
    """Raises ReadingRefused where the clearance sum of two readings of one place differs by more than `most` mm.

    The lug and its wheel do not change between two readings, so one of them is wrong.

    >>> same_room(end(4, 14), end(8, 10))
    """
    if abs(one.total - other.total) > most:
        what = f"the two gaps add up to {other.total:g} mm, last time to {one.total:g} mm"
        hint = "the room of a lug does not change: clean the gap and measure both again; one of the two is wrong"
        raise ReadingRefused("outboard", what, hint)


@dataclass(frozen=True)
class Repeat:
    """Rest positions after left and after right turns. All in mm.

    says: repeatable, play, or too-close. between: distance of the two mean rest positions; scatter: half width of it.
    """

    says: Literal["repeatable", "play", "too-close"]
    between: float
    scatter: float
    left: float
    right: float


def after_turns(left: Sequence[float], right: Sequence[float], least: float = 3.0, most: float = 4.0) -> Repeat:
    """Play or misalignment: does the belt come back to one place whichever turn it comes out of?

    left, right: offsets of the belt in mm after a coast out of a left and a right turn, at least two each.
    least, most: below `least` apart it is repeatable, above `most` it is play. common practice: 2-3 and 4-6 mm.
    Raises ReadingRefused with fewer than two readings on a hand.

    >>> after_turns([5.0, 5.4, 4.8], [5.3, 5.1, 5.6]).says
    'repeatable'
    >>> after_turns([5.0, 5.4, 4.8], [-3.0, -2.5, -3.4]).says
    'play'
    """
    for field, values in (("left", left), ("right", right)):
        if len(values) < 2:
            raise ReadingRefused(field, f"{len(values)} reading after a {field} turn; two at least are needed")
    both = compare(left, right)
    between = abs(both.difference)
    widest = max(max(values) - min(values) for values in (left, right))
    here = max(between, widest)
    half = together(PLUS_MINUS_MM / 2, PLUS_MINUS_MM / 2)
    if against(here, most, half) == "outside":
        says: Literal["repeatable", "play", "too-close"] = "play"
    else:
        says = "repeatable" if against(here, least, half) == "inside" else "too-close"
    mean_left, mean_right = sum(left) / len(left), sum(right) / len(right)
    return Repeat(says, between, both.plus_minus, mean_left, mean_right)
