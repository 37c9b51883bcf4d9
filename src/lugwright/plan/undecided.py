"""Whether the leaders can be told apart, and which check tells them apart for the fewest minutes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lugwright.belief.ground import Ground, Key
from lugwright.belief.judge import Judgement, Leader
from lugwright.belief.looks import Look
from lugwright.belief.network import FloatArray
from lugwright.diagnosis import NextCheck, Undecided
from lugwright.plan.candidates import RISKS, Candidate, Choice, at_best_place

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

#: A cause at least this likely may stand first without being called undecided.
DECIDED = 0.6
#: From this on "no fault" leads, what was seen is ordinary, and nothing stands between causes.
LIKELY_SOUND = 0.5
#: A first cause that has not risen at least this much above where it stood before is no leader to be told apart.
STANDS_OUT = 2.0
#: Named between which the answer stands, at most, beside "no fault".
BETWEEN = 4
#: A check that tells less than this of what stands between does not split it.
LEAST_APART_BITS = 0.03
#: Signs of a check that a quick guess adds up.
GUESSED = 3
#: Checks worked out as splitters: the best by a quick guess, and so many places of a check that is named as one.
TRIED = 3
PLACES_TRIED = 2

#: Stands for "every cause is absent" among the keys of an undecided answer.
NO_FAULT = "no-fault"
SOUND = "no fault beyond normal wear"


@dataclass(frozen=True)
class Tie:
    """What cannot be told apart yet.

    rows, causes: the causes at their places, the leader first, as rows of the network and by name.
    sound:      whether "no fault" stands among them.
    named:      checks that the rule base names as splitting the leader from one that stands close behind it, with how
                they do it; the closest first.
    """

    rows: tuple[int, ...]
    causes: tuple[Key, ...]
    sound: bool
    named: tuple[tuple[str, str], ...]


def tie(judgement: Judgement, ground: Ground, rulebase: RuleBase) -> Tie | None:
    """What stands between, or nothing where the answer may be taken as it is.

    Undecided when no cause is more likely than not; when something at least half as likely stands beside a first cause
    that is not yet likely ("no fault" counts as well); or when a declared look-alike stands close behind a cause that
    is more likely than not.
    """
    explains = _explains(judgement, ground)
    leaders = [one for one in judgement.leaders if explains[one.row] or not judgement.evidence.seen]
    if judgement.no_fault >= LIKELY_SOUND or not leaders or leaders[0].probability < STANDS_OUT * leaders[0].prior:
        return None
    first = leaders[0]
    for head in [one for one in leaders if one is first or one.probability >= 0.5]:
        rivals = _rivals(head, leaders, explains)
        close = [one for one in rivals if one.probability >= head.probability / 2]
        alike = [one for one in close if _named(head, one, rulebase)]
        if first.probability >= DECIDED and head.probability >= DECIDED:
            alike = [one for one in alike if one.probability < DECIDED]
        if alike and (head is first or first.probability >= DECIDED):
            rest = [one for one in close if one not in alike] if head.probability < DECIDED else []
            sound = head.probability < DECIDED and judgement.no_fault >= head.probability / 2
            return _tie(head, [*alike, *rest], sound, rulebase)
    rivals = _rivals(first, leaders, explains)
    close = [one for one in rivals if one.probability >= first.probability / 2]
    sound = judgement.no_fault >= first.probability / 2
    if first.probability >= DECIDED or (first.probability >= 0.5 and not close and not sound):
        return None
    near = close or [one for one in rivals if one.probability >= first.probability / 3]
    if not near and judgement.no_fault < first.probability / 3:
        near = rivals[:1]
    return _tie(first, near, sound or not near, rulebase)


def _explains(judgement: Judgement, ground: Ground) -> dict[int, set[int]]:
    """The seen signs that each leader could account for, by row."""
    linked = {sign: set(ground.linked(sign)) for sign in judgement.evidence.seen}
    return {one.row: {sign for sign, rows in linked.items() if one.row in rows} for one in judgement.leaders}


def _rivals(head: Leader, leaders: Sequence[Leader], explains: Mapping[int, set[int]]) -> list[Leader]:
    """The causes after a leader that could account for one of the signs that it accounts for.

    The same fault on another unit, with signs of its own, is no rival: both can be there.
    """
    after = leaders[leaders.index(head) + 1 :]
    mine = explains[head.row]
    return [one for one in after if not mine or mine & explains[one.row]]


def _tie(head: Leader, others: Sequence[Leader], sound: bool, rulebase: RuleBase) -> Tie:
    among = (head, *others[: BETWEEN - 1])
    named = (_named(head, one, rulebase) for one in among[1:] if one.probability >= head.probability / 2)
    return Tie(
        rows=tuple(one.row for one in among),
        causes=tuple(one.cause for one in among),
        sound=sound,
        named=tuple(dict.fromkeys(one for one in named if one)),
    )


def _named(one: Leader, other: Leader, rulebase: RuleBase) -> tuple[str, str] | None:
    """The check that splits two look-alikes and how, whichever of them names it."""
    for first, second in ((one.cause[0], other.cause[0]), (other.cause[0], one.cause[0])):
        for alike in rulebase.causes[first].look_alikes:
            if alike.cause == second:
                return alike.split_by, alike.how
    return None


def splitters(between: Tie, options: Choice, worth: FloatArray) -> tuple[Candidate, ...]:
    """Checks to be tried as splitters, those that the rule base names first; their signs by what each is guessed to
    tell of what stands between.

    worth: (signs,) that guess, in bits.
    """

    def guess(one: Candidate) -> float:
        return float(sum(worth[sign] for sign in signs_apart(one, worth, GUESSED)))

    def rate(one: Candidate) -> tuple[float, float, str, str]:
        minutes = options.minutes([one.task])
        return -round(guess(one) / minutes, 6), minutes, one.check, one.place.key

    order = sorted((one for one in options.candidates.values() if guess(one) > 0), key=rate)
    found: dict[Candidate, None] = {}
    for name, _ in between.named:
        found.update(dict.fromkeys([one for one in order if one.check == name][:PLACES_TRIED]))
    found.update(dict.fromkeys(at_best_place(order)[:TRIED]))
    return tuple(found)


def signs_apart(one: Candidate, worth: FloatArray, most: int) -> tuple[int, ...]:
    """The signs of a check that are guessed to tell most of what stands between."""
    return tuple(sorted(one.signs, key=lambda at: (-round(float(worth[at]), 9), at))[:most])


def apart_bits(look: Look, between: Tie) -> float:
    """Expected drop of the uncertainty about which of the leaders it is, given that it is one of them.

    Where "no fault" stands among them, the chance that it is none of them counts as one more leader.

    >>> look = Look((0,), ((), (0,)), np.array([0.5, 0.5]), np.array([[0.9, 0.9], [0.1, 0.1]]), 1.06)
    >>> round(apart_bits(look, Tie((0, 1), (), False, ())), 6)  # tells whether, not which of the two
    0.0
    >>> look = Look((0,), ((), (0,)), np.array([0.5, 0.5]), np.array([[0.6, 0.0], [0.0, 0.6]]), 0.5)
    >>> round(apart_bits(look, Tie((0, 1), (), False, ())), 6)
    1.0
    """
    shares = look.marginal[:, list(between.rows)]
    if between.sound:
        shares = np.column_stack([shares, np.clip(1 - shares.sum(axis=1), 0.0, 1.0)])
    weighed = look.probability[:, None] * shares
    total = float(weighed.sum())
    return (_apart(weighed.sum(axis=0)) - sum(_apart(row) for row in weighed)) / total if total else 0.0


def _apart(weights: FloatArray) -> float:
    """Entropy of some weights in bits, times their sum."""
    inside = weights[weights > 0]
    return float((inside * np.log2(inside.sum() / inside)).sum())


def chosen_splitter(
    between: Tie, tried: Sequence[Candidate], looks: Sequence[Look], options: Choice
) -> Candidate | None:
    """The check that tells the leaders apart: one that the rule base names if it can be done and does, unless a far
    cheaper one tells nearly as much; else the one that tells most of them for each minute; none where no check does.

    looks: what each check that was tried would do.
    """
    told = {one: apart_bits(look, between) for one, look in zip(tried, looks, strict=True)}
    telling = [one for one in tried if told[one] >= LEAST_APART_BITS]

    def rate(one: Candidate) -> tuple[float, float, str, str]:
        minutes = options.minutes([one.task])
        return -round(told[one] / minutes, 6), minutes, one.check, one.place.key

    best = min(telling, key=rate, default=None)
    for name, _ in between.named:
        here = min((one for one in telling if one.check == name), key=rate, default=None)
        if here and best and not _spares(best, here, told, options):
            return here
    return best


def _spares(one: Candidate, other: Candidate, told: Mapping[Candidate, float], options: Choice) -> bool:
    """Whether a check tells at least half as much as another for at most half of its minutes and no more risk."""
    cheap = options.minutes([one.task]) <= options.minutes([other.task]) / 2
    return cheap and told[one] >= told[other] / 2 and RISKS[one.risk] <= RISKS[other.risk]


def undecided_shown(
    between: Tie | None, splitter: NextCheck | None, options: Choice, rulebase: RuleBase
) -> Undecided | None:
    """A tie as a row of the answer. A named splitter that cannot be done now is named where no other check does it."""
    if between is None:
        return None
    check, how, not_now = "", "", ""
    if splitter:
        check, how = splitter.check, dict(between.named).get(splitter.check, f"asks: {splitter.asks}")
    else:
        why = {one.check: one.why for one in options.left_out}
        check, how = next(((name, how) for name, how in between.named if name in why), ("", ""))
        not_now = why.get(check, "")
    return Undecided(
        between=(*(f"{name}@{place.key}" for name, place in between.causes), *([NO_FAULT] if between.sound else [])),
        words=(
            *(f"{rulebase.causes[name].name} ({place.words})" for name, place in between.causes),
            *([SOUND] if between.sound else []),
        ),
        check=check or None,
        check_name=rulebase.checks[check].name if check else "",
        how=how,
        not_now=not_now,
    )
