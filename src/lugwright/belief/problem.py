"""From a network and findings to the smallest problem that still has to be summed over.

Absent signs are multiplied into the weights of the causes (exact for noisy-OR), excluded causes go, a seen sign that
only one cause can show becomes part of that cause, and a cause that bears on no remaining sign has a closed answer.

A problem holds a batch of *variants* of the findings with the same structure, so that leaving findings out one by one
is a matter of vectors. Leaving out a seen sign sets its leak to 1; leaving out an absent sign divides its factor out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.belief.evidence import Evidence
from lugwright.belief.marks import Versions, log_unshown, quiet_factor, versions
from lugwright.belief.network import FloatArray, IntArray, Network


@dataclass(frozen=True, eq=False, repr=False)
class Problem:
    """What is left to sum over. V variants, n causes, N options (a cause in one version), k seen signs.

    cause:         (n,) row of each cause in the network.
    option_cause:  (N,) position in `cause` of each option, ascending; option_stage: (N,) its version.
    version_stage: (causes, versions) the stage of each version; see `marks`.
    on:            (V, N) weight of the option, absent signs multiplied in; log_on: (V, N) its logarithm.
    off:           (V, n) weight of "cause not present", above zero.
    sign:          (k,) column of each seen sign; link: (N, k); leak: (V, k), 1 in a variant that leaves the sign out.
    log_constant:  (V,) log of every factor already taken out.
    settled:       (V, causes, versions) posterior of causes already taken out, zero elsewhere.
    log_no_fault:  (V,) log of the weight of "no cause present", constants included.
    """

    cause: IntArray
    option_cause: IntArray
    option_stage: IntArray
    version_stage: IntArray
    on: FloatArray
    log_on: FloatArray
    off: FloatArray
    sign: IntArray
    link: FloatArray
    leak: FloatArray
    log_constant: FloatArray
    settled: FloatArray
    log_no_fault: FloatArray

    @property
    def variants(self) -> int:
        """Number of variants in the batch."""
        return len(self.on)

    def select(self, rows: slice) -> Problem:
        """The same problem with some of its variants."""
        batched = {"on", "log_on", "off", "leak", "log_constant", "settled", "log_no_fault"}
        fields = {name: value[rows] if name in batched else value for name, value in vars(self).items()}
        return Problem(**fields)


@dataclass(frozen=True)
class Variant:
    """One change to the findings: findings left out, further signs absent. Neither: the findings as they are.

    A seen sign that is left out and also absent is turned round. A sign that was absent already stays as it is.
    speaking: further signs whose `against` factors count although they are not among the findings, for differences.
    """

    left_out: int | tuple[int, ...] | None = None
    also_absent: int | tuple[int, ...] | None = None
    speaking: tuple[int, ...] = ()

    @property
    def gone(self) -> tuple[int, ...]:
        """The findings left out."""
        return _several(self.left_out)

    @property
    def more(self) -> tuple[int, ...]:
        """The signs that are absent beside those found so."""
        return _several(self.also_absent)


def _several(signs: int | tuple[int, ...] | None) -> tuple[int, ...]:
    return () if signs is None else signs if isinstance(signs, tuple) else (signs,)


AS_FOUND = (Variant(),)


def build_problem(network: Network, evidence: Evidence, variants: Sequence[Variant] = AS_FOUND) -> Problem:
    """Reduce a network and findings (already known to be possible) to what must be summed over."""
    split = versions(network, evidence.seen)
    prior, log_on, leak, log_constant = _weights(network, split, evidence, variants)
    count, causes, stages = log_on.shape
    off = 1 - prior.sum(axis=2)
    seen = np.array(evidence.seen, dtype=np.intp)
    live: NDArray[np.bool_] = np.isfinite(log_on.max(axis=0))
    weight: FloatArray = split.link * live[:, :, None]
    linked = weight.max(axis=1) > 0

    parents = linked.sum(axis=0)
    log_constant += np.log(leak[:, parents == 0]).sum(axis=1)
    log_off = np.log(off)
    lone = (parents == 1) & (leak > 0).all(axis=0)
    for column in np.flatnonzero(lone):
        row = int(np.argmax(linked[:, column]))
        sound = leak[:, column]
        log_off[:, row] += np.log(sound)
        log_on[:, row] += np.log1p(-(1 - sound)[:, None] * (1 - weight[row, :, column]))
    kept = np.flatnonzero((parents > 0) & ~lone)

    has_option = (log_on > -np.inf).any(axis=(0, 2))
    alone = np.flatnonzero(has_option & ~linked[:, kept].any(axis=1))
    settled = np.zeros((count, causes, stages))
    top = np.maximum(log_on[:, alone].max(axis=2), log_off[:, alone])
    share = np.exp(log_on[:, alone] - top[:, :, None])
    total = share.sum(axis=2) + np.exp(log_off[:, alone] - top)
    settled[:, alone] = share / total[:, :, None]
    log_no_fault = log_constant + log_off[:, has_option].sum(axis=1)
    log_constant = log_constant + (np.log(total) + top).sum(axis=1)

    rest = np.flatnonzero(linked[:, kept].any(axis=1))
    position, stage = np.nonzero((log_on[:, rest] > -np.inf).any(axis=0))
    with np.errstate(divide="ignore"):
        log_no_fault = log_no_fault + np.log(leak[:, kept]).sum(axis=1)
    option_log_on = log_on[:, rest[position], stage]
    return Problem(
        cause=rest,
        option_cause=position,
        option_stage=stage,
        version_stage=split.stage,
        on=np.exp(option_log_on),
        log_on=option_log_on,
        off=np.exp(log_off[:, rest]),
        sign=seen[kept],
        link=np.ascontiguousarray(weight[rest[position], stage][:, kept]),
        leak=leak[:, kept],
        log_constant=log_constant,
        settled=settled,
        log_no_fault=log_no_fault,
    )


def _weights(
    network: Network, split: Versions, evidence: Evidence, variants: Sequence[Variant]
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Per variant: prior (V, causes, stages), log weight with absent signs in (V, causes, versions), leak (V, seen),
    log constant (V,).
    """
    absent = np.array(evidence.absent, dtype=np.intp)
    base = network.prior_given(evidence.seen)
    log_base = log_unshown(network, split, evidence.absent)
    log_sound = float(np.log1p(-network.leak[absent]).sum())
    place = {sign: column for column, sign in enumerate(evidence.seen)}
    prior = np.repeat(base[None], len(variants), axis=0)
    log_absent = np.repeat(log_base[None], len(variants), axis=0)
    leak = np.repeat(network.leak[None, list(evidence.seen)], len(variants), axis=0)
    log_constant = np.full(len(variants), log_sound)
    against = network.speaking
    usual = np.zeros_like(log_base)
    quiet_factor(network, split, set(evidence.absent), usual)
    marked = {sign for number in split.quiet for sign in network.marks[number].signs}
    for row, variant in enumerate(variants):
        gone, more = variant.gone, variant.more
        for sign in gone:
            if sign in place:
                leak[row, place[sign]] = 1.0
        if variant.speaking or not against.isdisjoint(gone):
            prior[row] = network.prior_given([*(sign for sign in evidence.seen if sign not in gone), *variant.speaking])
        back = tuple(sign for sign in gone if sign not in place)
        if back:
            log_absent[row] -= log_unshown(network, split, back)
            log_constant[row] -= np.log1p(-network.leak[list(back)]).sum()
        if more:
            log_absent[row] += log_unshown(network, split, more)
            log_constant[row] += np.log1p(-network.leak[list(more)]).sum()
        if marked.isdisjoint(gone) and marked.isdisjoint(more):
            log_absent[row] += usual
        else:
            quiet_factor(network, split, (set(evidence.absent) - set(gone)) | set(more), log_absent[row])
    rows = np.arange(len(base))[:, None]
    with np.errstate(divide="ignore"):
        return prior, np.log(prior[:, rows, split.stage] * split.share) + log_absent, leak, log_constant
