"""How likely each cause is, given what was seen and what was looked for and absent. The public face of this package.

Exact: no sampling, no alternating sum, and a cut of any kind stands in `Posterior.bound`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, cast

import numpy as np

from lugwright.belief.evidence import Evidence, ImpossibleEvidence, TooWide, check_evidence
from lugwright.belief.influence import Outcome, conflict_bits, outcomes, without_each
from lugwright.belief.network import FloatArray, Network
from lugwright.belief.problem import build_problem
from lugwright.belief.solve import solve

__all__ = [
    "Evidence",
    "ImpossibleEvidence",
    "Network",
    "Outcome",
    "Posterior",
    "TooWide",
    "conflict_bits",
    "outcomes",
    "posterior",
    "without_each",
]

Road = Literal["joint", "conditioned"]


@dataclass(frozen=True, eq=False)
class Posterior:
    """Probabilities after the findings.

    marginal:     (causes,), P(cause present | findings). Causes coexist, so they need not add up to 1.
    by_stage:     (causes, stages), the same split by hidden stage.
    log_evidence: natural log of P(findings); `against` factors count as a changed prior, not as evidence.
    no_fault:     P(no cause present | findings).
    road:         which of the two exact methods was used.
    width:        seen signs open at once on the joint road; its cost doubles with each.
    bound:        weight of what was not visited relative to what was; 0.0 when nothing was left out. No probability
                  is off by more than this.
    """

    marginal: FloatArray
    by_stage: FloatArray
    log_evidence: float
    no_fault: float
    road: Road
    width: int
    bound: float


def posterior(network: Network, evidence: Evidence, *, tolerance: float = 1e-9, road: Road | None = None) -> Posterior:
    """Probability of every cause at every stage, given the findings.

    tolerance: largest `bound` aimed at when sets of causes are searched; road: force a method, for tests.
    Raises     ImpossibleEvidence when the findings have probability zero, TooWide when they hang together too widely
               for an exact answer, ValueError for a sign that is not in the network.

    >>> network = Network(causes=("cold",), scopes=(("machine", 0),), axle_of_unit=(0,), signs=("fever",),
    ...     prior=np.array([[0.1]]), link=np.array([[[0.4]]]), leak=np.array([0.02]))
    >>> result = posterior(network, Evidence(seen=(0,), absent=()))
    >>> round(float(result.marginal[0]), 4), round(result.no_fault, 4), result.bound
    (0.6959, 0.3041, 0.0)
    """
    check_evidence(network, evidence)
    solution = solve(network, build_problem(network, evidence), tolerance, road)
    by_stage = np.clip(solution.by_stage[0], 0.0, 1.0)
    return Posterior(
        marginal=np.clip(by_stage.sum(axis=1), 0.0, 1.0),
        by_stage=by_stage,
        log_evidence=float(solution.log_evidence[0]),
        no_fault=float(np.clip(solution.no_fault[0], 0.0, 1.0)),
        road=cast(Road, solution.road),
        width=solution.width,
        bound=float(solution.bound[0]),
    )
