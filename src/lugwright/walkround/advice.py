"""What the rules and the network say during a walk-round: the next check, why, and when to stop.

Everything is bounded by counted work, so that the next question comes at once: where the findings hang together too
widely, the signs that say least are set aside for choosing a question. `lugwright triage` counts them all.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from lugwright.belief.ground import Ground, applies, ground_network, sign_places
from lugwright.belief.judge import evidence_of, judge
from lugwright.belief.look_cost import lightened
from lugwright.casefile.load import case_from_text
from lugwright.chaining.conclude import Conclusions, conclude, engine_for
from lugwright.diagnosis import SETTLED
from lugwright.issues import UnusableInput
from lugwright.looking.insight import Insight
from lugwright.places import Place, axle_of
from lugwright.plan.machine import extents_seen, known_signs, rate_changes
from lugwright.plan.next_checks import ONE_PASS, weighed_checks
from lugwright.plan.verdict import plain_names, verdict
from lugwright.report.figures import percent
from lugwright.report.sentences import comes_first, telling
from lugwright.summing_up import key_words, refused
from lugwright.walkround.draft import Draft, as_text
from lugwright.walkround.question import Question, Stop

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.chaining.engine import Engine
    from lugwright.diagnosis import NextCheck, Reason
    from lugwright.rulebase.load import RuleBase

#: From this on, another cause is named beside a settled one.
BESIDE = 0.3
#: Share of the weight that may be left out while a question is chosen.
TOLERANCE = 1e-4
CHECK_CHOICES = (("done", "it is done; now tell what it showed"), ("later", "it cannot be done now"))


class Advice:
    """Answers for one rule base. What it keeps (engines, the last network) saves time and changes no answer."""

    def __init__(self, rulebase: RuleBase) -> None:
        self.rulebase = rulebase
        self._engines: dict[str, Engine] = {}
        self._concluded = lru_cache(maxsize=8)(self._conclude)
        self._network: tuple[object, Ground] | None = None

    def refusal(self, draft: Draft) -> str:
        """Why a draft cannot be a case, in a sentence; nothing where it can."""
        try:
            self._concluded(_case_text(draft))
        except UnusableInput as problem:
            first = problem.issues[0]
            return first.what + (f"; {first.hint}" if first.hint else "")
        return ""

    def warnings(self, draft: Draft) -> tuple[Reason, ...]:
        """What stops the machine or limits its use by what is written so far, the most severe first.

        None while the machine itself is not known yet, and where the findings cannot be a case.
        """
        if not draft.is_machine or self.refusal(draft):
            return ()
        _, concluded = self._concluded(_case_text(draft))
        ruling = verdict(concluded, plain_names(concluded, self.rulebase))
        return tuple(one for one in ruling.reasons if one.action != "keep-running")

    def open_signs(self, draft: Draft, check: str, place: Place) -> tuple[tuple[str, Place], ...]:
        """The signs a check settles at a place and that are not known yet."""
        case, concluded = self._concluded(_case_text(draft))
        known = {(one.symptom, one.place) for one in concluded.findings}
        return tuple(
            (name, at)
            for name in self.rulebase.checks[check].decides
            if applies(self.rulebase.symptoms[name], case.layout, case.drive)
            for at in sign_places(self.rulebase.symptoms[name], case.layout)
            if (name, at) not in known and _within(at, place)
        )

    def following(self, draft: Draft, skipped: tuple[str, ...]) -> Question | Stop:
        """The next check worth asking about, or why the questions end here."""
        seen, light = self.insight(draft)
        weighed = weighed_checks(seen.case, self.rulebase, seen.ground, seen.judgement, seen.concluded)
        asked = {one.removeprefix("check/") for one in skipped}
        rows = [row for row in weighed.rows if row.check not in asked and f"{row.check}/{_key(row)}" not in asked]
        rows = [row for row in rows if not asked & set(row.after)]
        later = [row for row in weighed.rows if row.check in asked]
        open_question = weighed.undecided
        aside = (
            (f"({light} ordinary signs were set aside to choose this quickly; `lugwright triage` counts them all.)",)
            if light
            else ()
        )
        now = tuple(f"{one.words}: {one.word}, {percent(one.probability)}" for one in seen.standings(3))
        put_off = (
            (
                f"Put off: {'; '.join(f'{row.name}, {row.place_words} ({row.minutes:g} min)' for row in later)}. "
                "Asked again when the walk-round is started the next time.",
            )
            if later
            else ()
        )
        first = seen.standings(1)[0]
        unexplained = [key_words(key, self.rulebase) for key in seen.judgement.unexplained]
        open_end = (f"Not explained by any of these: {'; '.join(unexplained)}",) if unexplained else ()
        if first.probability >= SETTLED and open_question is None and not (unexplained and (rows or later)):
            beside = [one for one in seen.standings(4)[1:] if one.probability >= BESIDE]
            told = f"Settled: {first.words} is {first.word} ({percent(first.probability)})"
            told += ", and nothing stands beside it." if not beside else ". Causes can act together; beside it:"
            rest = (f"{one.words}: {one.word}, {percent(one.probability)}" for one in beside)
            return Stop("settled", (told, *rest, *open_end, *put_off, *aside))
        if rows:
            return self._question(rows[0], now, (*open_end, *aside))
        if open_question is not None:
            how = open_question.split_words or "no check is known that does it."
            split = (f"Undecided between {' / '.join(open_question.words)}.", f"To split them: {how}")
            return Stop("undecided", (*split, *put_off, *now, *open_end, *aside))
        none = "No check is left that is worth its time" + (", apart from what was put off." if later else ".")
        return Stop("nothing-left", (none, *put_off, *now, *open_end, *aside))

    def insight(self, draft: Draft) -> tuple[Insight, int]:
        """The case worked out within the work limit, and how many seen signs were set aside for that.

        Raises UnusableInput when the findings cannot hold together.
        """
        case, concluded = self._concluded(_case_text(draft))
        ground = self._ground(case, concluded)
        seen, absent = known_signs(concluded)
        full = evidence_of(ground, seen, absent)
        with refused(case, self.rulebase):
            light = lightened(ground.network, full, ONE_PASS)
            kept = [ground.signs[at] for at in light.seen]
            judgement = judge(ground, kept, absent, weigh=False, tolerance=TOLERANCE)
        return Insight(case, self.rulebase, concluded, ground, judgement), len(full.seen) - len(light.seen)

    def _conclude(self, text: str) -> tuple[CaseRecord, Conclusions]:
        case = case_from_text(text, "this case", self.rulebase)
        if case.sheet_id not in self._engines:
            self._engines[case.sheet_id] = engine_for(self.rulebase, case.sheet)
        return case, conclude(case, self.rulebase, self._engines[case.sheet_id])

    def _ground(self, case: CaseRecord, concluded: Conclusions) -> Ground:
        shifts, excluded = rate_changes(concluded, self.rulebase)
        extents = extents_seen(concluded)
        key = (
            case.layout,
            case.drive,
            tuple(sorted((name, str(value)) for name, value in concluded.context.items())),
            tuple(shifts),
            tuple(excluded),
            tuple(sorted(extents.items())),
        )
        if self._network is None or self._network[0] != key:
            ground = ground_network(
                self.rulebase, case.layout, case.drive, context=concluded.context, shifts=shifts, excluded=excluded,
                extents=extents,
            )  # fmt: skip
            self._network = key, ground
        return self._network[1]

    def _question(self, row: NextCheck, now: tuple[str, ...], aside: tuple[str, ...]) -> Question:
        entry = self.rulebase.checks[row.check]
        why = [f"So far: {now[0]}" + (f"; then {now[1]}" if len(now) > 1 else "")]
        if row.first_for:
            why.append(f"It {comes_first(row)}.")
        elif row.gain_bits:
            least = "at least " if row.gain_is == "at-least" else ""
            why.append(f"It is expected to tell {least}{row.gain_bits:.2f} bits in {row.minutes:g} min.")
        else:
            why.append(f"{row.asks[0].upper()}{row.asks[1:]}.")
        for one in telling(row):
            moved = f"{one.moves_words} {percent(one.moves_from)} -> {percent(one.moves_to)}"
            why.append(f"If {one.result} ({percent(one.probability)}): {moved}")
        if entry.needs:
            why.append(f"Needs: {'; '.join(entry.needs)}")
        why += [f"Before: {text}" for text in entry.preconditions]
        why += [f"Caution: {text}" for text in entry.cautions]  # before the person says that it is done
        helps = [f"Caution: {text}" for text in entry.cautions]
        helps += [f"{number}. {text}" for number, text in enumerate(entry.steps, 1)]
        helps.append("One bit is what an even yes-or-no question tells when it is answered.")
        return Question(
            f"check/{row.check}/{_key(row)}",
            "What still matters",
            f"{row.name}, {row.place_words} ({row.minutes:g} min). Can you do it?",
            CHECK_CHOICES,
            why=(*why, *aside),
            help=tuple(helps),
        )


def _case_text(draft: Draft) -> str:
    """What a draft holds as a case, without what was asked so far."""
    return as_text(Draft(draft.data))


def _key(row: NextCheck) -> str:
    return Place(unit=row.unit or "", axle=row.axle or "").key


def _within(at: Place, place: Place) -> bool:
    if place.unit:
        return at.unit == place.unit
    if place.axle:
        return place.axle in (at.axle, axle_of(at.unit) if at.unit else "")
    return True
