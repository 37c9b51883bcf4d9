"""In which order to take the causes in, so that few seen signs are open at any one time.

A seen sign is *open* from the first cause that can show it to the last one; only open signs are part of the state. The
cost of a pass doubles with each sign that is open, so the order is all that matters.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lugwright.belief.network import FloatArray, IntArray

#: Rough cost in nanoseconds of one numpy call, and of one number passing through it. Only ratios matter.
CALL = 900.0
TOUCH = 0.7


@dataclass(frozen=True)
class Step:
    """Take in one cause.

    options: its options. closing: (bit, sign) of signs that close with it, highest bit first, each bit as it stands
    once the ones before it are gone. lasting: (bit, sign) of open signs that stay open. opening: signs that open with
    it, highest bit first; they stand above all lasting ones.
    """

    cause: int
    options: tuple[int, ...]
    closing: tuple[tuple[int, int], ...]
    lasting: tuple[tuple[int, int], ...]
    opening: tuple[int, ...]
    size_before: int
    size_after: int


@dataclass(frozen=True)
class Plan:
    """The steps, the signs still open at the end (highest bit first), and what a pass costs for one variant.

    width: the most signs open between two steps; stored: numbers one variant keeps for the pass back; calls, touched:
    numpy calls, and numbers passing through them for one variant, there and back.
    """

    steps: tuple[Step, ...]
    kept: tuple[int, ...]
    width: int
    calls: float
    touched: float
    stored: float

    def cost(self, variants: int = 1) -> float:
        """Predicted nanoseconds for a batch."""
        return CALL * self.calls + TOUCH * self.touched * variants


def plan_elimination(
    option_cause: IntArray, link: FloatArray, keep: Sequence[int] = (), close: Sequence[int] | None = None
) -> Plan:
    """Order the causes; signs in `keep` stay open to the end, signs in `close` close after their last cause.

    option_cause: (N,) cause number of each option, ascending from 0; link: (N, k). `close` defaults to every sign that
    is not kept. Two orders are tried, one by cause and one by sign, and the cheaper one is taken.
    """
    wanted = [sign for sign in range(link.shape[1]) if sign not in set(keep)] if close is None else list(close)
    return _planned(tuple(option_cause.tolist()), _masks(link > 0), tuple(keep), tuple(wanted))


@lru_cache(maxsize=128)
def _planned(causes: tuple[int, ...], shown: tuple[int, ...], keep: tuple[int, ...], close: tuple[int, ...]) -> Plan:
    """The cheaper of two orders. causes, shown: of each option its cause, and the signs it can show as bits.

    One set of findings is planned for again and again: for the answer, for what checks may cost, for the checks.
    """
    count = causes[-1] + 1 if causes else 0
    options: list[list[int]] = [[] for _ in range(count)]
    touches = [0] * count
    for option, cause in enumerate(causes):
        options[cause].append(option)
        touches[cause] |= shown[option]
    use = (*keep, *close)
    allowed = sum(1 << sign for sign in use)
    touches = [mask & allowed for mask in touches]
    keep_mask = sum(1 << sign for sign in keep)
    orders = (_order_by_cause(touches, keep_mask), _order_by_sign(touches, keep_mask, use))
    return min((_lay_out(order, options, touches, keep) for order in orders), key=Plan.cost)


def _masks(rows: NDArray[np.bool_]) -> tuple[int, ...]:
    """Each row as a number with the bit of every true column.

    >>> _masks(np.array([[True, False, True], [False, True, False]]))
    (5, 2)
    """
    packed = np.packbits(rows, axis=1, bitorder="little")
    return tuple(int.from_bytes(row.tobytes(), "little") for row in packed)


def _order_by_cause(touches: list[int], keep_mask: int) -> list[int]:
    """Greedy: next the cause that opens fewest signs beyond those it closes."""
    left = [cause for cause, mask in enumerate(touches) if mask]
    order = [cause for cause, mask in enumerate(touches) if not mask]
    open_now = 0
    while left:
        once = twice = 0
        for cause in left:
            twice |= once & touches[cause]
            once |= touches[cause]
        last = once & ~twice & ~keep_mask
        best, best_score = left[0], (1 << 30, 0)
        for cause in left:
            mask = touches[cause]
            score = ((mask & ~open_now).bit_count() - (mask & last).bit_count(), -mask.bit_count())
            if score < best_score:
                best, best_score = cause, score
        left.remove(best)
        order.append(best)
        open_now = (open_now | touches[best]) & ~(touches[best] & last)
    return order


def _order_by_sign(touches: list[int], keep_mask: int, signs: Sequence[int]) -> list[int]:
    """Greedy: next the sign whose remaining causes open fewest others; then all its causes."""
    left = set(range(len(touches)))
    parents = {sign: {cause for cause in left if touches[cause] >> sign & 1} for sign in signs}
    waiting = [sign for sign in signs if not keep_mask >> sign & 1 and parents[sign]]
    order: list[int] = []
    open_now = 0
    while waiting:
        best, best_score = waiting[0], (1 << 30, 1 << 30)
        for sign in waiting:
            reach = 0
            for cause in parents[sign]:
                reach |= touches[cause]
            score = ((reach & ~open_now).bit_count(), len(parents[sign]))
            if score < best_score:
                best, best_score = sign, score
        for cause in sorted(parents[best], key=lambda cause: ((touches[cause] & ~open_now).bit_count(), cause)):
            order.append(cause)
            open_now |= touches[cause]
            left.discard(cause)
            for sign in signs:
                parents[sign].discard(cause)
        waiting = [sign for sign in waiting if parents[sign]]
    return order + sorted(left)


def _lay_out(order: list[int], options: list[list[int]], touches: list[int], keep: tuple[int, ...]) -> Plan:
    """Turn an order into steps with the bit of every sign, and add up what they cost."""
    last = {sign: cause for cause in order for sign in _bits(touches[cause])}
    open_signs: list[int] = []  # highest bit first
    steps = []
    width, calls, touched, stored = 0, 0.0, 0.0, 0.0
    for cause in order:
        mine = _bits(touches[cause])
        before = len(open_signs)
        opening = tuple(sign for sign in mine if sign not in open_signs)
        closing = []
        for sign in [sign for sign in open_signs if sign in mine and last[sign] == cause and sign not in keep]:
            closing.append((len(open_signs) - 1 - open_signs.index(sign), sign))
            open_signs.remove(sign)
        lasting = tuple((len(open_signs) - 1 - open_signs.index(sign), sign) for sign in mine if sign in open_signs)
        middle = len(open_signs)
        shut_at_once = [sign for sign in opening if last[sign] == cause and sign not in keep]
        open_signs = [*opening, *open_signs]
        steps.append(Step(cause, tuple(options[cause]), tuple(closing), lasting, opening, before, len(open_signs)))
        passing = 2.0**before * bool(closing) + (2 * len(lasting) + 2) * 2.0**middle + 2 * 2.0 ** len(open_signs)
        touched += 2.5 * len(options[cause]) * passing
        calls += 2.5 * len(options[cause]) * (6 + 4 * len(lasting) + 3 * len(closing))
        stored += len(options[cause]) * 2.0**middle
        width = max(width, len(open_signs))
        if shut_at_once:  # only when nothing else can show the sign: close it in a step without options
            closing = []
            for sign in shut_at_once:
                closing.append((len(open_signs) - 1 - open_signs.index(sign), sign))
                open_signs.remove(sign)
            steps.append(Step(-1, (), tuple(closing), (), (), len(open_signs) + len(closing), len(open_signs)))
    missing = tuple(sign for sign in keep if sign not in open_signs)
    if missing:
        steps.append(Step(-1, (), (), (), missing, len(open_signs), len(open_signs) + len(missing)))
        open_signs = [*missing, *open_signs]
    width = max(width, len(open_signs))
    return Plan(tuple(steps), tuple(open_signs), width, calls, touched, stored)


def _bits(mask: int) -> list[int]:
    found = []
    while mask:
        low = mask & -mask
        found.append(low.bit_length() - 1)
        mask ^= low
    return found
