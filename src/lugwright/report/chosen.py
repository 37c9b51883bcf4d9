"""Which causes and signs a view of the reasoning shows: one cause that was asked for, or the leaders."""

from __future__ import annotations

from dataclasses import dataclass

from lugwright.diagnosis import Diagnosis, Edge, RankedCause

MOST_SIGNS = 16


@dataclass(frozen=True)
class Drawn:
    """What goes into the picture: the causes, and the edges worth drawing to each.

    signs_left, causes_left: how many signs that bear on these causes, and how many listed causes, are left out.
    """

    causes: tuple[RankedCause, ...]
    edges: tuple[Edge, ...]
    signs_left: int = 0
    causes_left: int = 0

    @property
    def left_words(self) -> str:
        """What is left out, as a sentence without its stop; empty where everything is there.

        >>> Drawn((), (), 3, 1).left_words
        'left out: 3 signs that weigh less, 1 cause that is less likely'
        """
        parts = [
            f"{count} {name}{'' if count == 1 else 's'} that {verb if count > 1 else verb_one}"
            for count, name, verb, verb_one in (
                (self.signs_left, "sign", "weigh less", "weighs less"),
                (self.causes_left, "cause", "are less likely", "is less likely"),
            )
            if count
        ]
        return f"left out: {', '.join(parts)}" if parts else ""


def chosen(answer: Diagnosis, cause: str | None = None) -> Drawn:
    """The causes and edges to draw: one cause, or the leaders; the weightiest signs first.

    cause: a cause id, or cause@place. Raises ValueError naming the causes at hand when it is not among them.
    """
    leaders = [one for index, one in enumerate(answer.ranked[:4]) if index == 0 or one.probability >= 0.05]
    if cause:
        named = [one for one in answer.ranked if cause in (one.cause, one.key)]
        if not named:
            places = [one.key for one in answer.ranked if one.cause == cause.split("@")[0]]
            known = ", ".join(places or dict.fromkeys(one.cause for one in answer.ranked))
            raise ValueError(f"'{cause}' is not among the ranked causes of this case: {known}")
        leaders = named[:2]
    keys = {one.key for one in leaders}
    every = sorted((e for e in answer.edges if e.cause in keys), key=lambda e: (-abs(e.worth), e.finding, e.cause))
    found = list(dict.fromkeys(edge.finding for edge in every))
    signs = found[:MOST_SIGNS]
    return Drawn(
        tuple(leaders),
        tuple(edge for edge in every if edge.finding in signs),
        signs_left=len(found) - len(signs),
        causes_left=0 if cause else len(answer.ranked) - len(leaders),
    )
