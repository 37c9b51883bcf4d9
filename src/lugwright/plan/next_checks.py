"""Which check is worth doing next, and what each outcome would do to the ranking."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from lugwright.belief.ground import Ground
from lugwright.belief.judge import Judgement
from lugwright.belief.looks import Look, affordable, joint_looks, lightened, screen, variants_of
from lugwright.belief.network import FloatArray, IntArray
from lugwright.belief.posterior import Evidence, posterior
from lugwright.chaining.conclude import Conclusions
from lugwright.diagnosis import SETTLED, NextCheck, Outcome, RankedCause
from lugwright.places import Place
from lugwright.plan.candidates import RISKS, Candidate, Choice, Task, choice

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase

#: Checks shown, and checks worked out exactly.
SHOWN = 5
WEIGHED = 12
#: Signs of one check that are counted together.
JOINED = 3
#: A check that would tell less than this is not worth the walk.
LEAST_BITS = 0.03
#: Once an answer is settled, only a check that changes with at least this chance what is more likely than not is worth
#: the walk.
TURNS = 0.1
#: Predicted nanoseconds of work for weighing checks, and for one pass; counted, not timed. Findings that leave no room
#: to weigh a few checks are lightened for it.
WORK = 2.0e8
ONE_PASS = 1.0e8
LEAST_WEIGHED = 6
#: Outcomes rarer than this are not shown, and the most that are.
RARE = 0.01
OUTCOMES = 4
#: Of what the weights not visited may amount to while checks are weighed.
TOLERANCE = 1e-6


@dataclass(frozen=True)
class Weighed:
    """Checks weighed for one case.

    rows:  the checks worth doing, best first, each after what it needs. best: the look of each check worked out.
    counted: rows of the causes whose uncertainty counts; before: what the findings they are weighed on say now.
    worthy:  the tasks that tell enough, and once the answer is settled have a fair chance of turning it.
    skipped: checks that could be done and that the work limit left unweighed; light: seen signs set aside for it.
    """

    rows: tuple[NextCheck, ...]
    choice: Choice
    best: dict[Task, Look]
    evidence: Evidence
    counted: IntArray
    before: FloatArray
    worthy: frozenset[Task]
    skipped: tuple[str, ...]
    light: int


def next_checks(
    case: CaseRecord,
    rulebase: RuleBase,
    ground: Ground,
    judgement: Judgement,
    ranked: tuple[RankedCause, ...],
    concluded: Conclusions,
) -> tuple[NextCheck, ...]:
    """Checks by expected drop in uncertainty per minute, safest first on a tie, then the shorter one.

    A check counts by the joint outcome of the signs it settles at its place: exact where they are three or fewer, at
    least that of the three most telling otherwise. What must be done before a check stands before it. Once the answer
    is settled, only checks that could still turn it are kept. Left out: what was done already, what would be void, and
    on a machine that must stand all that is not of low risk.
    """
    return weighed_checks(case, rulebase, ground, judgement, concluded).rows[:SHOWN]


def weighed_checks(
    case: CaseRecord, rulebase: RuleBase, ground: Ground, judgement: Judgement, concluded: Conclusions
) -> Weighed:
    """Every check that is worth weighing within the work limit; see `next_checks`."""
    network, evidence = ground.network, judgement.evidence
    by_stage, before = judgement.posterior.by_stage, judgement.posterior.marginal
    worth = screen(network, by_stage)
    options = choice(case, rulebase, ground, evidence, concluded, worth)
    light = lightened(network, evidence, WORK / 2, LEAST_WEIGHED << JOINED)
    if light.seen != evidence.seen:
        before = posterior(network, light, tolerance=TOLERANCE).marginal
    counted = np.array([row for row in range(len(before)) if row not in ground.harmless], dtype=np.intp)
    order = sorted(options.candidates.values(), key=lambda one: _rank(one.guess, options.minutes([one.task]), one))
    once = list({one.check: one for one in reversed(order)}.values())
    once = [one for one in order if one in once and one.guess >= LEAST_BITS / 3]
    room = affordable(network, light, WORK)
    chosen: list[Candidate] = []
    for one in once[:WEIGHED]:
        room -= variants_of(network, one.signs[:JOINED])
        if room < 0:
            break
        chosen.append(one)
    needed = [options.candidates[task] for one in chosen for task in one.first]
    groups = list(dict.fromkeys(one.signs[:JOINED] for one in (*chosen, *needed) if one.signs))
    pairs = _pairs(chosen)
    joined = [_mixed(*pair) for pair in pairs]
    looks = dict(
        zip((*groups, *joined), joint_looks(network, light, [*groups, *joined], rows=counted, tolerance=TOLERANCE),
            strict=True)
    ) if groups else {}  # fmt: skip
    best = {one.task: looks[one.signs[:JOINED]] for one in (*chosen, *needed) if one.signs}
    rate = {one.task: _gain(best, one) / options.minutes([one.task]) for one in chosen}
    shared: dict[Task, tuple[str, ...]] = {}
    for pair, signs in zip(pairs, joined, strict=True):
        together = looks[signs].gain_bits / options.minutes([one.task for one in pair])
        if together > max(rate[one.task] for one in pair):
            for one, other in (pair, pair[::-1]):
                rate[one.task] = max(rate[one.task], together)
                shared[one.task] = (*shared.get(one.task, ()), other.check)
    settled = max(before[counted].max(initial=0.0), judgement.no_fault) >= SETTLED
    telling = {
        task
        for task, look in best.items()
        if look.gain_bits >= LEAST_BITS and (not settled or _turns(look, before, counted) >= TURNS)
    }
    worthy = [one for one in chosen if one.task in telling]
    worthy.sort(key=lambda one: (-round(rate[one.task], 6), *_rank(0.0, one.alone, one)[1:]))
    placed = options.with_first(one.task for one in worthy)
    return Weighed(
        rows=tuple(
            shown(options.candidates[task], best.get(task), rulebase, ground, before, shared.get(task, ()), worthy)
            for task in placed
        ),
        choice=options,
        best=best,
        evidence=light,
        counted=counted,
        before=before,
        worthy=frozenset(telling),
        skipped=tuple(one.check for one in once[len(chosen) :]),
        light=len(evidence.seen) - len(light.seen),
    )


def _rank(gain: float, minutes: float, one: Candidate) -> tuple[float, int, float, str, str]:
    return -round(gain / minutes, 6), RISKS[one.risk], minutes, one.check, one.place.key


def _gain(best: dict[Task, Look], one: Candidate) -> float:
    return best[one.task].gain_bits if one.task in best else 0.0


def _turns(look: Look, before: FloatArray, counted: IntArray) -> float:
    """The chance that a look changes which faults are more likely than not."""
    changed = ((look.marginal[:, counted] > 0.5) != (before[counted] > 0.5)).any(axis=1)
    return float(look.probability[changed].sum())


def _pairs(chosen: Sequence[Candidate]) -> list[tuple[Candidate, Candidate]]:
    """Checks at one place that share a set-up, two by two."""
    return [
        (one, other)
        for one, other in combinations(chosen, 2)
        if one.set_up and one.set_up == other.set_up and one.place == other.place and one.signs and other.signs
    ]


def _mixed(one: Candidate, other: Candidate) -> tuple[int, ...]:
    """The most telling signs of two checks, both of them represented."""
    mixed = [sign for pair in zip(one.signs, other.signs) for sign in pair] + [*one.signs, *other.signs]  # noqa: B905
    return tuple(dict.fromkeys(mixed))[:JOINED]


def shown(
    one: Candidate,
    look: Look | None,
    rulebase: RuleBase,
    ground: Ground,
    before: FloatArray,
    shared: tuple[str, ...] = (),
    others: Sequence[Candidate] = (),
) -> NextCheck:
    """A candidate as a row of the answer. Without a look it tells nothing itself and is needed first by others."""
    entry = rulebase.checks[one.check]
    keys = [ground.signs[sign] for sign in (look.signs if look else ())]
    for_these = [rulebase.checks[other.check].name for other in others if one.task in other.first]
    return NextCheck(
        check=one.check,
        name=entry.name,
        unit=one.place.unit or None,
        axle=one.place.axle or None,
        place_words=one.place.words,
        minutes=one.alone,
        set_up_minutes=one.set_up_minutes,
        gain_bits=round(look.gain_bits, 6) if look else 0.0,
        gain_is="exact" if len(one.signs) <= len(keys) else "at-least",
        risk=one.risk,
        cautions=entry.cautions,
        asks=" ".join(f"{_named(key, rulebase)}?" for key in keys) or f"needed before: {'; '.join(for_these)}",
        signs=tuple(ground.network.signs[sign] for sign in (look.signs if look else ())),
        needs=entry.needs,
        preconditions=entry.preconditions,
        after=tuple(dict.fromkeys(task[0] for task in one.first)),
        share_set_up=shared,
        outcomes=_outcomes(look, before, rulebase, ground) if look else (),
    )


def _named(key: tuple[str, Place], rulebase: RuleBase) -> str:
    symptom, at = key
    name = rulebase.symptoms[symptom].name
    return f"{name}, {at.words}" if at.key != "machine" else name


def _outcomes(look: Look, now: FloatArray, rulebase: RuleBase, ground: Ground) -> tuple[Outcome, ...]:
    """The outcomes worth telling, most likely first; for one sign "seen" stands before "not there"."""
    order = sorted(range(len(look.probability)), key=lambda at: (-round(float(look.probability[at]), 9), at))
    if len(look.signs) == 1:
        order = [1, 0]
    kept = [at for at in order if look.probability[at] >= RARE and not _clash(look.seen(at), rulebase, ground)]
    return tuple(
        _outcome(_result(look, at, rulebase, ground), look.probability[at], look.marginal[at], now, rulebase, ground)
        for at in kept[:OUTCOMES]
    )


def _clash(seen: tuple[int, ...], rulebase: RuleBase, ground: Ground) -> bool:
    """Whether a difference between two sides is seen on both, which no machine can show."""
    units = [(ground.signs[at][0], ground.signs[at][1].unit) for at in seen]
    return any(rulebase.symptoms[name].directed and units.count((name, unit)) > 1 for name, unit in units)


def _result(look: Look, outcome: int, rulebase: RuleBase, ground: Ground) -> str:
    seen = look.seen(outcome)
    if len(look.signs) == 1:
        return "seen" if seen else "not there"
    if not seen:
        return "none of them"
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
    result: str, probability: float, marginal: FloatArray, now: FloatArray, rulebase: RuleBase, ground: Ground
) -> Outcome:
    after, before = np.round(marginal, 6), np.round(now, 6)
    names = ground.network.causes
    faults = [row for row in range(len(after)) if row not in ground.harmless]
    first = min(faults, key=lambda row: (-after[row], names[row]))
    moves = min(faults, key=lambda row: (-round(abs(float(after[row] - before[row])), 6), names[row]))

    def words(row: int) -> str:
        cause, place = ground.causes[row]
        return f"{rulebase.causes[cause].name} ({place.words})"

    return Outcome(
        result=result,
        probability=round(float(probability), 6),
        first=names[first],
        first_words=words(first),
        first_probability=float(after[first]),
        moves=names[moves],
        moves_words=words(moves),
        moves_from=float(before[moves]),
        moves_to=float(after[moves]),
    )
