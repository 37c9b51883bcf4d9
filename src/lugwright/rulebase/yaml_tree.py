"""A YAML text as a tree that remembers its comments, blank lines and ways of writing, so that it can be laid out anew.

Read with a round-trip library (ruamel.yaml). The text must be plain YAML already, as `lugwright.plain_yaml` reads it.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, TypeAlias

from ruamel.yaml import YAML
from ruamel.yaml.nodes import MappingNode, ScalarNode, SequenceNode

At: TypeAlias = tuple[int, int]  # line and column, from 0
_FOLDS = "\x07"  # the library marks with it where a folded text was broken; the plain reader refuses it in a text
_COMMENT = re.compile(r"(?:^|(?<=[ \t]))#")


@dataclass(slots=True)
class Text:
    """A text and how it was written: `style` is a quotation mark, `>`, `|` or nothing.

    ambiguous: quotes keep it a text where a reader that guesses would see a number, a truth value or nothing.
    """

    value: str
    style: str = ""
    ambiguous: bool = False


@dataclass(slots=True)
class Group:
    """A mapping or a list. `flow` is written in brackets; `trailing` are comment lines after its last item."""

    mapping: bool
    flow: bool
    items: list[Item] = field(default_factory=list)
    trailing: list[str] = field(default_factory=list)
    start: At = (0, 0)
    end: At = (0, 0)
    owner: Item | None = None


@dataclass(slots=True)
class Item:
    """An entry of a mapping, or an element of a list (then `key` is None).

    before: comment lines above it; an empty string is a blank line. eol: the comment at the end of its line.
    """

    key: Text | None
    value: Text | Group
    group: Group
    start: At
    before: list[str] = field(default_factory=list)
    eol: str = ""


def tree(text: str) -> Group:
    """The tree of a plain YAML text whose top level is a mapping or a list.

    >>> top = tree("# first\\na: 1  # one\\nb: [x, y]\\n# last")
    >>> top.items[0].before, top.items[0].eol, top.items[1].value.flow, top.trailing
    (['# first'], '# one', True, ['# last'])
    """
    reading, top = _read(text)
    reading.comments(top)
    return top


def comments(text: str) -> Iterator[tuple[At, str, bool]]:
    """Every comment of such a text: where it stands, what it says, and whether it has the line to itself.

    >>> [said for _, said, alone in comments('# first\\na: "b # c"  # second\\nd: >-\\n  e # f')]
    ['# first', '# second']
    """
    return _read(text)[0].found()


def _read(text: str) -> tuple[_Reading, Group]:
    reading = _Reading(text.split("\n"))
    return reading, reading.group(YAML(typ="rt", pure=True).compose(text), None)


def comments_of(text: str) -> list[str]:
    """Every comment as the library itself tells it, in alphabetic order: a check on what the tree holds.

    >>> comments_of("a: 1  # one\\n# two\\nb: >-  # three\\n  # no comment\\n")
    ['# one', '# three', '# two']
    """
    found: list[str] = []
    if "#" not in text:
        return found
    for token in YAML(typ="rt", pure=True).scan(text):
        pending = [getattr(token, "_comment", None)]
        while pending:
            one = pending.pop()
            if isinstance(one, (list, tuple)):
                pending.extend(one)
            elif one is not None:
                written = one if isinstance(one, str) else one.value
                found += [line.strip() for line in written.split("\n") if line.strip().startswith("#")]
    return sorted(found)


def plain(value: Text | Group) -> Any:
    """The content of a tree as plain data; a key or element with nothing behind it is left out."""
    if isinstance(value, Text):
        return value.value
    full = [item for item in value.items if isinstance(item.value, Group) or item.value.value or item.value.style]
    if value.mapping:
        return {item.key.value: plain(item.value) for item in full if item.key is not None}
    return [plain(item.value) for item in full]


class _Reading:
    """Builds the groups of one text, then hangs every comment where it belongs."""

    def __init__(self, lines: list[str]) -> None:
        self.lines = lines
        self.items: list[Item] = []  # in the order of the text
        self.spans: list[tuple[At, At, str]] = []  # of every text, with its style
        self.flows: list[Group] = []

    def group(self, node: Any, owner: Item | None) -> Group:
        mapping = isinstance(node, MappingNode)
        group = Group(mapping, bool(node.flow_style), start=_at(node.start_mark), end=_at(node.end_mark), owner=owner)
        if group.flow:
            self.flows.append(group)
        for entry in node.value:
            key, value = entry if mapping else (None, entry)
            start = _at((key or value).start_mark)
            if key is None and not group.flow:
                start = self._dash(start, group.start[1])
            item = Item(self._text(key) if key else None, Text(""), group, start)
            self.items.append(item)
            group.items.append(item)
            if isinstance(value, (MappingNode, SequenceNode)):
                item.value = self.group(value, item)
            else:
                item.value = self._text(value)
        return group

    def _dash(self, start: At, column: int) -> At:
        """Where the dash of a list element stands: in the column of its list, on the value's line or above."""
        line = start[0]
        while line > 0 and self.lines[line][column : column + 1] != "-":
            line -= 1
        return line, column

    def _text(self, node: Any) -> Text:
        assert isinstance(node, ScalarNode)
        style = node.style or ""
        self.spans.append((_at(node.start_mark), _at(node.end_mark), style))
        value = str(node.value).replace(_FOLDS, "")
        return Text(value, style, bool(style) and value != "" and _guessed(value))

    def comments(self, top: Group) -> None:
        """Hang every comment of the text on the item or group it belongs to, and note blank lines."""
        starts = [item.start for item in self.items]
        own: dict[int, Any] = {}
        for item in self.items:
            own.setdefault(item.start[0], item)
        for at, comment, alone in self.found():
            after = bisect_right(starts, at)
            before, following = (self.items[after - 1] if after else None), self.items[after : after + 1]
            if alone or before is None:
                self._above(at, comment, before, following[0] if following else None, top)
            else:
                self._behind(at, comment, before, following[0] if following else None)
        for item in own.values():
            if not item.group.flow and self._blank_above(item.start[0]):
                item.before.append("")
        for item in self.items:
            if isinstance(item.value, Group) and not item.value.items:
                item.before += item.value.trailing
                item.value.trailing = []

    def found(self) -> Iterator[tuple[At, str, bool]]:
        """Every comment: where it stands, its text, and whether it has the line to itself."""
        spans = sorted(self.spans)
        for number, line in enumerate(self.lines):
            if "#" not in line:
                continue
            for mark in _COMMENT.finditer(line):
                at = (number, mark.start())
                if not self._inside(at, spans):
                    yield at, line[mark.start() :].rstrip(), not line[: mark.start()].strip()
                    break

    def _inside(self, at: At, spans: list[tuple[At, At, str]]) -> bool:
        n = bisect_right(spans, (at, (len(self.lines) + 1, 0), "")) - 1
        if n < 0:
            return False
        start, end, style = spans[n]
        if style in (">", "|") and at[0] == start[0]:
            return False  # on the line of the sign itself
        return start <= at < end

    def _above(self, at: At, comment: str, before: Item | None, following: Item | None, top: Group) -> None:
        """A comment on its own line: above the following item, or at the end of the group its column names."""
        lines = ["", comment] if self._blank_above(at[0]) else [comment]
        if flow := self._flow_round(at):
            (following.before if following and following.start < flow.end else flow.trailing).extend(lines)
            return
        if before is not None and (following is None or at[1] > following.start[1]):
            group: Group | None = before.group
            if following is not None and following.group.owner is before:
                group = None
            while group is not None and (following is None or group is not following.group):
                if not group.flow and group.start[1] <= at[1]:
                    group.trailing.extend(lines)
                    return
                group = group.owner.group if group.owner else None
        (following.before if following else top.trailing).extend(lines)

    def _behind(self, at: At, comment: str, before: Item, following: Item | None) -> None:
        """A comment behind something: at the end of the line of the item it stands behind."""
        flow = self._flow_round(at)
        if flow is not None and flow.owner is before:
            (following.before if following and following.start < flow.end else flow.trailing).append(comment)
            return
        while before.group.flow and before.group.end <= at and before.group.owner:
            before = before.group.owner
        if isinstance(before.value, Group) and before.key is None and not before.value.flow:
            before.before.append(comment)  # behind a dash with nothing else on its line
        elif before.eol:
            before.before.append(comment)
        else:
            before.eol = comment

    def _flow_round(self, at: At) -> Group | None:
        """The innermost group in brackets round a place."""
        inside = [group for group in self.flows if group.start < at < group.end]
        return max(inside, key=lambda group: group.start) if inside else None

    def _blank_above(self, line: int) -> bool:
        return line > 0 and not self.lines[line - 1].strip()


def _at(mark: Any) -> At:
    return mark.line, mark.column


_RESOLVER = YAML(typ="rt", pure=True).resolver


def _guessed(value: str) -> bool:
    """Would a reader of YAML 1.2 that guesses take this for something else than text?"""
    return str(_RESOLVER.resolve(ScalarNode, value, (True, False))) != "tag:yaml.org,2002:str"
