"""What the machine and its work said about a cause before any sign was weighed: the rules that moved it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lugwright.diagnosis import Diagnosis, RankedCause, StepShown
from lugwright.places import Place, covers, place_from_key
from lugwright.rulebase.words import LESS_LIKELY

#: How a step names what it did to a cause.
SHIFT = "shift"


@dataclass(frozen=True)
class Moved:
    """One rule that made a cause more or less likely beforehand. word: of the scale, as it is said."""

    speaks: Literal["for", "against"]
    word: str
    step: StepShown

    @property
    def words(self) -> str:
        """As people read it: how far, the rule by its name, and what it rests on in this case."""
        said = [one for one in self.step.used_words or self.step.used if one]
        used = f", from {'; '.join(said)}" if said else ""
        return f"{self.word}: {self.step.name or self.step.rule}{used}"


def moved_by(answer: Diagnosis, cause: RankedCause) -> tuple[Moved, ...]:
    """The rules that moved a cause at its place, in the order of their firing."""
    found = []
    for step in answer.steps:
        for text in step.concluded:
            kind, _, rest = text.partition(" ")
            word, _, rest = rest.partition(" ")
            name, _, place = rest.partition(" ")[0].partition("@")
            if kind == SHIFT and name == cause.cause and _here(place, cause.place):
                found.append(Moved("against" if word in LESS_LIKELY else "for", word.replace("-", " "), step))
    return tuple(found)


def _here(key: str, place: Place) -> bool:
    """Whether a rule that speaks of one place speaks of this one too; empty: of every place."""
    try:
        return covers(place_from_key(key) if key else Place(), place)
    except ValueError:
        return False
