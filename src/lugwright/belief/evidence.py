"""What was found, and the two ways in which no answer can be given."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lugwright.belief.network import Network


@dataclass(frozen=True)
class Evidence:
    """Signs seen and signs looked for and absent, as indices. A sign in neither tuple is not evidence.

    Raises ValueError when a sign is entered twice: it would count twice, without a word.

    >>> Evidence(seen=(3, 1), absent=(2,))
    Evidence(seen=(3, 1), absent=(2,))
    """

    seen: tuple[int, ...]
    absent: tuple[int, ...]

    def __post_init__(self) -> None:
        """Refuse a sign entered twice."""
        object.__setattr__(self, "seen", tuple(int(sign) for sign in self.seen))
        object.__setattr__(self, "absent", tuple(int(sign) for sign in self.absent))
        for name, signs in (("seen", self.seen), ("absent", self.absent)):
            if len(set(signs)) < len(signs):
                twice = min(sign for sign in signs if signs.count(sign) > 1)
                raise ValueError(f"sign {twice} is entered twice as {name}; it would count twice")
        both = set(self.seen) & set(self.absent)
        if both:
            raise ValueError(f"sign {min(both)} is entered both as seen and as absent")

    def without(self, sign: int) -> Evidence:
        """The same evidence with one finding left out."""
        return Evidence(tuple(s for s in self.seen if s != sign), tuple(s for s in self.absent if s != sign))

    def with_seen(self, sign: int) -> Evidence:
        """The same evidence with one more sign seen."""
        return Evidence((*self.seen, sign), self.absent)

    def with_absent(self, sign: int) -> Evidence:
        """The same evidence with one more sign looked for and absent."""
        return Evidence(self.seen, (*self.absent, sign))


class ImpossibleEvidence(Exception):
    """The findings have probability zero under the model.

    signs: a minimal set of them that cannot hold together; leaving out any one of the set makes the rest possible.
    """

    def __init__(self, signs: tuple[int, ...], names: tuple[str, ...]) -> None:
        self.signs = signs
        listed = ", ".join(names)
        super().__init__(
            f"these findings cannot hold together: {listed}. Nothing in the model can show them: the sound rate is "
            "zero and every cause that could is excluded. Look again, or check the rule that excludes the cause."
        )


class TooWide(Exception):
    """The findings are tied together by too many causes for an exact answer within the memory and work allowed."""

    def __init__(self, why: str) -> None:
        super().__init__(
            f"too many findings hang together for an exact answer: {why}. Enter fewer findings that many causes can "
            "show (start with the notable ones), or let exclusions rule causes out."
        )


def check_evidence(network: Network, evidence: Evidence) -> None:
    """Raise ValueError for a sign that does not exist, ImpossibleEvidence for findings of probability zero."""
    for sign in (*evidence.seen, *evidence.absent):
        if not 0 <= sign < len(network.signs):
            raise ValueError(f"sign {sign} is not in the network, which has signs 0 to {len(network.signs) - 1}")
    if not _possible(network, evidence.seen):
        signs = _minimal_impossible(network, evidence.seen)
        raise ImpossibleEvidence(signs, tuple(network.signs[sign] for sign in signs))


def _possible(network: Network, seen: Sequence[int]) -> bool:
    """Whether P(evidence) > 0.

    Every weight and every leak is below 1, so an absent sign never makes the rest impossible, and all causes may be
    there together. What is impossible is a sign seen with leak 0 that no cause left in the model can show.
    """
    hard = [sign for sign in seen if network.leak[sign] == 0]
    if not hard:
        return True
    from lugwright.belief.marks import marginal_link

    able = (marginal_link(network)[:, :, hard] > 0) & (network.prior_given(seen) > 0)[:, :, None]
    return bool(able.any(axis=(0, 1)).all())


def _minimal_impossible(network: Network, seen: Sequence[int]) -> tuple[int, ...]:
    """Deletion filter: drop each finding in turn and keep it only when the rest becomes possible."""
    kept = list(dict.fromkeys(int(sign) for sign in np.sort(np.array(seen, dtype=np.intp))))
    for sign in list(kept):
        rest = [other for other in kept if other != sign]
        if not _possible(network, rest):
            kept = rest
    return tuple(kept)
