"""The comments a person wrote into a case file, kept where they stand when the file is written again."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from lugwright.plain_yaml import Document

#: What a comment belongs to: a key; a key and one below it; or a list and one of its entries as text.
Where = tuple[str, ...]


@dataclass(frozen=True)
class Comments:
    """above: comment lines that stand before something; beside: the comment behind it. The empty place is the end."""

    above: Mapping[Where, tuple[str, ...]] = field(default_factory=dict)
    beside: Mapping[Where, str] = field(default_factory=dict)

    def wrap(self, where: Where, line: str, indent: str = "") -> list[str]:
        """A line with the comments of its place.

        >>> Comments({("case",): ("# ours",)}, {("case",): "# from the yard"}).wrap(("case",), "case: a-1")
        ['# ours', 'case: a-1  # from the yard']
        """
        beside = self.beside.get(where, "")
        return [*(indent + one for one in self.above.get(where, ())), f"{line}  {beside}" if beside else line]

    def lost(self, kept: Iterable[Where]) -> tuple[str, ...]:
        """The comments of what is not written any more, and those at the end."""
        kept = set(kept)
        return tuple(
            line
            for where in dict.fromkeys((*self.above, *self.beside))
            if where not in kept
            for line in (*self.above.get(where, ()), *filter(None, [self.beside.get(where, "")]))
        )


def comments_of(document: Document, entry_text: Callable[[Any], str], passed_over: Callable[[str], bool]) -> Comments:
    """The comments of a case file.

    entry_text: how an entry of a list is named; passed_over: whether a line is kept in another way.
    """
    places = sorted(_places(document, entry_text))
    starts = [line for line, _ in places]
    above: dict[Where, tuple[str, ...]] = {}
    beside: dict[Where, str] = {}
    for (line, _), said, alone in _comments(document, passed_over):
        if alone:
            after = bisect_left(starts, line + 1)
            where = places[after][1] if after < len(places) else ()
            above[where] = (*above.get(where, ()), said)
        else:
            where = places[max(bisect_right(starts, line + 1) - 1, 0)][1]
            beside[where] = f"{beside[where]}; {said.lstrip('# ')}" if where in beside else said
    return Comments(above, beside)


def _comments(document: Document, passed_over: Callable[[str], bool]) -> Iterable[tuple[tuple[int, int], str, bool]]:
    text = "\n".join("" if passed_over(line) else line for line in document.lines)
    if "#" not in text:
        return ()
    from lugwright.rulebase.yaml_tree import comments  # loads a second YAML reader, which most cases do without

    return comments(text)


def _places(document: Document, entry_text: Callable[[Any], str]) -> Iterable[tuple[int, Where]]:
    """What begins in which line: every key, and what stands below it in a line of its own."""
    for way, mark in document.marks.items():
        if len(way) == 1:
            yield mark[0], (str(way[0]),)
        elif len(way) == 2 and mark[0] > document.marks[way[:1]][0]:
            group, name = way
            inner = entry_text(document.data[group][name]) if isinstance(name, int) else str(name)
            yield mark[0], (str(group), inner)
