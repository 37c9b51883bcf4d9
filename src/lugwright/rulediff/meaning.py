"""An entry reduced to what it means: two entries with the same meaning compare equal however they are written.

Order counts only where it tells a person what to do first (`steps`) and where it ranks (`probability_words`). White
space, the order of keys and lists, a default that is written out, and the unit a number is written in do not count.
"""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import BaseModel

from lugwright.quantities import kinds_of, parse

ORDERED = ("steps", "probability_words")
NUMBERS = ("above", "below", "at_least", "at_most", "value")
_SHEET = re.compile(r"sheet:(\S+)(?:\s+else\s+(.+))?$")
_MOST_VARIABLES = 6  # 720 ways to pair them; the rules of the trade need two


def plain(entry: BaseModel) -> dict[str, Any]:
    """An entry as plain data, keys as they are written, defaults filled in."""
    data: dict[str, Any] = entry.model_dump(mode="json", by_alias=True)
    scope = data.get("acts_on")
    for show in (*data.get("shows", ()), *data.get("never_shows", ())) if scope else ():
        if show["units"] == "own" or (show["units"] == "all" and scope == "machine"):
            show["units"] = None
    return data


def same(old: Any, new: Any, field: str = "") -> bool:
    """Whether two values of a field mean the same.

    >>> same("6 mm", "0.6 cm", "above"), same(["a", "b"], ["b", "a"]), same(["a", "b"], ["b", "a"], "steps")
    (True, True, False)
    """
    return mark(old, field) == mark(new, field)


def mark(value: Any, field: str = "") -> str:
    """A text that is equal for values of the same meaning."""
    return json.dumps(_reduced(value, field), sort_keys=True, ensure_ascii=True)


def _reduced(value: Any, field: str) -> Any:
    if isinstance(value, str):
        return number(value) if field in NUMBERS else " ".join(value.split())
    if isinstance(value, Mapping):
        return {key: _reduced(item, key) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        items = [_reduced(item, "") for item in value]
        return items if field in ORDERED else sorted(items, key=lambda item: json.dumps(item, sort_keys=True))
    return value


def number(text: str) -> str:
    """A quantity in base units, so that it does not matter which unit it is written in.

    >>> number("6 mm") == number("0.6 cm"), number("sheet:toe-limit  else 6 mm") == number("sheet:toe-limit else 6mm")
    (True, True)
    """
    text = " ".join(text.split())
    named = _SHEET.match(text)
    if named:
        return f"sheet:{named[1]} else {number(named[2]) if named[2] else 'nothing'}"
    return " ".join(f"{kind}={parse(text, kind):.9g}" for kind in kinds_of(text)) or text


def variables(value: Any) -> list[str]:
    """The place variables of a rule, such as `$unit`, each once, in the order of their names."""
    if isinstance(value, str):
        return [value] if value.startswith("$") else []
    inner = value.values() if isinstance(value, Mapping) else value if isinstance(value, (list, tuple)) else ()
    return sorted({name for item in inner for name in variables(item)})


def with_names_of(old: Mapping[str, Any], new: Mapping[str, Any]) -> Mapping[str, Any]:
    """The old rule with its variables called as in the new one, paired so that as much as possible is the same."""
    known, wanted = variables(old), variables(new)
    if not known or len(known) != len(wanted) or len(known) > _MOST_VARIABLES:
        return old
    parts = ("when", "unless", "then")
    targets = {part: [mark(item) for item in new[part]] for part in parts}
    best, most = old, -1
    for order in _pairings(known, wanted):
        called: Mapping[str, Any] = _renamed(old, dict(zip(known, order, strict=True)))
        alike = sum(mark(item) in targets[part] for part in parts for item in called[part])
        if alike > most:
            best, most = called, alike
    return best


def _pairings(known: list[str], wanted: list[str]) -> Iterator[tuple[str, ...]]:
    """Every way to pair the names; those that keep names that both know come first."""
    return iter(
        sorted(itertools.permutations(wanted), key=lambda p: -sum(a == b for a, b in zip(known, p, strict=True)))
    )


def _renamed(value: Any, names: Mapping[str, str]) -> Any:
    if isinstance(value, str):
        return names.get(value, value)
    if isinstance(value, Mapping):
        return {key: _renamed(item, names) for key, item in value.items()}
    return [_renamed(item, names) for item in value] if isinstance(value, (list, tuple)) else value
