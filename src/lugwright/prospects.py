"""Shapes of what has not happened yet: what to look at next, and what other findings would change.

Field names are the stable keys of `lugwright next --json` and `lugwright whatif --json`.
"""

from __future__ import annotations

from typing import Literal

from lugwright.diagnosis import Frozen, NextCheck, ReadingShown, RulebaseLabel, Steadiness, StepShown, Undecided


class LeftOut(Frozen):
    """A check that is not offered now, and why. `where` is empty when the reason holds for the whole machine."""

    check: str
    name: str
    where: str = ""
    why: str


class Standing(Frozen):
    """One line of a ranking: a cause at its place, or `no-fault`."""

    cause: str
    words: str
    probability: float
    word: str


class Batch(Frozen):
    """The checks to do within some minutes, in order; every set-up is counted once.

    gain_bits: expected drop of uncertainty of all of them together; at least that much.
    tried:     how many sets of checks were weighed.
    """

    allowed: float
    minutes: float
    gain_bits: float
    tried: int
    checks: tuple[NextCheck, ...]


class NextPlan(Frozen):
    """What to look at next. settled: whether what stands first is likely enough and explains what was seen.

    work_first: whether the verdict names work that comes before any check at its place.
    too_close: readings to be taken again, because a limit lies within their plus-or-minus.
    """

    case: str
    machine: str
    rulebase: RulebaseLabel
    verdict: Literal["stop", "limit-use", "keep-running"]
    work_first: bool = False
    now: tuple[Standing, ...]
    uncertainty_bits: float
    settled: bool = False
    undecided: Undecided | None = None
    void: tuple[str, ...] = ()
    checks: tuple[NextCheck, ...]
    batch: Batch | None = None
    left_out: tuple[LeftOut, ...] = ()
    notes: tuple[str, ...] = ()
    steadiness: Steadiness | None = None
    too_close: tuple[ReadingShown, ...] = ()


class Change(Frozen):
    """A finding that is put otherwise. States: seen, absent, unknown."""

    finding: str
    words: str
    before: str
    after: str


class StepChange(Frozen):
    """A firing of a rule that is there on one side only."""

    only: Literal["before", "after"]
    step: StepShown


class RankChange(Frozen):
    """A cause in both rankings; a rank of None means that it is not listed there."""

    cause: str
    words: str
    before: float
    after: float
    rank_before: int | None
    rank_after: int | None


class WhatIf(Frozen):
    """Two answers side by side: for the case as it is, and for the case with some findings put otherwise."""

    case: str
    machine: str
    rulebase: RulebaseLabel
    asked: tuple[Change, ...]
    ranking: tuple[RankChange, ...]
    verdict_before: str
    verdict_after: str
    findings: tuple[Change, ...]
    set_aside: tuple[str, ...] = ()
    steps: tuple[StepChange, ...] = ()
    notes: tuple[str, ...] = ()


class Flip(Frozen):
    """A smallest set of findings whose change gives another first cause."""

    changes: tuple[Change, ...]
    first: Standing
    instead_of: float


class Flips(Frozen):
    """What it takes to get another first cause.

    size:  findings to be changed; 0 when nothing tried does it. exact: whether no smaller set can exist.
    tried: how many changed cases were worked out.
    """

    case: str
    machine: str
    rulebase: RulebaseLabel
    first: Standing
    size: int
    exact: bool
    flips: tuple[Flip, ...]
    tried: int
    notes: tuple[str, ...] = ()
