"""The layout of a rule file, and nothing but the layout: the same content, comments and all, written the same way."""

from __future__ import annotations

from typing import Any

from ruamel.yaml.error import YAMLError

from lugwright.issues import UnusableInput
from lugwright.plain_yaml import Document, read_plain_text
from lugwright.rulebase.key_order import Shapes, arranged
from lugwright.rulebase.yaml_tree import Group, Text, comments_of, plain, tree
from lugwright.rulebase.yaml_write import write

WIRE = "# yaml-language-server: $schema="


class LayoutError(Exception):
    """A text that cannot be laid out without changing what it says; the message says what would change."""


class TwoReadingsError(LayoutError):
    """A text that two YAML readers understand differently, so that nobody can say what it means."""


def laid_out(text: str, name: str, shape: Any = None, shapes: Shapes | None = None, *, keyed: bool = False) -> str:
    """The text in the house layout.

    name:  stands for the file in messages.
    shape: the declared shape of the file, or of each of its entries where it is `keyed` by id; without one, the keys
           keep their order.
    Raises UnusableInput where the text is not plain YAML, LayoutError where the new text would not say the same.

    >>> print(laid_out("a: 'b' # why\\nc:\\n- {d:   e}\\n", "demo.yaml"), end="")
    a: b  # why
    c:
      - {d: e}
    """
    document = read_plain_text(text, name, empty_ok=True)
    text = "\n".join(document.lines)
    try:
        top = tree(text)
    except YAMLError:
        raise TwoReadingsError("another YAML reader cannot read this file") from None
    if plain(top) != document.data:
        raise TwoReadingsError("another YAML reader reads something else in this file")
    head = top.items[0].before
    top.items[0].before = []
    shapes = shapes or Shapes()
    if keyed:
        for item in top.items:
            _arrange(item.value, shape, shapes)
    else:
        _arrange(top, shape, shapes)
    first = top.items[0]
    first.before = head + [line for n, line in enumerate(first.before) if n or line]
    made = write(top, spaced=keyed)
    _same(document, made, comments_of(text), shape, shapes, keyed)
    return made


def wired(text: str, schema: str) -> str:
    """The text with the line that tells a YAML editor which schema to use, first in the file; an older one is replaced.

    >>> print(wired("# about\\na: b\\n", "../.schema/causes.json"), end="")
    # yaml-language-server: $schema=../.schema/causes.json
    # about
    a: b
    """
    lines = text.split("\n")
    top = next((n for n, line in enumerate(lines) if line.strip() and not line.startswith("#")), len(lines))
    kept = [line for n, line in enumerate(lines) if n >= top or not line.startswith(WIRE.strip())]
    return "\n".join([WIRE + schema, *kept])


def _arrange(value: Text | Group, shape: Any, shapes: Shapes) -> None:
    """Put the keys of every mapping with a declared shape into reading order."""
    if isinstance(value, Text) or shape is None:
        return
    written = {item.key.value: item for item in value.items if item.key}
    for item in value.items:
        _arrange(item.value, shapes.below(shape, item.key.value if item.key else None, written), shapes)
    if value.mapping:
        value.items = [written[key] for key in arranged(written, shapes.order_of(shape, written))]


def _ordered(value: Any, shape: Any, shapes: Shapes) -> Any:
    """Plain data as pairs, those of a declared shape in reading order, so that two readings can be compared exactly."""
    if isinstance(value, list):
        return [_ordered(one, shapes.below(shape, None, {}), shapes) for one in value]
    if isinstance(value, dict):
        keys = arranged(value, shapes.order_of(shape, value)) if shape is not None else list(value)
        return ["mapping", *([key, _ordered(value[key], shapes.below(shape, key, value), shapes)] for key in keys)]
    return value


def _same(document: Document, made: str, comments: list[str], shape: Any, shapes: Shapes, keyed: bool) -> None:
    """Refuse a new text that says something else than the old one, or that lost a comment."""

    def pairs(data: Any) -> Any:
        if not keyed:
            return _ordered(data, shape, shapes)
        return [[key, _ordered(entry, shape, shapes)] for key, entry in data.items()]

    try:
        after = read_plain_text(made, document.name, empty_ok=True)
    except UnusableInput:
        raise LayoutError("laid out anew, this file could not be read") from None
    if pairs(after.data) != pairs(document.data):
        raise LayoutError("laid out anew, this file would say something else")
    if comments_of(made) != comments:
        raise LayoutError("laid out anew, this file would lose a comment")
