"""What an entry of the rule base says, in the words of the book. Everything here is plain text, not yet escaped."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from lugwright.places import DRIVES
from lugwright.report.book.markdown import listed

if TYPE_CHECKING:
    from lugwright.rulebase.base import RuleBase
    from lugwright.rulebase.schema import Cause, Shows, Symptom

_SCOPES = {
    "unit": "One unit, that is one belt and its frame",
    "axle": "An axle with both of its units",
    "machine": "The whole machine",
}
_POINTS = {
    "side": "it points to one side of the unit, inboard or outboard",
    "hand": "it points to one hand of the machine, left or right as seen facing forward",
}
_SIDES = {
    "same": "own side", "opposite": "other side", "both": "both sides", "either": "one side or the other",
    "inboard": "inboard side", "outboard": "outboard side",
}  # fmt: skip
_HANDS = {"same": "side toward that hand, on", "opposite": "side away from that hand, on"}
_HOME = {"unit": "its unit", "axle": "both its units", "machine": "every unit"}
_UNITS = {
    "partner": "the partner unit", "all": "every unit", "front": "the front units (of a four-track)",
    "rear": "the rear units (of a four-track)", "same-hand": "the units on that hand",
    "opposite-hand": "the units on the other hand",
}  # fmt: skip


def plain(word: str) -> str:
    """A word or id as it is said.

    >>> plain("almost-always"), plain("limit-use")
    ('almost always', 'limit use')
    """
    return word.replace("-", " ")


def acts_words(cause: Cause) -> str:
    """Where a cause acts, and what its side or hand means."""
    said = _SCOPES[cause.acts_on]
    if cause.oriented == "none":
        return f"{said}."
    meaning = f": {cause.points}" if cause.points else ""
    return f"{said}; {_POINTS[cause.oriented]}{meaning}."


def before_words(cause: Cause, rulebase: RuleBase) -> str:
    """How common a cause is before anything is looked at, with the figure behind the word."""

    def figure(word: str) -> str:
        if cause.harmless:
            return f"{word} (there on {100 * rulebase.scales.normal.get(word, 0):g} of 100 machines)"  # type: ignore[call-overload]
        return f"{word} (weight {rulebase.scales.beforehand[word]:g})"  # type: ignore[index]

    others = [f"on a {layout} {figure(word)}" for layout, word in cause.rarer_on.items()]
    harmless = " Normal on a sound machine, so it counts as no fault." if cause.harmless else ""
    return f"{listed([figure(cause.beforehand), *others], 'but')}.{harmless}"


def exists_words(entry: Cause | Symptom) -> str:
    """On which machines an entry exists; empty where that is all of them."""
    layouts = f"on a {entry.layouts[0]}" if len(entry.layouts) == 1 else ""
    drives = drive_words(entry.drives) if len(entry.drives) < len(DRIVES) else ""
    said = " ".join(part for part in (layouts, drives) if part)
    return f"only {said}" if said else ""


def drive_words(drives: Sequence[str]) -> str:
    """With which drives.

    >>> drive_words(("friction", "positive")), drive_words(("none",))
    ('with friction or positive drive', 'without a drive')
    """
    driven = [drive for drive in drives if drive != "none"]
    said = [f"with {listed(driven, 'or')} drive"] if driven else []
    return listed([*said, *(["without a drive"] if "none" in drives else [])], "or")


def place_words(show: Shows, symptom: Symptom, cause: Cause) -> str:
    """Where a sign of a cause is seen, seen from the place of the cause."""
    if symptom.where == "machine":
        return "the machine as a whole"
    units = _HOME[cause.acts_on] if show.units in (None, "own") else _UNITS[show.units or ""]
    if symptom.where == "axle":
        return {"unit": "the axle of the unit", "axle": "the axle", "machine": "every axle"}[cause.acts_on]
    if symptom.where == "unit" or show.side is None:
        return units
    by_hand = cause.oriented == "hand" and show.side in _HANDS
    return f"{_HANDS[show.side]} {units}" if by_hand else f"{_SIDES[show.side]} of {units}"


def only_words(show: Shows, symptom: Symptom, rulebase: RuleBase) -> str:
    """When a sign of a cause is to be expected at all; empty where nothing limits it."""
    parts = [f"only on a {show.layout}"] if show.layout else []
    parts += [f"only {drive_words([show.drive])}"] if show.drive else []
    parts += [f"only while {answer_words(rulebase, name, one)}" for name, one in show.given.items()]
    parts += [f"not while {answer_words(rulebase, name, one)}" for name, one in show.unless.items()]
    exists = exists_words(symptom)
    parts += [f"the sign exists {exists}"] if exists else []
    parts += [f"confidence {show.confidence}"] if show.confidence else []
    return "; ".join(parts)


def answer_words(rulebase: RuleBase, name: str, answer: str) -> str:
    """An answer about the machine or its work.

    name, answer: ids; the fact is said by its name.
    """
    fact = rulebase.context.get(name)
    return f"{quoted(fact.name if fact else plain(name))} is {plain(answer)}"


def quoted(name: str) -> str:
    """A name inside a sentence."""
    return f"“{name}”"


def number_words(text: str) -> str:
    """A quantity, or the number of the machine sheet with what holds without one.

    >>> number_words("sheet:shim-thickness else 6 mm"), number_words("8 K")
    ('the shim thickness of the machine sheet (6 mm without one)', '8 K')
    """
    if not text.startswith("sheet:"):
        return text
    name, _, other = text.removeprefix("sheet:").partition(" else ")
    return f"the {plain(name.strip())} of the machine sheet" + (f" ({other.strip()} without one)" if other else "")
