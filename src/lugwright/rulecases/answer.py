"""What came out of a case, as far as a case beside the rules can ask for it. Nothing is weighed that is not asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from lugwright.belief.ground import Key, covers
from lugwright.chaining.conclude import Conclusions
from lugwright.places import Place, place_from_key

if TYPE_CHECKING:
    from lugwright.diagnosis import VerdictShown
    from lugwright.rulebase.load import RuleBase


@dataclass(frozen=True)
class Answer:
    """What the rules and the network say about one case.

    order:     (cause, place), likeliest first, of every cause this machine can have; likely: the probability of each.
    undecided: None unless it was asked for. checks: next checks, first the best; empty unless they were asked for.
    """

    order: tuple[Key, ...]
    likely: Mapping[Key, float]
    no_fault: float
    undecided: bool | None
    verdict: VerdictShown
    checks: tuple[str, ...]
    concluded: Conclusions

    @property
    def fired(self) -> frozenset[str]:
        """Rules that fired."""
        return frozenset(step.rule for step in self.concluded.steps)

    @property
    def seen(self) -> frozenset[str]:
        """Symptoms seen anywhere, as written or as a rule concluded."""
        return frozenset(one.symptom for one in self.concluded.findings if one.state == "seen")

    def probability(self, text: str) -> float:
        """Of `cause@place` the probability at the likeliest place that fits; 0 where none does."""
        return max((p for key, p in self.likely.items() if fits(text, key)), default=0.0)


def fits(text: str, key: Key) -> bool:
    """Whether `cause` or `cause@place` names this cause at this place.

    >>> front_right = Place(unit="front-right", side="inboard")
    >>> [fits(text, ("bent-frame-or-axle", front_right))
    ...  for text in ("bent-frame-or-axle", "bent-frame-or-axle@front-right", "bent-frame-or-axle@front-left")]
    [True, True, False]
    """
    cause, mark, place = text.partition("@")
    return cause == key[0] and (not mark or covers(place_from_key(place), key[1]))


def cause_words(key: Key, rulebase: RuleBase) -> str:
    """A cause with its place, in plain words and with the id a trainer writes."""
    cause, place = key
    at = "" if place == Place() else f", {place.words}"
    return f"{rulebase.causes[cause].name}{at} ({cause}{'' if place == Place() else '@' + place.key})"
