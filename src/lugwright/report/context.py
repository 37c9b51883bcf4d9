"""What the machine and its work said about a cause before any sign was weighed: the rules that moved it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lugwright.diagnosis import Diagnosis, RankedCause, StepShown
from lugwright.places import Place, place_from_key

#: How a step names what it did to a cause, and the words that make one less likely.
SHIFT = "shift"
LESS = ("nearly-ruled-out", "much-less-likely", "less-likely")


@dataclass(frozen=True)
class Moved:
    """One rule that made a cause more or less likely beforehand. word: of the scale, as it is said."""

    speaks: Literal["for", "against"]
    word: str
    step: StepShown

    @property
    def words(self) -> str:
        """As people read it: how far, the rule by its name, and what it rests on in this case."""
        used = f", from {'; '.join(self.step.used)}" if self.step.used else ""
        return f"{self.word}: {self.step.name or self.step.rule}{used}"


def moved_by(answer: Diagnosis, cause: RankedCause) -> tuple[Moved, ...]:
    """The rules that moved a cause at its place, in the order of their firing."""
    found = []
    for step in answer.steps:
        for text in step.concluded:
            kind, _, rest = text.partition(" ")
            word, _, rest = rest.partition(" ")
            name, _, place = rest.partition(" ")[0].partition("@")
            if kind == SHIFT and name == cause.cause and _covers(place, cause.place):
                found.append(Moved("against" if word in LESS else "for", word.replace("-", " "), step))
    return tuple(found)


def _covers(key: str, place: Place) -> bool:
    """Whether a rule that speaks of one place speaks of this one too; empty: of every place."""
    try:
        wanted = place_from_key(key) if key else Place()
    except ValueError:
        return False
    pairs = (
        (wanted.unit, place.unit), (wanted.axle, place.axle), (wanted.side, place.side), (wanted.hand, place.hand),
    )  # fmt: skip
    return all(not named or named == there for named, there in pairs)
