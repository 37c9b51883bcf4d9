"""Which check is worth doing next, and what each outcome would do to the ranking."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from lugwright.belief.ground import Ground
from lugwright.belief.judge import Judgement
from lugwright.belief.look_cost import affordable, lightened, variants_of
from lugwright.belief.looks import Look, joint_looks, screen
from lugwright.belief.network import FloatArray, IntArray, Network
from lugwright.belief.posterior import Evidence, posterior
from lugwright.chaining.conclude import Conclusions
from lugwright.diagnosis import SETTLED, NextCheck, Undecided
from lugwright.plan.candidates import JOINED, RISKS, Candidate, Choice, Task, at_best_place, choice
from lugwright.plan.check_shown import shown
from lugwright.plan.undecided import LIKELY_SOUND, Tie, chosen_splitter, signs_apart, splitters, tie, undecided_shown

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase

#: Checks shown, and checks worked out exactly.
SHOWN = 5
WEIGHED = 12
#: A check that would tell less than this is not worth the walk.
LEAST_BITS = 0.03
#: Once an answer is settled, only a check that changes with at least this chance what is more likely than not is worth
#: the walk.
TURNS = 0.1
#: Predicted nanoseconds of work for weighing checks, and for one pass; counted, not timed. Findings that leave no room
#: to weigh a few checks are lightened for it.
WORK = 1.4e8
ONE_PASS = 1.0e8
LEAST_WEIGHED = 6
#: Of what the weights not visited may amount to while checks are weighed.
TOLERANCE = 1e-6


@dataclass(frozen=True)
class Weighed:
    """Checks weighed for one case.

    rows:  the checks worth doing, best first, each after what it needs. best: the look of each check worked out;
           few: the joint look of its few most telling signs, which is the same unless it covers several units.
    counted: rows of the causes whose uncertainty counts; before: what the findings they are weighed on say now.
    worthy:  the tasks that tell enough, and once the answer is settled have a fair chance of turning it.
    settled: whether what stands first is likely enough and explains what was seen.
    skipped: checks that could be done and that the work limit left unweighed; light: seen signs set aside for it.
    undecided: what stands between and the check that splits it, which is the first row if it can be done now.
    """

    rows: tuple[NextCheck, ...]
    choice: Choice
    best: dict[Task, Look]
    few: dict[Task, Look]
    evidence: Evidence
    counted: IntArray
    before: FloatArray
    worthy: frozenset[Task]
    settled: bool
    skipped: tuple[str, ...]
    light: int
    undecided: Undecided | None


def weighed_checks(
    case: CaseRecord, rulebase: RuleBase, ground: Ground, judgement: Judgement, concluded: Conclusions
) -> Weighed:
    """Checks by expected drop in uncertainty per minute, safest first on a tie, then the shorter one.

    A check counts by the joint outcome of the signs it settles at its place: exact where they are three or fewer,
    at least that of the three most telling otherwise; over several units by whether none, one alone or several
    show. What counts is the uncertainty about the causes that could account for something seen, or for what a
    settled answer leaves unexplained; where nothing was seen, or where "no fault" leads, about all. While the
    answer is undecided, the check that splits what stands between comes first. What must be done before a check
    stands before it. Once the answer is settled and explains what was seen, only checks that could still turn it
    are kept. Left out: what was done already, what would be void, on a machine that must stand all for which it
    moves or that is of high risk, and what the work limit leaves unweighed.
    """
    network, evidence = ground.network, judgement.evidence
    by_stage, before = judgement.posterior.by_stage, judgement.posterior.marginal
    between = tie(judgement, ground, rulebase)
    settled, counted = _what_counts(ground, judgement, between)
    options = choice(case, rulebase, ground, evidence, concluded, screen(network, _only(by_stage, counted)))
    light = lightened(network, evidence, WORK / 2, LEAST_WEIGHED << JOINED)
    if light.seen != evidence.seen:
        before = posterior(network, light, tolerance=TOLERANCE).marginal
    worth_apart = screen(network, _only(by_stage, list(between.rows if between else ())))
    tried = splitters(between, options, worth_apart) if between else ()
    apart = [signs_apart(one, worth_apart, JOINED) for one in tried]
    promising = _promising(options)
    room = affordable(network, light, WORK) - sum(variants_of(network, signs) for signs in set(apart))
    chosen = _within(promising[:WEIGHED], room, network)
    needed = [options.candidates[task] for one in (*chosen, *tried) for task in one.first]
    pairs = _pairs(chosen)
    groups = [*(one.signs[:JOINED] for one in (*chosen, *needed) if one.signs), *apart]
    groups = list(dict.fromkeys([*groups, *(_mixed(*pair) for pair in pairs)]))
    spread = list(dict.fromkeys(one.joined for one in (*chosen, *needed) if one.spread))
    found = joint_looks(network, light, groups, spread=spread, rows=counted, tolerance=TOLERANCE) if groups else ()
    looks = dict(zip((*groups, *spread), found, strict=True))
    few = {one.task: looks[one.signs[:JOINED]] for one in (*chosen, *needed) if one.signs}
    best = few | {
        one.task: max(few[one.task], looks[one.joined], key=_bits) for one in (*chosen, *needed) if one.spread
    }
    rate, shared = _rates(chosen, pairs, best, looks, options)
    telling = {
        task
        for task, look in best.items()
        if look.gain_bits >= LEAST_BITS and (not settled or _turns(look, before, counted) >= TURNS)
    }
    worthy = [one for one in chosen if one.task in telling]
    worthy.sort(key=lambda one: (-round(rate[one.task], 6), *_rank(0.0, one.alone, one)[1:]))
    splitter = chosen_splitter(between, tried, [looks[signs] for signs in apart], options) if between else None
    if splitter:
        best[splitter.task] = few[splitter.task] = looks[apart[tried.index(splitter)]]
        telling.add(splitter.task)
        worthy = [splitter, *(one for one in worthy if one.check != splitter.check)]
    leaders = np.array(between.rows if between else (), dtype=np.intp)
    rows = {}
    for task in options.with_first(one.task for one in worthy):
        told_of = leaders if splitter and task == splitter.task else counted
        one, look = options.candidates[task], best.get(task)
        rows[task] = shown(one, look, rulebase, ground, before, told_of, shared.get(task, ()), worthy)
    return Weighed(
        rows=tuple(rows.values()),
        choice=options,
        best=best,
        few=few,
        evidence=light,
        counted=counted,
        before=before,
        worthy=frozenset(telling),
        settled=settled,
        skipped=tuple(one.check for one in promising if one not in chosen),
        light=len(evidence.seen) - len(light.seen),
        undecided=undecided_shown(between, rows[splitter.task] if splitter else None, options, rulebase),
    )


def _what_counts(ground: Ground, judgement: Judgement, between: Tie | None) -> tuple[bool, IntArray]:
    """Whether the answer is settled and explains what was seen, and the causes whose uncertainty counts."""
    seen = judgement.evidence.seen if judgement.no_fault < LIKELY_SOUND else ()
    counted = _accounting(ground, seen)
    likely = max(judgement.posterior.marginal[counted].max(initial=0.0), judgement.no_fault) >= SETTLED
    unexplained = [ground.sign_index[key] for key in judgement.unexplained]
    if likely and unexplained and between is None:
        counted = _accounting(ground, unexplained)
    return likely and not unexplained, counted


def _promising(options: Choice) -> list[Candidate]:
    """The checks that promise most for each minute by a quick guess, each at its best place."""
    order = sorted(options.candidates.values(), key=lambda one: _rank(one.guess, options.minutes([one.task]), one))
    return [one for one in at_best_place(order) if one.guess >= LEAST_BITS / 3]


def _within(promising: Sequence[Candidate], room: int, network: Network) -> list[Candidate]:
    """The promising checks that can be weighed within some variants of the findings; one too many is left aside."""
    kept = []
    for one in promising:
        cost = variants_of(network, one.signs[:JOINED])
        cost += variants_of(network, one.joined, spread=True) if one.spread else 0
        if cost <= room:
            kept.append(one)
            room -= cost
    return kept


def _bits(look: Look) -> float:
    return round(look.gain_bits, 9)


def _rates(
    chosen: Sequence[Candidate],
    pairs: Sequence[tuple[Candidate, Candidate]],
    best: dict[Task, Look],
    looks: dict[tuple[int, ...], Look],
    options: Choice,
) -> tuple[dict[Task, float], dict[Task, tuple[str, ...]]]:
    """Bits for each minute of every check, and with which others it does better because they share a set-up."""
    rate = {one.task: _gain(best, one) / options.minutes([one.task]) for one in chosen}
    shared: dict[Task, tuple[str, ...]] = {}
    for pair in pairs:
        together = looks[_mixed(*pair)].gain_bits / options.minutes([one.task for one in pair])
        if together > max(rate[one.task] for one in pair):
            for one, other in (pair, pair[::-1]):
                rate[one.task] = max(rate[one.task], together)
                shared[one.task] = (*shared.get(one.task, ()), other.check)
    return rate, shared


def _accounting(ground: Ground, seen: Sequence[int]) -> IntArray:
    """Rows of the faults that could account for one of some signs; of every fault where there are none."""
    faults = [row for row in range(len(ground.causes)) if row not in ground.harmless]
    raised = {row for sign in seen for row in ground.linked(sign)}
    return np.array([row for row in faults if row in raised] or faults, dtype=np.intp)


def _only(by_stage: FloatArray, rows: Sequence[int] | IntArray) -> FloatArray:
    """Probabilities of some causes by stage; the others as if they were not there."""
    kept = np.zeros_like(by_stage)
    kept[rows] = by_stage[rows]
    return kept


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
