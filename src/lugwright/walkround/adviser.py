"""What the walk-round asks of the rules and the network."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from lugwright.places import Place
from lugwright.walkround.draft import Draft
from lugwright.walkround.question import Question, Stop

if TYPE_CHECKING:
    from lugwright.diagnosis import Reason

Key = tuple[str, Place]


class Adviser(Protocol):
    """What the script asks of the rules and the network."""

    def following(self, draft: Draft, skipped: tuple[str, ...]) -> Question | Stop:
        """The next question after the walk, or why there is none."""

    def open_signs(self, draft: Draft, check: str, place: Place) -> tuple[Key, ...]:
        """The signs a check settles at a place and that are not known yet."""

    def warnings(self, draft: Draft) -> tuple[Reason, ...]:
        """What stops the machine or limits its use by what is written so far, the most severe first."""

    def refusal(self, draft: Draft) -> str:
        """Why a draft cannot be a case, in a sentence; nothing where it can."""
