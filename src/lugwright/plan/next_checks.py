"""Which check is worth doing next, and what each outcome would do to the ranking."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from lugwright.belief.ground import Ground, applies, sign_places
from lugwright.belief.judge import Judgement
from lugwright.belief.posterior import Outcome as SignOutcome
from lugwright.belief.posterior import outcomes
from lugwright.chaining.conclude import Conclusions
from lugwright.diagnosis import NextCheck, Outcome, RankedCause
from lugwright.places import Place, axle_of, units_of

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase

#: Causes whose signs are worth a check, places looked at, and checks shown.
LEADERS = 4
MOST_SIGNS = 40
SHOWN = 5
#: A check that would tell less than this is not worth the walk.
LEAST_BITS = 0.03

RISKS = {"low": 0, "medium": 1, "high": 2}


def next_checks(
    case: CaseRecord,
    rulebase: RuleBase,
    ground: Ground,
    judgement: Judgement,
    ranked: tuple[RankedCause, ...],
    concluded: Conclusions,
) -> tuple[NextCheck, ...]:
    """Checks by expected drop in uncertainty per minute, safest first on a tie.

    A check counts by the single sign it settles that tells most; a check whose reading is void there, or that was done
    already, is left out. The gain is the expected drop of the binary entropies of all causes, in bits.
    """
    candidates = _candidates(case, rulebase, ground, judgement, ranked, concluded)
    signs = list(dict.fromkeys(sign for _, _, sign in candidates))[:MOST_SIGNS]
    told = {one.sign: one for one in outcomes(ground.network, judgement.evidence, signs, tolerance=1e-7)}
    best: dict[tuple[str, Place], SignOutcome] = {}
    for check, place, sign in candidates:
        if sign not in told:
            continue
        one = told[sign]
        known = best.get((check, place))
        if known is None or round(one.expected_gain_bits, 9) > round(known.expected_gain_bits, 9):
            best[check, place] = one
    now = judgement.posterior.marginal
    rows = [
        _shown(check, place, one, rulebase, ground, now)
        for (check, place), one in best.items()
        if one.expected_gain_bits >= LEAST_BITS
    ]
    rows.sort(
        key=lambda row: (
            -round(row.gain_bits / row.minutes, 6),
            RISKS[row.risk],
            row.minutes,
            row.check,
            row.place_words,
        )
    )
    first_of_each = {row.check: row for row in reversed(rows)}
    return tuple(row for row in rows if first_of_each[row.check] is row)[:SHOWN]


def _candidates(
    case: CaseRecord,
    rulebase: RuleBase,
    ground: Ground,
    judgement: Judgement,
    ranked: tuple[RankedCause, ...],
    concluded: Conclusions,
) -> list[tuple[str, Place, int]]:
    """(check, place, sign) for every open sign near a leading cause, strongest links first."""
    void = set(concluded.void)
    known = set(judgement.evidence.seen) | set(judgement.evidence.absent)
    rows = [leader.row for leader in judgement.leaders[:LEADERS]]
    weight = (
        ground.shows[rows].max(axis=1)
        * np.array([[leader.probability] for leader in judgement.leaders[:LEADERS]])
    ).max(axis=0)
    units = _units(case, ranked)
    done = {(reading.check, reading.place) for reading in case.readings}
    found = []
    for name, check in rulebase.checks.items():
        for symptom in (rulebase.symptoms[one] for one in check.decides):
            if not applies(symptom, case.layout, case.drive):
                continue
            symptom_id = next(one for one in check.decides if rulebase.symptoms[one] is symptom)
            for place in sign_places(symptom, case.layout):
                sign = ground.sign_index[symptom_id, place]
                at = _check_place(place, check.where)
                near = (
                    (not place.unit and not place.axle)
                    or place.unit in units
                    or place.axle in {axle_of(u) for u in units}
                )
                if (
                    near
                    and sign not in known
                    and (name, at.unit) not in void
                    and (name, at) not in done
                    and weight[sign] > 0.02
                ):
                    found.append((name, at, sign))
    return sorted(found, key=lambda row: (-round(float(weight[row[2]]), 6), row[0], row[2]))


def _units(case: CaseRecord, ranked: tuple[RankedCause, ...]) -> set[str]:
    """The units where the leading causes act; the whole machine counts through its first unit with a finding."""
    units: set[str] = set()
    for one in ranked[:LEADERS]:
        if one.unit:
            units.add(one.unit)
        elif one.axle:
            units.update(units_of(one.axle))
        else:
            units.update(
                finding.place.unit for finding in case.findings if finding.state == "seen" and finding.place.unit
            )
    return units


def _check_place(place: Place, where: str) -> Place:
    """Where the check is done for a sign at a place."""
    if where == "machine":
        return Place()
    if where == "axle":
        return Place(axle=place.axle or (axle_of(place.unit) if place.unit else ""))
    return Place(unit=place.unit, axle="" if place.unit else place.axle)


def _shown(
    check: str, place: Place, one: SignOutcome, rulebase: RuleBase, ground: Ground, now: np.ndarray
) -> NextCheck:
    entry = rulebase.checks[check]
    symptom, at = ground.signs[one.sign]
    name = rulebase.symptoms[symptom].name
    where = f", {at.words}" if at.key != "machine" else ""
    return NextCheck(
        check=check,
        name=entry.name,
        unit=place.unit or None,
        axle=place.axle or None,
        place_words=place.words,
        minutes=entry.minutes + entry.set_up_minutes,
        gain_bits=round(one.expected_gain_bits, 6),
        risk=entry.risk,
        asks=f"{name}{where}?",
        outcomes=(
            _outcome("seen", one.probability, one.if_seen, now, rulebase, ground),
            _outcome("not there", 1 - one.probability, one.if_absent, now, rulebase, ground),
        ),
    )


def _outcome(
    result: str, probability: float, marginal: np.ndarray, now: np.ndarray, rulebase: RuleBase, ground: Ground
) -> Outcome:
    after, before = np.round(marginal, 6), np.round(now, 6)
    names = ground.network.causes
    first = min(range(len(after)), key=lambda row: (-after[row], names[row]))
    moves = min(range(len(after)), key=lambda row: (-round(abs(float(after[row] - before[row])), 6), names[row]))

    def words(row: int) -> str:
        cause, place = ground.causes[row]
        return f"{rulebase.causes[cause].name} ({place.words})"

    return Outcome(
        result=result,
        probability=round(float(probability), 6),
        first=names[first],
        first_words=words(first),
        first_probability=float(after[first]),
        moves=names[moves],
        moves_words=words(moves),
        moves_from=float(before[moves]),
        moves_to=float(after[moves]),
    )
