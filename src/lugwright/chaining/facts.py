"""Facts as plain frozen values, in one order and one spelling.

A value is text, a number or a truth value. Whole and decimal numbers are one type here (`1` equals `1.0`), a truth
value never equals a number, and "not a number" is refused because it equals nothing, not even itself.
"""

from __future__ import annotations

import enum
import json
import re
from dataclasses import dataclass
from functools import cache

Value = str | int | float | bool


class Truth(enum.Enum):
    """How a fact keeps a truth value: Python's own `True` equals `1.0`, and so would match it."""

    FALSE = "false"
    TRUE = "true"


Kept = str | float | Truth
"""A value as facts and rules keep it."""

_WORD = re.compile(r"[A-Za-z][A-Za-z0-9_.-]*")
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9]*([_-][A-Za-z0-9]+)*")
NAME_HINT = "a name starts with a letter and has letters, digits, single '-' or '_'"


def kept(value: Value | Truth) -> Kept:
    """A value as facts keep it. ValueError for anything that is not text, a number or a truth value, and for NaN.

    >>> kept(6), kept("toe"), kept(True)
    (6.0, 'toe', <Truth.TRUE: 'true'>)
    """
    if isinstance(value, str):
        return value if type(value) is str else str.__str__(value)
    if isinstance(value, bool):
        return Truth.TRUE if value else Truth.FALSE
    if isinstance(value, Truth):
        return value
    if not isinstance(value, (int, float)):
        raise ValueError(f"{value!r} is neither text, a number nor a truth value")
    number = float(value)
    if number != number:
        raise ValueError("'not a number' cannot be a value: it equals nothing, not even itself")
    return number + 0.0  # so that -0.0 and 0.0, which are equal, also print alike


def plain(value: Kept) -> Value:
    """The value as Python knows it: the opposite of `kept`."""
    return value is Truth.TRUE if isinstance(value, Truth) else value


def shown(value: object) -> str:
    """A value in a line of text; text that is not a plain word stands in quotes, so no two values look alike.

    >>> shown(6.0), shown("toe"), shown("6.0"), shown(Truth.TRUE), shown("true")
    ('6.0', 'toe', '"6.0"', 'true', '"true"')
    """
    if isinstance(value, str):
        known = value in ("true", "false", "inf", "nan") or not _WORD.fullmatch(value)
        return json.dumps(value, ensure_ascii=False) if known else value
    if isinstance(value, Truth):
        return value.value
    return repr(value)


@cache
def good_name(name: str) -> bool:
    """Whether a text can name a kind or a field."""
    return bool(_NAME.fullmatch(name))


def _order(value: Kept) -> tuple[int, float, str]:
    if isinstance(value, str):
        return (2, 0.0, value)
    return (0, 0.0, value.value) if isinstance(value, Truth) else (1, value, "")


@dataclass(frozen=True)
class Fact:
    """Something that holds: a kind and named values. Fields are sorted; equal facts are one fact.

    Make one with `fact`. `fields` holds values as `kept` gives them; `get` and `as_dict` give them back plain.
    """

    kind: str
    fields: tuple[tuple[str, Value | Truth], ...] = ()

    def __post_init__(self) -> None:
        names = sorted(name for name, _ in self.fields)
        for name in (self.kind, *names):
            if not good_name(name):
                raise ValueError(f"{name!r} cannot name a kind or a field of a fact: {NAME_HINT}")
        if len(set(names)) < len(names):
            raise ValueError(f"{self.kind}: a fact has each field once, but was given {', '.join(names)}")
        object.__setattr__(self, "fields", tuple(sorted((name, kept(value)) for name, value in self.fields)))

    @classmethod
    def trusted(cls, kind: str, fields: tuple[tuple[str, Kept], ...]) -> Fact:
        """A fact of fields that are sorted and kept already; nothing is checked."""
        made = object.__new__(cls)
        made.__dict__.update(kind=kind, fields=fields)
        return made

    def get(self, name: str) -> Value | None:
        """The value of a field, or None where the fact has no such field."""
        return next((plain(kept(value)) for field, value in self.fields if field == name), None)

    def as_dict(self) -> dict[str, Value]:
        """Field names and plain values, names sorted."""
        return {name: plain(kept(value)) for name, value in self.fields}

    def __str__(self) -> str:
        return f"{self.kind}({', '.join(f'{name}={shown(value)}' for name, value in self.fields)})"


def fact(kind: str, /, **fields: Value) -> Fact:
    """A fact from named values.

    >>> str(fact("reading", total=6, check="toe"))
    'reading(check=toe, total=6.0)'
    >>> fact("reading", total=6) == fact("reading", total=6.0), fact("flag", up=True) == fact("flag", up=1)
    (True, False)
    """
    return Fact(kind, tuple(fields.items()))


def canonical(one: Fact) -> tuple[str, tuple[tuple[str, tuple[int, float, str]], ...]]:
    """The sort key that puts facts into one order, whatever order they came in."""
    return one.kind, tuple((name, _order(kept(value))) for name, value in one.fields)
