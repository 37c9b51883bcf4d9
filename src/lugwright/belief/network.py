"""The two-layer network of one machine: causes above, signs below, noisy-OR links between them.

Pure numbers. Which cause and which sign a row or a column stands for is the business of the caller.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

#: Hidden severities one cause may have.
MOST_STAGES = 4
SCOPES = ("unit", "axle", "machine")


@dataclass(frozen=True, eq=False)
class Mark:
    """Signs that a cause marks alike or not at all; see `lugwright.belief.marks`.

    cause:  its row. share: (stages,), how often it has marked them, 0 <= share <= 1.
    signs:  columns, each once; weight: (signs,), net weight of each where it has, 0 <= w < 1.
    """

    cause: int
    share: FloatArray
    signs: tuple[int, ...]
    weight: FloatArray

    def __post_init__(self) -> None:
        """Make the arrays read-only floats."""
        for name in ("share", "weight"):
            object.__setattr__(self, name, _frozen_floats(name, getattr(self, name)))


@dataclass(frozen=True, eq=False)
class Network:
    """Causes with hidden stages, signs, and how each cause at each stage shows each sign.

    causes:       one key per ground cause.
    scopes:       where each cause acts: ("unit", u), ("axle", a) or ("machine", 0). Only the speed depends on it.
    axle_of_unit: axle of each unit: (0, 0) for a two-track, (0, 0, 1, 1) for a four-track.
    signs:        one key per ground sign.
    prior:        (causes, stages), P(cause present at that stage). Stages exclude each other; a row adds up to less
                  than 1; a row of zeros excludes the cause.
    link:         (causes, stages, signs), net noisy-OR weight, 0 <= w < 1. Net means that the leak is one more cause:
                  P(sign | causes present) = 1 - (1 - leak) * product of (1 - w).
    leak:         (signs,), P(sign | no cause present), 0 <= leak < 1.
    against:      (cause, sign, factor): when that sign is seen, the prior odds of that cause are multiplied by the
                  factor at every stage. For causes that never show a sign, which a noisy-OR link cannot say.
    marks:        signs that a cause marks alike or not at all, beside its links.

    Raises ValueError that names the cause, the sign or the shape at fault.

    >>> network = Network(causes=("cold",), scopes=(("machine", 0),), axle_of_unit=(0, 0), signs=("fever",),
    ...     prior=np.array([[0.1]]), link=np.array([[[0.4]]]), leak=np.array([0.02]))
    >>> network.stages
    1
    """

    causes: tuple[str, ...]
    scopes: tuple[tuple[str, int], ...]
    axle_of_unit: tuple[int, ...]
    signs: tuple[str, ...]
    prior: FloatArray
    link: FloatArray
    leak: FloatArray
    against: tuple[tuple[int, int, float], ...] = ()
    marks: tuple[Mark, ...] = ()

    def __post_init__(self) -> None:
        """Make the arrays read-only floats and check every shape and range."""
        for name in ("prior", "link", "leak"):
            object.__setattr__(self, name, _frozen_floats(name, getattr(self, name)))
        self._check_shapes()
        self._check_scopes()
        self._check_ranges()
        self._check_against()
        self._check_marks()

    @cached_property
    def speaking(self) -> frozenset[int]:
        """The signs that speak against a cause when they are seen."""
        return frozenset(sign for _, sign, _ in self.against)

    @cached_property
    def log_unlinked(self) -> FloatArray:
        """Log of 1 - link, (causes, stages, signs)."""
        log: FloatArray = np.log1p(-self.link)
        return log

    @property
    def stages(self) -> int:
        """Number of hidden stages of a cause."""
        return int(self.prior.shape[1])

    def _check_shapes(self) -> None:
        causes, signs = len(self.causes), len(self.signs)
        if self.prior.ndim != 2 or self.prior.shape[0] != causes:
            raise ValueError(f"prior must have the shape (causes, stages) = ({causes}, ...), not {self.prior.shape}")
        if not 1 <= self.stages <= MOST_STAGES:
            raise ValueError(f"a cause has 1 to {MOST_STAGES} stages, not {self.stages}")
        wanted = (causes, self.stages, signs)
        if self.link.shape != wanted:
            raise ValueError(f"link must have the shape (causes, stages, signs) = {wanted}, not {self.link.shape}")
        if self.leak.shape != (signs,):
            raise ValueError(f"leak must have the shape (signs,) = ({signs},), not {self.leak.shape}")
        for name, keys in (("cause", self.causes), ("sign", self.signs)):
            twice = sorted({key for key in keys if keys.count(key) > 1}) if len(set(keys)) < len(keys) else []
            if twice:
                raise ValueError(f"{name} {twice[0]!r} stands in the network twice")

    def _check_scopes(self) -> None:
        if len(self.scopes) != len(self.causes):
            raise ValueError(f"scopes must name a scope for each of {len(self.causes)} causes, not {len(self.scopes)}")
        units = len(self.axle_of_unit)
        axles = max(self.axle_of_unit, default=-1) + 1
        if sorted(set(self.axle_of_unit)) != list(range(axles)):
            raise ValueError(f"axle_of_unit must number the axles from 0 without a gap, not {self.axle_of_unit}")
        most = {"unit": units, "axle": axles, "machine": 1}
        for key, (kind, index) in zip(self.causes, self.scopes, strict=True):
            if kind not in most:
                raise ValueError(f"scope of cause {key!r} must be one of {', '.join(SCOPES)}, not {kind!r}")
            if not 0 <= index < most[kind]:
                raise ValueError(f"scope of cause {key!r} names {kind} {index}, but there are {most[kind]}")

    def _check_ranges(self) -> None:
        if not (self.prior >= 0).all():
            raise ValueError(f"prior of cause {self._cause_of(~(self.prior >= 0))} must be a number of at least 0")
        total = self.prior.sum(axis=1)
        if not (total < 1).all():
            raise ValueError(
                f"prior of cause {self._cause_of(~(total < 1))} must add up to less than 1 over its stages"
            )
        bad = ~((self.link >= 0) & (self.link < 1))
        if bad.any():
            cause, stage, sign = (int(at) for at in np.argwhere(bad)[0])
            raise ValueError(
                f"link of cause {self.causes[cause]!r} (stage {stage}) to sign {self.signs[sign]!r} "
                f"must be at least 0 and less than 1, not {self.link[cause, stage, sign]}"
            )
        bad = ~((self.leak >= 0) & (self.leak < 1))
        if bad.any():
            sign = int(np.argmax(bad))
            raise ValueError(
                f"leak of sign {self.signs[sign]!r} must be at least 0 and less than 1, not {self.leak[sign]}"
            )

    def _check_against(self) -> None:
        for cause, sign, factor in self.against:
            if not (0 <= cause < len(self.causes) and 0 <= sign < len(self.signs)):
                raise ValueError(f"against names cause {cause} and sign {sign}, which are not both in the network")
            if not (0 <= factor < float("inf")):
                raise ValueError(
                    f"factor of cause {self.causes[cause]!r} against sign {self.signs[sign]!r} "
                    f"must be a finite number of at least 0, not {factor}"
                )

    def _check_marks(self) -> None:
        taken: set[tuple[int, int]] = set()
        for mark in self.marks:
            if not (0 <= mark.cause < len(self.causes) and all(0 <= sign < len(self.signs) for sign in mark.signs)):
                raise ValueError(f"a mark names cause {mark.cause} and signs {mark.signs}, not all in the network")
            key = self.causes[mark.cause]
            if mark.share.shape != (self.stages,) or mark.weight.shape != (len(mark.signs),):
                raise ValueError(f"a mark of cause {key!r} needs a share per stage and a weight per sign")
            if not (((mark.share >= 0) & (mark.share <= 1)).all() and ((mark.weight >= 0) & (mark.weight < 1)).all()):
                raise ValueError(f"shares of a mark of cause {key!r} must lie in 0..1, its weights in 0 to below 1")
            pairs = {(mark.cause, sign) for sign in mark.signs}
            if len(pairs) < len(mark.signs) or pairs & taken:
                raise ValueError(f"cause {key!r} marks a sign twice; it would count twice")
            taken |= pairs

    def _cause_of(self, bad: NDArray[Any]) -> str:
        return repr(self.causes[int(np.argwhere(bad)[0][0])])

    def prior_given(self, seen: Sequence[int]) -> FloatArray:
        """Prior (causes, stages) after the `against` factors of the signs seen; each row is still a distribution.

        >>> network = Network(causes=("dirt",), scopes=(("machine", 0),), axle_of_unit=(0,), signs=("clean",),
        ...     prior=np.array([[0.5]]), link=np.zeros((1, 1, 1)), leak=np.array([0.5]), against=((0, 0, 0.25),))
        >>> float(network.prior_given([0])[0, 0])
        0.2
        """
        if not self.against:
            return self.prior
        present = set(seen)
        factor = np.ones(len(self.causes))
        for cause, sign, value in self.against:
            if sign in present:
                factor[cause] *= value
        weighed = self.prior * factor[:, None]
        after: FloatArray = weighed / (1 - self.prior.sum(axis=1) + weighed.sum(axis=1))[:, None]
        return after


def _frozen_floats(name: str, values: object) -> FloatArray:
    try:
        array = np.array(values, dtype=np.float64)
    except (TypeError, ValueError) as error:
        raise ValueError(f"{name} must be an array of numbers: {error}") from None
    array.setflags(write=False)
    return array
