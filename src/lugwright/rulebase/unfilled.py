"""What a skeleton still leaves open: every TODO in a file, with what belongs there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from lugwright.issues import Spot
from lugwright.plain_build import Way, short
from lugwright.plain_yaml import Document
from lugwright.rulebase.key_order import Shapes
from lugwright.rulebase.meanings import meaning
from lugwright.shapes import bare, choices

TODO = re.compile(r"\bTODO\b")
WHY = "the entry came from a skeleton and is not finished; nobody must meet it like this"


@dataclass(frozen=True)
class Blank:
    """One TODO: the way to it, where it stands, what is open, and what belongs there."""

    way: Way
    spot: Spot
    what: str
    hint: str


def unfilled(document: Document, shape: Any = None, *, keyed: bool = False) -> tuple[Blank, ...]:
    """Every key and every text of a document that still says TODO, in the order of the file.

    shape: the declared shape of the file, or of each of its entries where it is `keyed` by id.

    >>> from lugwright.plain_yaml import read_plain_text
    >>> from lugwright.rulebase.schema import Cause
    >>> [blank] = unfilled(read_plain_text("a:\\n  beforehand: TODO", "a.yaml"), Cause, keyed=True)
    >>> str(blank.spot), blank.what, blank.hint
    ('a.yaml:2:15', "'beforehand' still says TODO", 'write one of: common, occasional, uncommon, rare')
    """
    found = []
    if not any("TODO" in line for line in document.lines):
        return ()
    entries: list[tuple[Way, Any]] = [((), document.data)]
    if keyed:
        entries = [((name,), entry) for name, entry in document.data.items()]
    for way, entry in entries:
        if keyed and TODO.search(str(way[0])):
            found.append(_key(document, way))
        found += _inside(document, way, entry, shape, Shapes())
    return tuple(sorted(found, key=lambda blank: blank.spot))


def _inside(document: Document, way: Way, value: Any, shape: Any, shapes: Shapes) -> Iterator[Blank]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if TODO.search(key):
                yield _key(document, (*way, key))
            below = shapes.below(shape, key, value) if shape is not None else None
            if isinstance(inner, str) and TODO.search(inner):
                model, _ = shapes.model(shape, value)
                yield _text(document, (*way, key), f"'{short(key)}'", below, meaning(model, key))
            else:
                yield from _inside(document, (*way, key), inner, below, shapes)
    elif isinstance(value, list):
        below = shapes.below(shape, None, {}) if shape is not None else None
        for n, inner in enumerate(value):
            if isinstance(inner, str) and TODO.search(inner):
                key = next((str(step) for step in reversed(way) if isinstance(step, str)), "")
                yield _text(document, (*way, n), f"an item of '{short(key)}'", below, "")
            else:
                yield from _inside(document, (*way, n), inner, below, shapes)


def _key(document: Document, way: Way) -> Blank:
    hint = "write a name in small letters, digits and hyphens"
    return Blank(way, document.key_spot(way), f"the key '{short(str(way[-1]))}' still says TODO", hint)


def _text(document: Document, way: Way, name: str, shape: Any, means: str) -> Blank:
    words = choices(bare(shape))
    hint = f"write one of: {', '.join(map(str, words))}" if words else f"write {means}" if means else "write it"
    return Blank(way, document.value_spot(way), f"{name} still says TODO", hint)
