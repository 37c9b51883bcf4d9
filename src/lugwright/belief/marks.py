"""Causes that mark several signs alike: a hidden "has it marked them or not" that the signs share.

A cause that marks both faces of every unit either has marked them on this machine or has not; where it has, each face
shows it nearly always. Drawn one by one instead, the faces of such a cause would differ far too often, and it would
explain wear on one face only. The hidden state is summed over exactly:

* a mark none of whose signs is seen needs no state: its absent signs multiply the weight of the cause by
  (1 - share) + share * product of (1 - weight);
* a mark with a seen sign splits the cause into two *versions*, marked and not marked.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from lugwright.belief.network import FloatArray, IntArray, Network


@dataclass(frozen=True, eq=False)
class Versions:
    """A network whose causes are split by the marks that have a seen sign.

    stage:  (causes, versions) the stage each version belongs to.
    share:  (causes, versions) share of the stage's prior; zero where a cause has fewer versions.
    link:   (causes, versions, seen), marks of the version in, one column per seen sign.
    marked: (mark, versions of its cause in which it is there); quiet: the marks that were not split.
    """

    stage: IntArray
    share: FloatArray
    link: FloatArray
    marked: tuple[tuple[int, tuple[int, ...]], ...]
    quiet: tuple[int, ...]


def versions(network: Network, seen: Sequence[int]) -> Versions:
    """Split each cause by its marks that have a seen sign; without marks, versions are stages."""
    causes, stages = network.prior.shape
    column = {sign: at for at, sign in enumerate(seen)}
    split: dict[int, list[int]] = {}
    quiet = []
    for number, mark in enumerate(network.marks):
        if network.prior[mark.cause].any() and any(sign in column for sign in mark.signs):
            split.setdefault(mark.cause, []).append(number)
        else:
            quiet.append(number)
    most = max((1 << len(own) for own in split.values()), default=1)
    stage = np.tile(np.repeat(np.arange(stages), most), (causes, 1))
    share = np.zeros((causes, stages * most))
    share[:, ::most] = 1.0
    link = np.repeat(network.link[:, :, list(seen)], most, axis=1)
    marked = []
    for cause, own in split.items():
        for bit, number in enumerate(own):
            mark = network.marks[number]
            there = [at for at in range(1 << len(own)) if at >> bit & 1]
            columns = tuple(index * most + at for index in range(stages) for at in there)
            marked.append((number, columns))
            for sign, weight in zip(mark.signs, mark.weight.tolist(), strict=True):
                if sign in column:
                    link[cause, columns, column[sign]] = 1 - (1 - link[cause, columns, column[sign]]) * (1 - weight)
        for at in range(1 << len(own)):
            part = np.ones(stages)
            for bit, number in enumerate(own):
                own_share = network.marks[number].share
                part = part * (own_share if at >> bit & 1 else 1 - own_share)
            share[cause, at::most] = part
    return Versions(stage, share, link, tuple(marked), tuple(quiet))


def log_unshown(network: Network, split: Versions, signs: Sequence[int]) -> FloatArray:
    """Log of the chance that a cause in a version shows none of some signs, unsplit marks apart: (causes, versions)."""
    by_stage = network.log_unlinked[:, :, list(signs)].sum(axis=2)
    log: FloatArray = np.take_along_axis(by_stage, split.stage, axis=1)
    wanted = set(signs)
    for number, columns in split.marked:
        mark = network.marks[number]
        here = sum(
            math.log1p(-weight) for sign, weight in zip(mark.signs, mark.weight.tolist(), strict=True) if sign in wanted
        )
        if here:
            log[mark.cause, columns] += here
    return log


def quiet_factor(network: Network, split: Versions, absent: set[int], log_weight: FloatArray) -> None:
    """Add, in place, what the absent signs of unsplit marks say: log_weight (causes, versions)."""
    for number in split.quiet:
        mark = network.marks[number]
        if absent.isdisjoint(mark.signs):
            continue
        unshown = math.prod(1 - w for sign, w in zip(mark.signs, mark.weight.tolist(), strict=True) if sign in absent)
        if unshown < 1:
            log_weight[mark.cause] += np.log1p(-mark.share * (1 - unshown))[split.stage[mark.cause]]


@lru_cache(maxsize=4)  # several questions about one answer ask for it; a network is known by identity and never changes
def marginal_link(network: Network) -> FloatArray:
    """P(cause at a stage shows a sign), marks summed over: (causes, stages, signs). Read-only."""
    link: FloatArray = network.link.copy()
    for mark in network.marks:
        signs = list(mark.signs)
        shown = np.multiply.outer(mark.share, mark.weight)
        link[mark.cause][:, signs] = 1 - (1 - link[mark.cause][:, signs]) * (1 - shown)
    link.setflags(write=False)
    return link
