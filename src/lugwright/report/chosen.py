"""Which causes and signs a view of the reasoning shows: one cause that was asked for, or the leaders."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from lugwright.diagnosis import Diagnosis, Edge, RankedCause, StepShown

MOST_SIGNS = 16
#: Firings of rules that are drawn for one sign.
MOST_RULES = 2


@dataclass(frozen=True)
class Drawn:
    """What goes into the picture: the causes, and the edges worth drawing to each.

    signs_left:  how many signs that bear on these causes are left out. causes_left: how many listed causes are.
    others_left: how many seen signs stand nowhere in the picture because they bear on none of these causes.
    """

    causes: tuple[RankedCause, ...]
    edges: tuple[Edge, ...]
    signs_left: int = 0
    causes_left: int = 0
    others_left: int = 0

    @property
    def left_words(self) -> str:
        """What is left out, as a sentence without its stop; empty where everything is there.

        >>> Drawn((), (), 3, 1).left_words
        'left out: 3 signs that weigh less, 1 cause that is less likely'
        >>> Drawn((), (), others_left=2).left_words
        'left out: 2 seen signs that bear on none of these causes'
        """
        parts = [
            f"{count} {name}{'' if count == 1 else 's'} that {verb if count > 1 else verb_one}"
            for count, name, verb, verb_one in (
                (self.signs_left, "sign", "weigh less", "weighs less"),
                (self.others_left, "seen sign", "bear on none of these causes", "bears on none of these causes"),
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
    shown = {*found, *_behind(answer, signs)}
    others = [one for one in answer.findings if one.state == "seen" and one.key not in shown]
    return Drawn(
        tuple(leaders),
        tuple(edge for edge in every if edge.finding in signs),
        signs_left=len(found) - len(signs),
        causes_left=0 if cause else len(answer.ranked) - len(leaders),
        others_left=len(others),
    )


def rules_behind(answer: Diagnosis, sign: str) -> tuple[StepShown, ...]:
    """The firings drawn for a sign that rules concluded: the first two."""
    found = [step for step in answer.steps if any(fact.split(" ")[0] == sign for fact in step.concluded)]
    return tuple(found[:MOST_RULES])


def _behind(answer: Diagnosis, signs: Iterable[str]) -> set[str]:
    """Findings that stand in the picture as what such a rule used."""
    steps = (step for sign in signs for step in rules_behind(answer, sign))
    return {used.split(" ")[0] for step in steps for used in step.used}
