"""The comments in plain YAML: what no token covers and begins with a `#`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import yaml


@dataclass(frozen=True)
class Comment:
    """line: counted from 1. alone: whether nothing else stands in its line."""

    line: int
    text: str
    alone: bool


def comments(text: str) -> Iterator[Comment]:
    """Every comment of YAML text that can be read.

    >>> [one.text for one in comments('# first\\na: "b # c"  # second\\nd: >-\\n  e # f')]
    ['# first', '# second']
    """
    ends: dict[int, int] = {}
    inside: set[int] = set()
    for token in yaml.scan(text, Loader=yaml.SafeLoader):
        first, last = token.start_mark, token.end_mark
        if isinstance(token, yaml.ScalarToken):
            inside.update(range(first.line + (token.style in ("|", ">")), last.line))
        if first.index != last.index:
            ends[last.line] = max(ends.get(last.line, 0), last.column)
    for number, line in enumerate(text.splitlines()):
        before, rest = line[: ends.get(number, 0)], line[ends.get(number, 0) :].strip()
        if number not in inside and rest.startswith("#"):
            yield Comment(number + 1, rest, not before.strip())
