"""Parts of entries in plain words: values, texts that were reworded, places of signs, conditions and conclusions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

_SIDES = {"same": "same side", "opposite": "opposite side", "both": "both sides", "either": "either side"}
_COMPARE = {"above": "above", "below": "below", "at_least": "at least", "at_most": "at most", "is": "is"}
_SHORT = 70


def value_words(value: Any) -> str:
    """A value of any kind as a person would say it.

    >>> value_words(True), value_words(None), value_words(["a", "b"]), value_words(2.50)
    ('yes', 'nothing', 'a, b', '2.5')
    """
    if value is None or value == "" or value == [] or value == {}:
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {value_words(item)}" for key, item in value.items() if item not in (None, "", [], {}))
    if isinstance(value, (list, tuple)):
        return ", ".join(value_words(item) for item in value)
    return " ".join(str(value).split())


def from_to(old: Any, new: Any) -> str:
    """`old -> new`; of long texts only the part that differs, with a few words round it.

    >>> from_to("rarely", "often")
    'rarely -> often'
    """
    before, after = value_words(old), value_words(new)
    if max(len(before), len(after)) <= _SHORT:
        return f"{before} -> {after}"
    one, two = before.split(), after.split()
    least = min(len(one), len(two))
    head = next((i for i in range(least) if one[i] != two[i]), least)
    most = least - head
    tail = next((i for i in range(most) if one[-1 - i] != two[-1 - i]), most)
    return f"{_part(one, head, tail)} -> {_part(two, head, tail)}"


def _part(words: list[str], head: int, tail: int) -> str:
    start, stop = max(0, head - 3), min(len(words), len(words) - tail + 3)
    cut = " ".join(words[start:stop])
    return f'"{"... " if start else ""}{cut}{" ..." if stop < len(words) else ""}"'


def where_words(show: Mapping[str, Any]) -> str:
    """Where and when a sign of a cause is seen; empty for a sign that is simply there.

    >>> where_words({"side": "inboard", "units": None, "given": {"travel": "mostly-forward"}})
    'side inboard, when travel is mostly-forward'
    """
    side, units = show.get("side"), show.get("units")
    parts = [_SIDES.get(side, f"side {side}")] if side else []
    parts += [f"on {units} units"] if units else []
    parts += [f"{show['layout']} only"] if show.get("layout") else []
    parts += [f"{show['drive']} drive only"] if show.get("drive") else []
    parts += [f"when {name} is {answer}" for name, answer in sorted(show.get("given", {}).items())]
    parts += [f"unless {name} is {answer}" for name, answer in sorted(show.get("unless", {}).items())]
    return ", ".join(parts)


def _at(part: Mapping[str, Any]) -> str:
    places = [f"{slot} {part[slot]}" for slot in ("unit", "axle", "side", "hand", "other") if part.get(slot)]
    extent = f", extent {part['extent']}" if part.get("extent") else ""
    return (f" at {', '.join(places)}" if places else "") + extent


def _tests(part: Mapping[str, Any]) -> str:
    return " and ".join(f"{word} {part[key]}" for key, word in _COMPARE.items() if part.get(key) is not None)


def part_words(part: Mapping[str, Any]) -> str:
    """One condition or conclusion of a rule.

    >>> part_words({"seen": "hub-hot", "unit": "$unit"}), part_words({"context": "belt-hours", "below": "20 h"})
    ('hub-hot is seen at unit $unit', 'belt-hours below 20 h')
    >>> part_words({"cause": "toe-in-error", "becomes": "likelier", "axle": "$axle"})
    'toe-in-error becomes likelier at axle $axle'
    """
    at = _at(part)
    if "seen" in part:
        return f"{part['seen']} is seen{at}"
    if "absent" in part:
        return f"{part['absent']} is looked for and absent{at}"
    if "context" in part:
        return f"{part['context']} {_tests(part)}"
    if "reading" in part:
        fields = [f"{name} {_tests(tests)}" for name, tests in sorted((part.get("with") or {}).items())]
        return f"a reading of {part['reading']}{at}{' with ' if fields else ''}{', '.join(fields)}"
    if "machine" in part:
        return f"{part['machine']} of the machine {_tests(part)}"
    if "void" in part:
        return f"readings of {part['void']} are void{at}"
    if "relation" in part:
        return f"{part['relation']} holds{at}"
    if "finding" in part:
        return f"{part['finding']} is {part['is']}{at}"
    if "cause" in part:
        return f"{part['cause']} becomes {part['becomes']}{at}"
    if "excludes" in part:
        return f"{part['excludes']} is ruled out{at}"
    if "voids" in part:
        return f"readings of {part['voids']} become void{at}"
    said = "; ".join(str(part[key]) for key in ("limit", "number", "work") if part.get(key))
    return f"verdict {part['verdict']}{at}{': ' if said else ''}{said}"


def part_subject(part: Mapping[str, Any]) -> tuple[str, str]:
    """What a condition or conclusion is about: its kind and its first id."""
    return next((key, str(part[key])) for key in _SUBJECTS if key in part)


_SUBJECTS = (
    "seen",
    "absent",
    "context",
    "reading",
    "machine",
    "void",
    "relation",
    "finding",
    "cause",
    "excludes",
    "voids",
    "verdict",
)
