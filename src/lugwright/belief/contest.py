"""Who stands first under many variants of the findings at once, "no fault" included."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lugwright.belief.evidence import Evidence
from lugwright.belief.ground import Ground
from lugwright.belief.network import FloatArray
from lugwright.belief.problem import Variant, build_problem
from lugwright.belief.solve import solve


@dataclass(frozen=True, eq=False)
class Contest:
    """Joint weights of variants. weight: (V,) P(variant), relative to the first one; cause: (V, causes) and none: (V,)
    the same together with "this cause is there" and with "no fault", so that variants can be subtracted.
    """

    weight: FloatArray
    cause: FloatArray
    none: FloatArray


def contest(ground: Ground, evidence: Evidence, variants: Sequence[Variant], tolerance: float = 1e-7) -> Contest:
    """Weigh variants of the findings. What is normal on a sound machine is no fault.

    The first variant should be the findings as they are. Raises what `solve` raises.
    """
    network = ground.network
    solution = solve(network, build_problem(network, evidence, variants), tolerance)
    weight = np.exp(solution.log_evidence - solution.log_evidence[0])
    cause = np.clip(solution.by_stage.sum(axis=2), 0.0, 1.0) * weight[:, None]
    if not ground.harmless:
        return Contest(weight, cause, solution.no_fault * weight)
    keep = np.zeros(len(network.causes), dtype=bool)
    keep[list(ground.harmless)] = True
    prior = network.prior_given(evidence.seen)
    alone = replace(network, prior=np.where(keep[:, None], prior, 0.0), against=())
    sound = solve(alone, build_problem(alone, evidence, variants), tolerance)
    none = np.empty(len(variants))
    for row, variant in enumerate(variants):
        rest = network.prior_given([sign for sign in evidence.seen if sign not in variant.gone])
        none[row] = np.log1p(-rest[~keep].sum(axis=1)).sum()
    with np.errstate(over="ignore"):
        return Contest(weight, cause, np.exp(none + sound.log_evidence - solution.log_evidence[0]))
