"""What simulated cases say about the rules: tables by cause, calibration, confusion."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

#: Bands of stated probability; a cause is named, and "no fault" said, above the middle.
BANDS = (0.0, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95)
NAMED = 0.5


@dataclass(frozen=True)
class Answer:
    """One judged case after so many rounds of checks. rank: of each true cause, from 1; text fields joined by +."""

    kind: str
    layout: str
    stage: str
    truth: str
    number: int
    rounds: int
    rank: str
    p_true: float
    first: str
    p_first: float
    no_fault: float
    undecided: int
    checks: int
    minutes: float

    @property
    def ranks(self) -> list[int]:
        """Rank of each true cause."""
        return [int(one) for one in self.rank.split("+")] if self.rank else []


def report(found: Sequence[Answer], rounds: int) -> None:
    """Print every table for which there are cases."""
    layouts = dict.fromkeys(one.layout for one in found)
    for layout in layouts:
        for stage in ("mild", "advanced"):
            ones = [one for one in found if one.kind == "one" and one.layout == layout and one.stage == stage]
            if ones:
                _one_fault(layout, stage, ones, rounds)
        two = [one for one in found if one.kind == "two" and one.layout == layout]
        for count in range(rounds + 1):
            at = [one for one in two if one.rounds == count]
            if at:
                both, lead = _share(max(o.ranks) <= 4 for o in at), _share(min(o.ranks) == 1 for o in at)
                print(f"{layout}, two faults, after {count} rounds: both in four {both:.2f}, one first {lead:.2f}")
        for kind in ("healthy complaint", "healthy routine"):
            for count in range(rounds + 1):
                at = [one for one in found if one.kind == kind and one.layout == layout and one.rounds == count]
                if at:
                    sound = sorted(one.no_fault for one in at)
                    print(
                        f"{layout}, {kind}, after {count} rounds: P(no fault) median {median(sound):.2f} "
                        f"tenth {sound[len(sound) // 10]:.2f} min {sound[0]:.2f}; a cause above {NAMED} in "
                        f"{_share(one.p_first > NAMED for one in at):.3f} of {len(at)}"
                    )
        _calibration(layout, [one for one in found if one.kind == "as-found" and one.layout == layout])


def _one_fault(layout: str, stage: str, ones: Sequence[Answer], rounds: int) -> None:
    print(f"\n{layout}, one {stage} fault")
    for count in range(rounds + 1):
        at = [one for one in ones if one.rounds == count]
        print(
            f"  after {count} rounds: first {_share(o.ranks[0] == 1 for o in at):.3f} "
            f"three {_share(o.ranks[0] <= 3 for o in at):.3f} silent {_share(o.no_fault > NAMED for o in at):.3f} "
            f"undecided {_share(bool(o.undecided) for o in at):.3f} stated on top {_mean(o.p_first for o in at):.3f}; "
            f"checks {_mean(o.checks for o in at):.1f}, minutes {median(o.minutes for o in at):.0f} ({len(at)} cases)"
        )
    print(f"  {'cause':28} before      after                       taken for, per 100, after {rounds} rounds")
    by_cause: dict[str, list[Answer]] = defaultdict(list)
    for one in ones:
        by_cause[one.truth.partition("@")[0]].append(one)

    def row(name: str) -> tuple[float, str]:
        first = [o for o in by_cause[name] if o.rounds == 0]
        after = [o for o in by_cause[name] if o.rounds == rounds]
        wrong: Counter[str] = Counter()
        for o in after:
            if o.ranks[0] != 1:
                cause = o.first.partition("@")[0]
                label = "no fault" if o.no_fault > 0.5 else f"{cause} elsewhere" if cause == name else cause
                wrong[label] += 1
        share = _share(o.ranks[0] == 1 for o in after)
        taken = ", ".join(f"{label} {100 * n / len(after):.0f}" for label, n in wrong.most_common(4))
        return share, (
            f"  {name:28} {_share(o.ranks[0] == 1 for o in first):.2f} {_share(o.ranks[0] <= 3 for o in first):.2f}   "
            f"{share:.2f} {_share(o.ranks[0] <= 3 for o in after):.2f} "
            f"silent {_share(o.no_fault > 0.5 for o in after):.2f} "
            f"undec. {_share(bool(o.undecided) for o in after):.2f}   {taken}"
        )

    for _, line in sorted(row(name) for name in by_cause):
        print(line)
    print(f"  what stood on top after {rounds} rounds, and how often it was right (every cause equally frequent)")
    _bands([one for one in ones if one.rounds == rounds])


def _calibration(layout: str, ones: Sequence[Answer]) -> None:
    """Leading cause: stated probability against how often it was there; no fault likewise."""
    if not ones:
        return
    print(f"\n{layout}, {len(ones)} machines as found: what was stated on top, and how often it was right")
    _bands(ones)
    for low, high in ((0, 0.1), (0.1, 0.5), (0.5, 0.8), (0.8, 1.01)):
        at = [one for one in ones if low <= one.no_fault < high]
        if at:
            said, right = _mean(o.no_fault for o in at), _share(not o.ranks for o in at)
            band = f"no fault {low:.1f} to {min(high, 1):.1f}"
            print(f"  {band}: {len(at):4} cases, stated {said:.2f}, right {right:.2f}")


def _bands(ones: Sequence[Answer]) -> None:
    """Stated probability of what stands on top against the share in which it was there."""
    for low, high in zip(BANDS, (*BANDS[1:], 1.01), strict=True):
        at = [one for one in ones if low <= one.p_first < high]
        if at:
            said, right = _mean(o.p_first for o in at), _share(1 in o.ranks for o in at)
            print(f"  {low:.2f} to {min(high, 1):.2f}: {len(at):4} cases, stated {said:.2f}, right {right:.2f}")


def _share(flags: Iterable[bool]) -> float:
    listed = list(flags)
    return sum(listed) / len(listed) if listed else float("nan")


def _mean(values: Iterable[float]) -> float:
    listed = list(values)
    return sum(listed) / len(listed) if listed else float("nan")
