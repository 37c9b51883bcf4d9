"""For which cause, and where, a job card is made: the first ranked one with a procedure, or the one that was named."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.diagnosis import Diagnosis, RankedCause
from lugwright.issues import did_you_mean
from lugwright.places import AXLES, UNITS, Place, place_from_key

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import Cause


class NoCard(Exception):
    """There is no card for what was asked; the message says why and what there is."""


def chosen_cause(answer: Diagnosis, rulebase: RuleBase, cause: str | None) -> RankedCause:
    """The first ranked cause that has a procedure, or the named one (`cause` or `cause@place`), ranked or not.

    Raises NoCard as `lugwright.plan.jobcard.job_card` does.
    """
    if cause is None:
        if answer.ranked and answer.no_fault >= answer.ranked[0].probability:
            raise NoCard(
                "no fault beyond normal wear is likelier than any cause; name a cause with --cause to see its card"
            )
        for one in answer.ranked:
            if rulebase.causes[one.cause].procedure:
                return one
        raise NoCard("no ranked cause of this case has a procedure")
    named = [one for one in answer.ranked if cause in (one.cause, one.key)]
    if named:
        return named[0]
    name, at, key = cause.partition("@")
    entry = rulebase.causes.get(name)
    if entry is None:
        known = ", ".join(dict.fromkeys(one.cause for one in answer.ranked))
        meant = did_you_mean(name, rulebase.causes)
        raise NoCard(f"there is no cause '{name[:80]}'; {f'{meant} ' if meant else ''}ranked in this case: {known}")
    if answer.layout not in entry.layouts or answer.drive not in entry.drives:
        where = f"{', '.join(entry.layouts)}; drive {', '.join(entry.drives)}"
        raise NoCard(f"'{name}' cannot act on this machine: it belongs to {where}")
    place = _named_place(entry, name, key, answer.layout) if at else _only_place(entry, answer.layout)
    words, at_place = (place.words, place) if place else ("place to be found", Place())
    return RankedCause(
        cause=name, name=entry.name, unit=at_place.unit or None, axle=at_place.axle or None, side=at_place.side or None,
        place_words=words, probability=0.0, word="not ranked", mild=0.0, prior=0.0,
    )  # fmt: skip


def _only_place(entry: Cause, layout: str) -> Place | None:
    """Where an unranked cause acts if there is only one such place on this machine; else None."""
    if entry.acts_on == "machine":
        return Place()
    axles = AXLES[layout]
    return Place(axle=axles[0]) if entry.acts_on == "axle" and len(axles) == 1 else None


def _named_place(entry: Cause, name: str, key: str, layout: str) -> Place:
    """The place a person named for an unranked cause. Raises NoCard where it cannot act there."""
    try:
        place = place_from_key(key)
    except ValueError as problem:
        raise NoCard(str(problem)) from None
    here = {"unit": UNITS[layout], "axle": AXLES[layout], "machine": ("",)}[entry.acts_on]
    if place.scope != entry.acts_on or (place.unit or place.axle) not in here:
        kinds = {"unit": here, "axle": tuple(f"{axle}-axle" for axle in here), "machine": ("machine",)}
        raise NoCard(f"'{name}' does not act at '{key[:40]}'; one of: {', '.join(kinds[entry.acts_on])}")
    return place
