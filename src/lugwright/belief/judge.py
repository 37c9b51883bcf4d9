"""How likely is each cause at each place, what carries it, and what remains unexplained."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lugwright.belief.ground import Ground, Key
from lugwright.belief.network import FloatArray
from lugwright.belief.posterior import (
    Evidence,
    ImpossibleEvidence,
    Posterior,
    TooWide,
    conflict_bits,
    posterior,
    without_each,
)

#: Rows whose findings are left out one by one, and findings tried for each.
LEADERS = 6
ABSENT_TRIED = 24
#: Share of the weight that may be left out of what a finding is worth; such figures are shown to a percent.
WORTH_TOLERANCE = 1e-5
#: A sign that a larger share of sound units shows calls for no explanation. It lies between "rarely" and "sometimes",
#: the latter shared over two faces.
RARE = 0.1
#: Nanoseconds of predicted work that may go into it; beyond that the answer comes without.
WORTH_COST = 2.0e9


@dataclass(frozen=True)
class Leader:
    """A cause at its place with what each finding does to it.

    without: (sign key, state, probability without that finding), largest effect first.
    """

    row: int
    cause: Key
    probability: float
    mild: float
    prior: float
    without: tuple[tuple[Key, str, float], ...]
    without_absences: float | None


@dataclass(frozen=True)
class Judgement:
    """The belief half of an answer. Probabilities are rounded to 9 digits so that every machine prints the same."""

    leaders: tuple[Leader, ...]
    no_fault: float
    normal: tuple[tuple[Key, float], ...]
    unexplained: tuple[Key, ...]
    conflict_bits: float
    bound: float
    posterior: Posterior
    evidence: Evidence


def evidence_of(ground: Ground, seen: Sequence[Key], absent: Sequence[Key]) -> Evidence:
    """Findings as column indices; a sign the machine cannot have is left out."""
    index = ground.sign_index
    return Evidence(
        tuple(sorted(index[key] for key in seen if key in index)),
        tuple(sorted(index[key] for key in absent if key in index)),
    )


def judge(
    ground: Ground,
    seen: Sequence[Key],
    absent: Sequence[Key],
    *,
    top: int = 12,
    tolerance: float = 1e-9,
    weigh: bool = True,
) -> Judgement:
    """Exact posterior of every cause at every place, and leave-one-out for the leaders.

    seen, absent: (symptom, place) keys with a known state; every other sign is not evidence.
    weigh:        whether to work out what each finding is worth; without it the leaders' `without` stay empty.
    Raises ImpossibleEvidence naming findings that the model says cannot hold together.
    """
    evidence = evidence_of(ground, seen, absent)
    result = posterior(ground.network, evidence, tolerance=tolerance)
    marginal: FloatArray = result.marginal.clip(0.0, 1.0).round(9)
    every = sorted(range(len(marginal)), key=lambda row: (-marginal[row], ground.network.causes[row]))
    order = [row for row in every if row not in ground.harmless][:top]
    tried, table = _worth(ground, evidence, order[:LEADERS]) if weigh else ((), np.zeros((0, len(marginal))))
    swept = None
    if weigh and evidence.absent and evidence.seen:
        swept = posterior(ground.network, Evidence(evidence.seen, ()), tolerance=WORTH_TOLERANCE).marginal
    leaders = []
    for rank, row in enumerate(order):
        rows = []
        if rank < LEADERS:
            for line, sign in enumerate(tried):
                state = "seen" if sign in evidence.seen else "absent"
                rows.append((ground.signs[sign], state, round(float(np.clip(table[line, row], 0, 1)), 9)))
            rows.sort(key=lambda entry: (-abs(entry[2] - float(marginal[row])), entry[0]))
        stage = result.by_stage[row]
        share = float(1 - stage[-1] / stage.sum()) if stage.sum() > 0 and len(stage) > 1 else 0.0
        prior = float(ground.network.prior[row].sum())
        without = None if swept is None else round(float(np.clip(swept[row], 0, 1)), 9)
        leaders.append(
            Leader(
                row, ground.causes[row], float(marginal[row]), round(share, 6), round(prior, 9), tuple(rows), without
            )
        )
    return Judgement(
        leaders=tuple(leaders),
        no_fault=round(_no_fault(ground, evidence, result, tolerance), 9),
        normal=tuple((ground.causes[row], float(marginal[row])) for row in every if row in ground.harmless),
        unexplained=_unexplained(ground, evidence, marginal),
        conflict_bits=round(float(conflict_bits(ground.network, evidence, log_evidence=result.log_evidence)), 6),
        bound=float(result.bound),
        posterior=result,
        evidence=evidence,
    )


def _no_fault(ground: Ground, evidence: Evidence, result: Posterior, tolerance: float) -> float:
    """P(no fault | findings): every cause absent but those that are normal on a sound machine.

    P(findings, no fault) is P(no fault) times the probability of the findings with the harmless causes alone.
    """
    if not ground.harmless:
        return float(result.no_fault)
    prior = ground.network.prior_given(evidence.seen)
    keep = np.array([row in ground.harmless for row in range(len(prior))])
    alone = replace(ground.network, prior=np.where(keep[:, None], prior, 0.0), against=())
    try:
        log_alone = posterior(alone, evidence, tolerance=tolerance).log_evidence
    except ImpossibleEvidence:
        return 0.0
    log_none = float(np.log1p(-prior[~keep].sum(axis=1)).sum())
    return float(np.clip(np.exp(log_none + log_alone - result.log_evidence), 0.0, 1.0))


def _worth(ground: Ground, evidence: Evidence, rows: Sequence[int]) -> tuple[tuple[int, ...], FloatArray]:
    """The findings to be weighed, and the probabilities without each; none where that is too much work."""
    tried = _tried(ground, evidence, rows)
    try:
        return tried, without_each(ground.network, evidence, tried, tolerance=WORTH_TOLERANCE, most_cost=WORTH_COST)
    except TooWide:
        return (), np.zeros((0, len(ground.causes)))


def _tried(ground: Ground, evidence: Evidence, rows: Sequence[int]) -> tuple[int, ...]:
    """Every seen sign, and the absent signs that weigh most on the leaders."""
    weight = ground.shows[list(rows)].max(axis=(0, 1)) if rows else np.zeros(len(ground.signs))
    absent = sorted((sign for sign in evidence.absent if weight[sign] > 0.05), key=lambda sign: (-weight[sign], sign))
    return (*evidence.seen, *absent[:ABSENT_TRIED])


def _unexplained(ground: Ground, evidence: Evidence, marginal: FloatArray) -> tuple[Key, ...]:
    """Seen signs, rare on a sound undercarriage, whose possible causes together are less likely than not.

    The sum of the causes' probabilities is at least the probability that one of them is there.
    """
    found = []
    for sign in evidence.seen:
        if ground.network.leak[sign] > RARE:
            continue
        if float(marginal[ground.linked(sign)].sum()) < 0.5:
            found.append(ground.signs[sign])
    return tuple(found)
