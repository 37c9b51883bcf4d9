"""A case with what the rules and the network make of it, kept so that several questions can be asked about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lugwright.belief.ground import Ground
from lugwright.belief.judge import Judgement, judge
from lugwright.chaining.conclude import Conclusions, conclude
from lugwright.plan.machine import known_signs, machine_network
from lugwright.plan.undecided import NO_FAULT
from lugwright.prospects import Standing
from lugwright.summing_up import refused

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.chaining.engine import Engine
    from lugwright.rulebase.load import RuleBase

SOUND_WORDS = "No fault beyond normal wear"
#: Standings below this are not listed.
LISTED = 0.03


@dataclass(frozen=True, eq=False)
class Insight:
    """One case, what the rules concluded, its network, and how likely everything is."""

    case: CaseRecord
    rulebase: RuleBase
    concluded: Conclusions
    ground: Ground
    judgement: Judgement

    def standings(self, top: int = 6) -> tuple[Standing, ...]:
        """The ranking with "no fault" in its place; at least one line."""
        rows = [
            Standing(
                cause=f"{one.cause[0]}@{one.cause[1].key}",
                words=f"{self.rulebase.causes[one.cause[0]].name} ({one.cause[1].words})",
                probability=round(one.probability, 6),
                word=self.rulebase.scales.word_for(one.probability),
            )
            for one in self.judgement.leaders
        ]
        sound = self.judgement.no_fault
        rows.append(
            Standing(
                cause=NO_FAULT,
                words=SOUND_WORDS,
                probability=round(sound, 6),
                word=self.rulebase.scales.word_for(sound),
            )
        )
        rows.sort(key=lambda one: (-one.probability, one.cause != NO_FAULT, one.cause))
        return tuple(one for at, one in enumerate(rows[:top]) if at == 0 or one.probability >= LISTED)


def insight(case: CaseRecord, rulebase: RuleBase, *, engine: Engine | None = None, tolerance: float = 1e-9) -> Insight:
    """Chain the rules over a case and work out its posterior, without what each finding is worth.

    engine: as for `conclude`. Raises UnusableInput when the findings cannot hold together.
    """
    concluded = conclude(case, rulebase, engine)
    ground = machine_network(case, rulebase, concluded)
    with refused(case, rulebase):
        judgement = judge(ground, *known_signs(concluded), tolerance=tolerance, weigh=False)
    return Insight(case, rulebase, concluded, ground, judgement)
