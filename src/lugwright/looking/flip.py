"""The smallest set of findings whose change would give another first cause.

Single changes are worked out in one batch, all of them where the work allows. Pairs are formed of the changes that
bring the first place closest to falling; larger sets grow one change at a time. Every set that is printed has been run
through the rules and the network once more as a whole case, so that what a change does to other findings counts too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from lugwright.belief.contest import Contest, contest
from lugwright.belief.ground import Key
from lugwright.belief.judge import evidence_of
from lugwright.belief.look_cost import affordable, lightened
from lugwright.belief.posterior import Evidence
from lugwright.belief.problem import Variant
from lugwright.looking.changes import change_shown, changed_case, follows_from, states
from lugwright.looking.insight import Insight, insight
from lugwright.plan.machine import known_signs
from lugwright.plan.next_checks import ONE_PASS
from lugwright.plan.undecided import NO_FAULT
from lugwright.prospects import Flip, Flips
from lugwright.summing_up import label, machine_words, refused

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase

#: Predicted nanoseconds for one batch, variants of one batch, changes of a set, sets shown, whole cases run again.
WORK = 1.0e9
MOST_VARIANTS = 700
LARGEST = 5
SHOWN = 5
CONFIRMED = 16


@dataclass(frozen=True)
class _Move:
    """One finding put otherwise. gone: columns that lose their state with it; the sign itself stands first."""

    key: Key
    sign: int
    before: str
    after: str
    gone: tuple[int, ...]


def flips(case: CaseRecord, rulebase: RuleBase) -> Flips:
    """What it takes to get another first cause. Raises UnusableInput when the findings cannot hold together."""
    with refused(case, rulebase):
        return _Search(insight(case, rulebase)).run()


class _Search:
    def __init__(self, seen: Insight) -> None:
        self.seen, self.ground = seen, seen.ground
        full = evidence_of(self.ground, *known_signs(seen.concluded))
        self.evidence = lightened(self.ground.network, full, ONE_PASS)
        self.light = len(full.seen) - len(self.evidence.seen)
        self.first = seen.standings()[0]
        self.tried = 0
        self.confirmed = 0
        self.most = min(MOST_VARIANTS, affordable(self.ground.network, self.evidence, WORK))

    def run(self) -> Flips:
        moves, whole = self._moves()
        gaps = self._gaps([(one,) for one in moves])
        found = self._confirm([((one,), gap) for one, gap in zip(moves, gaps, strict=True) if gap < 0], 1)
        if found:
            return self._answer(1, not self.light, found)
        exact = whole and not self.light
        order = [one for _, one in sorted(zip(gaps, moves, strict=True), key=lambda pair: round(pair[0], 9))]
        among, sets = len(order), 4 * len(order) * (len(order) - 1) // 2
        while sets > self.most and among > 2:
            among -= 1
            sets = 4 * among * (among - 1) // 2
        pairs = [pair for pair in combinations(order[:among], 2) if pair[0].sign != pair[1].sign]
        gaps = self._gaps(pairs)
        found = self._confirm([(pair, gap) for pair, gap in zip(pairs, gaps, strict=True) if gap < 0], 2)
        if found:
            return self._answer(2, exact, found)
        best: tuple[_Move, ...] = (
            min(zip(gaps, pairs, strict=True), key=lambda one: round(one[0], 9))[1] if pairs else ()
        )
        while best and len(best) < LARGEST:
            grown = [(*best, one) for one in order[:among] if one.sign not in {other.sign for other in best}]
            if not grown:
                break
            gaps = self._gaps(grown)
            ranked = sorted(zip(grown, gaps, strict=True), key=lambda one: round(one[1], 9))
            found = self._confirm([one for one in ranked if one[1] < 0], len(ranked[0][0]))
            if found:
                return self._answer(len(best) + 1, False, found)
            best = ranked[0][0]
        return self._answer(0, False, [])

    def _moves(self) -> tuple[list[_Move], bool]:
        """Every change of one finding that can matter, strongest links first, and whether all of them fit the work."""
        network, index = self.ground.network, self.ground.sign_index
        now = states(self.seen.concluded)
        after = follows_from(self.seen.concluded)
        used = {*self.evidence.seen, *self.evidence.absent}
        weight = self.ground.shows.max(axis=(0, 1))
        drawn = {key for gone in after.values() for key in gone}
        found = []
        for key, state in now.items():
            sign = index.get(key, -1)
            if sign not in used or weight[sign] <= 0 or key in drawn:
                continue
            gone = (sign, *sorted(index[one] for one in after[key] if index.get(one, -1) in used))
            for wanted in ("unknown", "absent" if state == "seen" else "seen"):
                found.append(_Move(key, sign, state, wanted, gone))
        found.sort(key=lambda one: (one.before != "seen", -round(float(weight[one.sign]), 6), one.sign, one.after))
        against = network.speaking
        found = [one for one in found if not (one.after == "seen" and one.sign in against)] + [
            one for one in found if one.after == "seen" and one.sign in against
        ]
        limit = self.most // 2 * 2
        return found[:limit], len(found) <= limit

    def _gaps(self, sets: Sequence[tuple[_Move, ...]]) -> list[float]:
        """For each set of changes, how far the first place still leads; below zero where another one overtakes it."""
        if not sets:
            return []
        against = self.ground.network.speaking
        keys: dict[tuple[tuple[int, ...], tuple[int, ...]], int] = {((), ()): 0}
        parts: list[list[tuple[float, int]]] = []
        anew: dict[int, Evidence] = {}
        for at, one in enumerate(sets):
            gone = tuple(sorted({sign for move in one for sign in move.gone}))
            away = tuple(sorted(move.sign for move in one if move.after == "absent"))
            there = tuple(sorted(move.sign for move in one if move.after == "seen"))
            if against & set(there):
                seen = (*(sign for sign in self.evidence.seen if sign not in gone), *there)
                absent = (*(sign for sign in self.evidence.absent if sign not in gone), *away)
                anew[at] = Evidence(tuple(seen), tuple(absent))
                parts.append([])
                continue
            rows = []
            for size in range(len(there) + 1):
                for some in combinations(there, size):
                    key = (gone, tuple(sorted((*away, *some))))
                    rows.append(((-1.0) ** size, keys.setdefault(key, len(keys))))
            parts.append(rows)
        variants = [Variant(left_out=gone or None, also_absent=more or None) for gone, more in keys]
        weighed = contest(self.ground, self.evidence, variants)
        self.tried += len(sets)
        return [
            self._gap(contest(self.ground, anew[at], [Variant()]), [(1.0, 0)]) if at in anew
            else self._gap(weighed, rows)
            for at, rows in enumerate(parts)
        ]  # fmt: skip

    def _gap(self, weighed: Contest, rows: list[tuple[float, int]]) -> float:
        total = sum(sign * weighed.weight[at] for sign, at in rows)
        if total < 1e-12:
            return 1.0  # the model holds these findings to be next to impossible
        causes = sum(sign * weighed.cause[at] for sign, at in rows) / total
        none = float(sum(sign * weighed.none[at] for sign, at in rows) / total)
        faults = {
            name: float(causes[row])
            for row, name in enumerate(self.ground.network.causes)
            if row not in self.ground.harmless
        }
        faults[NO_FAULT] = none
        mine = faults.pop(self.first.cause)
        return mine - max(faults.values())

    def _confirm(self, sets: Sequence[tuple[tuple[_Move, ...], float]], size: int) -> list[Flip]:
        """Run the most telling sets as whole cases; keep those with another first cause."""
        order = sorted(sets, key=lambda one: (sum(move.after != "unknown" for move in one[0]), round(one[1], 9)))
        found: list[Flip] = []
        for moves, _ in order:
            if len(found) >= SHOWN or self.confirmed >= CONFIRMED * size:
                break
            self.confirmed += 1
            wanted = {move.key: move.after for move in moves}
            other, _ = changed_case(self.seen.case, self.seen.concluded, wanted)
            again = insight(other, self.seen.rulebase, tolerance=1e-6)
            top = again.standings()[0]
            kept = states(again.concluded)
            if top.cause != self.first.cause and all(kept.get(key, "unknown") == s for key, s in wanted.items()):
                shown = tuple(change_shown(one.key, one.before, one.after, self.seen.rulebase) for one in moves)
                found.append(Flip(changes=shown, first=top, instead_of=_probability(again, self.first.cause)))
        return found

    def _answer(self, size: int, exact: bool, found: list[Flip]) -> Flips:
        notes = []
        if self.light:
            notes.append(f"{self.light} signs that are common on a sound machine were set aside for the search.")
        if not self.tried:
            notes.append("No finding that bears on a cause is noted in this case, so there is none to put otherwise.")
        elif size == 0:
            notes.append(f"No set of up to {LARGEST} changes that was tried gives another first cause.")
        elif size > 1 and not exact:
            notes.append("Sets of this size were formed of the changes that weigh most; a smaller one may exist.")
        return Flips(
            case=self.seen.case.case,
            machine=machine_words(self.seen.case),
            rulebase=label(self.seen.rulebase),
            first=self.first,
            size=size,
            exact=exact,
            flips=tuple(found),
            tried=self.tried,
            notes=tuple(notes),
        )


def _probability(seen: Insight, cause: str) -> float:
    if cause == NO_FAULT:
        return round(seen.judgement.no_fault, 6)
    row = seen.ground.network.causes.index(cause)
    return round(float(seen.judgement.posterior.marginal[row]), 6)
