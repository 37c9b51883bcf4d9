"""A weighed check as a row of the answer: what it asks, what it needs, and what each outcome would do."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations
from typing import TYPE_CHECKING

import numpy as np

from lugwright.belief.ground import Ground
from lugwright.belief.looks import SEVERAL, Look
from lugwright.belief.network import FloatArray, IntArray
from lugwright.diagnosis import NextCheck, Outcome
from lugwright.places import Place
from lugwright.plan.apart import ApartSigns, apart_signs, excluded
from lugwright.plan.candidates import Candidate

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

#: Outcomes rarer than this are not shown, and the most that are.
RARE = 0.01
OUTCOMES = 4


def shown(
    one: Candidate,
    look: Look | None,
    rulebase: RuleBase,
    ground: Ground,
    before: FloatArray,
    counted: IntArray,
    shared: tuple[str, ...] = (),
    others: Sequence[Candidate] = (),
) -> NextCheck:
    """A candidate as a row of the answer. Without a look it tells nothing itself and is needed first by others."""
    entry = rulebase.checks[one.check]
    keys = [ground.signs[sign] for sign in (look.signs if look else ())]
    for_these = list(dict.fromkeys(rulebase.checks[other.check].name for other in others if one.task in other.first))
    several = look is not None and SEVERAL in look.outcomes
    for_itself = any(other.task == one.task for other in others)
    return NextCheck(
        check=one.check,
        name=entry.name,
        unit=one.place.unit or None,
        axle=one.place.axle or None,
        place_words=one.place.words,
        minutes=one.alone,
        set_up_minutes=one.set_up_minutes,
        gain_bits=round(look.gain_bits, 6) if look else 0.0,
        gain_is="at-least" if several or len(one.signs) > len(keys) else "exact",
        several_as_one=several,
        risk=one.risk,
        cautions=entry.cautions,
        asks=_asked(keys, rulebase) or f"needed before: {'; '.join(for_these)}",
        signs=tuple(ground.network.signs[sign] for sign in (look.signs if look else ())),
        needs=entry.needs,
        preconditions=entry.preconditions,
        after=tuple(dict.fromkeys(task[0] for task in one.first)),
        share_set_up=shared,
        first_for=() if for_itself else tuple(for_these),
        outcomes=_outcomes(look, before, counted, rulebase, ground) if look else (),
    )


def _asked(keys: Sequence[tuple[str, Place]], rulebase: RuleBase) -> str:
    """Each sign as a question, with the place; at more than two places once, with all of them."""
    places: dict[str, list[str]] = {}
    for name, at in keys:
        places.setdefault(name, []).append(at.words if at.key != "machine" else "")
    return " ".join(
        f"{rulebase.symptoms[name].name}{', ' if where else ''}{where}?"
        for name, every in places.items()
        for where in ([_one_of(every)] if len(every) > 2 else every)
    )


def _one_of(places: Sequence[str]) -> str:
    """
    >>> _one_of(["front-left", "front-right", "rear-left"]), _one_of(["left, inboard", "left, outboard", "right"])
    ('front-left, front-right or rear-left', 'left, inboard; left, outboard; or right')
    """
    if any("," in one for one in places):
        return "; ".join((*places[:-1], f"or {places[-1]}"))
    return f"{', '.join(places[:-1])} or {places[-1]}"


def _outcomes(
    look: Look, now: FloatArray, counted: IntArray, rulebase: RuleBase, ground: Ground
) -> tuple[Outcome, ...]:
    """The outcomes worth telling, most likely first; for one sign "seen" stands before "not there"."""
    order = sorted(range(len(look.probability)), key=lambda at: (-round(float(look.probability[at]), 9), at))
    if len(look.signs) == 1:
        order = [1, 0]
    apart = apart_signs(rulebase, {ground.signs[at][0] for at in look.signs}) if len(look.signs) > 1 else {}
    kept = [
        at for at in order if look.probability[at] >= RARE and not _clash(look.outcomes[at], apart, rulebase, ground)
    ]
    return tuple(
        _outcome(_result(look, at, rulebase, ground), look, at, now, counted, rulebase, ground)
        for at in kept[:OUTCOMES]
    )


def _clash(seen: tuple[int, ...], apart: ApartSigns, rulebase: RuleBase, ground: Ground) -> bool:
    """Whether signs are seen together that no machine can show: a difference between two sides on both, or two signs
    of which a rule says that the one is not there where the other is seen.
    """
    if seen == SEVERAL:
        return False
    signs = [ground.signs[at] for at in seen]
    units = [(name, place.unit) for name, place in signs]
    directed = any(rulebase.symptoms[name].directed and units.count((name, unit)) > 1 for name, unit in units)
    return directed or any(
        excluded(one, other[1], rule) == other for one, other in permutations(signs, 2)
        for rule in apart.get((one[0], other[0]), ())
    )  # fmt: skip


def _result(look: Look, outcome: int, rulebase: RuleBase, ground: Ground) -> str:
    seen = look.outcomes[outcome]
    if len(look.signs) == 1:
        return "seen" if seen else "not there"
    if not seen or seen == SEVERAL:
        return "more than one of them" if seen else "none of them"
    every = [ground.signs[at] for at in look.signs]
    names = [
        rulebase.symptoms[name].name + _apart(name, place, every) for name, place in map(ground.signs.__getitem__, seen)
    ]
    return ("only " if len(names) == 1 else "") + " and ".join(names)


def _apart(name: str, place: Place, every: Sequence[tuple[str, Place]]) -> str:
    """What tells a sign from the same sign at other places of the look: the side, or the whole place."""
    others = [at for other, at in every if other == name and at != place]
    if not others:
        return ""
    return f" {place.side}" if place.side and all(at.unit == place.unit for at in others) else f" {place.words}"


def _outcome(
    result: str, look: Look, at: int, now: FloatArray, counted: IntArray, rulebase: RuleBase, ground: Ground
) -> Outcome:
    """One outcome; what moves is told of the causes whose uncertainty counts."""
    after, before = np.round(look.marginal[at], 6), np.round(now, 6)
    names = ground.network.causes
    faults = [row for row in range(len(after)) if row not in ground.harmless]
    first = min(faults, key=lambda row: (-after[row], names[row]))
    moves = min(counted.tolist(), key=lambda row: (-round(abs(float(after[row] - before[row])), 6), names[row]))

    def words(row: int) -> str:
        cause, place = ground.causes[row]
        return f"{rulebase.causes[cause].name} ({place.words})"

    return Outcome(
        result=result,
        probability=round(float(look.probability[at]), 6),
        first=names[first],
        first_words=words(first),
        first_probability=float(after[first]),
        moves=names[moves],
        moves_words=words(moves),
        moves_from=float(before[moves]),
        moves_to=float(after[moves]),
    )
