"""What came out of a case, as far as a case beside the rules can ask for it. Nothing is weighed that is not asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from lugwright.belief.ground import Key
from lugwright.chaining.conclude import Conclusions
from lugwright.places import Place, covers, place_from_key

if TYPE_CHECKING:
    from lugwright.diagnosis import VerdictShown
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulecases.schema import Expect


@dataclass(frozen=True)
class Answer:
    """What the rules and the network say about one case; what was not asked for stands empty.

    order:  (cause, place), likeliest first, of every cause this machine can have; likely: the probability of each.
    checks: next checks, first the best.
    """

    concluded: Conclusions
    verdict: VerdictShown
    order: tuple[Key, ...] = ()
    likely: Mapping[Key, float] = field(default_factory=dict)
    no_fault: float | None = None
    undecided: bool | None = None
    checks: tuple[str, ...] = ()

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


def asks_how_likely(expect: Expect) -> bool:
    """Whether anything but what the rules conclude is expected; if not, no probability is worked out."""
    asked = (expect.first, expect.among_first, expect.no_fault, expect.undecided, expect.next_check)
    listed = (expect.not_first, expect.at_least, expect.at_most)
    return any(one is not None for one in asked) or any(listed)


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
