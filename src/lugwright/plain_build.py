"""From the events of a YAML parser to plain data: one pass, no recursion, every spot kept, every fault noted."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

import yaml

from lugwright.issues import Issue, Spot
from lugwright.plain_words import WHY, in_plain_words

DEEPEST = 50  # mappings and lists inside one another
SAME_FAULT = 20  # faults of one code shown for one file

Step = str | int
Way = tuple[Step, ...]
Mark = tuple[int, int, int, int]  # line and column of the key, line and column of the value, from 1

LINE_ENDS = re.compile("\r\n|[\n\r\x85\u2028\u2029]")

_PARSER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_STARTS = (yaml.MappingStartEvent, yaml.SequenceStartEvent)
_ENDS = (yaml.MappingEndEvent, yaml.SequenceEndEvent)
_VALUES = (yaml.ScalarEvent, yaml.AliasEvent, *_STARTS)


class _StopError(Exception):
    """Reading on makes no sense."""


@dataclass(slots=True)
class _Open:
    """A mapping or list whose end has not come yet."""

    value: dict[str, Any] | list[Any]
    way: Way
    flow: bool  # written in brackets
    key: str | None = None
    key_at: tuple[int, int] = (0, 0)
    lines: dict[str, int] = field(default_factory=dict)  # the line of each key so far


class Builder:
    """Reads one text. Afterwards `data`, `marks`, `faulty` and `told()` hold what came of it."""

    def __init__(self, name: str, lines: tuple[str, ...], empty_ok: bool) -> None:
        self.name, self.lines, self.empty_ok = name, lines, empty_ok
        self.data: Any = None
        self.marks: dict[Way, Mark] = {}
        self.faulty: set[Way] = set()
        self.whole = True
        self._issues: list[Issue] = []
        self._count: Counter[str] = Counter()

    def add(self, at: tuple[int, int], code: str, what: str, hint: str) -> None:
        """Note a fault; past the twentieth of one code only count it."""
        self._count[code] += 1
        if self._count[code] <= SAME_FAULT:
            text = self.lines[at[0] - 1] if 0 < at[0] <= len(self.lines) else ""
            self._issues.append(Issue(Spot(self.name, *at), code, what, WHY[code], hint, text=text))

    def told(self) -> tuple[Issue, ...]:
        """Every fault in order; for those only counted, how many they are."""
        more = []
        for code, n in sorted(self._count.items()):
            if n > SAME_FAULT:
                what = f"{n - SAME_FAULT} more faults like the {SAME_FAULT} shown for this file"
                more.append(Issue(Spot(self.name), code, what, WHY[code]))
        return tuple(sorted({*self._issues, *more}))

    def read(self, text: str) -> Builder:
        """Read the first document of a text. `whole` turns false where reading had to stop early."""
        parser = None
        try:
            parser = _PARSER(text)
            self._build(parser)
        except _StopError:
            self.whole = False
        except yaml.YAMLError as error:
            self.whole = False
            mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
            line, column = (mark.line + 1, mark.column + 1) if mark else (0, 0)
            written = self.lines[line - 1] if 0 < line <= len(self.lines) else ""
            code, what, hint = in_plain_words(str(getattr(error, "problem", None) or ""), written, column)
            self.add((line, column), code, what, hint)
        finally:
            if parser is not None:
                parser.dispose()
        return self

    def _build(self, parser: Any) -> None:
        stack: list[_Open] = []
        documents = 0
        while parser.check_event():
            event = parser.get_event()
            kind = type(event)
            if kind in _ENDS:
                stack.pop()
            elif kind is yaml.DocumentStartEvent:
                documents += 1
                self._document(event, documents)
            elif kind in _VALUES:
                at = (event.start_mark.line + 1, event.start_mark.column + 1)
                top = stack[-1] if stack else None
                if top and top.key is None and type(top.value) is dict:
                    top.key, top.key_at = self._key(event, kind, at, top.way), at
                    continue
                opened = self._value(event, kind, at, top)
                if opened:
                    if len(stack) == DEEPEST:
                        what = f"more than {DEEPEST} levels inside one another"
                        self.add(at, "too-deep", what, "is a bracket left open?")
                        raise _StopError
                    stack.append(opened)

    def _document(self, event: Any, number: int) -> None:
        at = (event.start_mark.line + 1, event.start_mark.column + 1)
        if event.version or event.tags:
            self.add(at, "directive", "a line that begins with % is not read here", "delete the line")
        if number > 1:
            hint = "delete the `---`, or move what follows to a file of its own"
            self.add(at, "several-documents", "a second document begins here", hint)
            raise _StopError

    def _key(self, event: Any, kind: type, at: tuple[int, int], way: Way) -> str:
        if kind in _STARTS:
            self.add(at, "key-not-text", "a list or mapping stands where a key belongs", "write a word and a colon")
            raise _StopError
        if kind is yaml.AliasEvent:
            self.add(at, "alias", f"'*{short(event.anchor)}' repeats a value from elsewhere", "write the key out")
            self.faulty.add((*way, f"*{event.anchor}"))
            return f"*{event.anchor}"
        key: str = event.value
        refused = self._refuse(event, kind, at)
        if not key:
            self.add(at, "key-not-text", "a colon without a key before it", "write a word before the colon")
        elif key == "<<":
            self.add(at, "merge-key", "'<<' merges keys from elsewhere", "write the keys out here")
        if refused or key in ("", "<<"):
            self.faulty.add((*way, key))
        return key

    def _refuse(self, event: Any, kind: type, at: tuple[int, int]) -> bool:
        """Note what is not plain about a value; true where there was something."""
        if kind is yaml.AliasEvent:
            self.add(at, "alias", f"'*{short(event.anchor)}' repeats a value from elsewhere", "write the value out")
            return True
        if event.anchor:
            what = f"'&{short(event.anchor)}' names this value for reuse"
            self.add(at, "anchor", what, "delete the & and the name after it")
        if event.tag:
            tag = event.tag.replace("tag:yaml.org,2002:", "!!")
            self.add(at, "tag", f"'{short(tag)}' is a tag", "delete the tag")
        return bool(event.anchor or event.tag)

    def _value(self, event: Any, kind: type, at: tuple[int, int], top: _Open | None) -> _Open | None:
        """Put a value where it belongs; hand back what was opened by it."""
        way, key_at, repeated = self._place(at, top)
        refused = self._refuse(event, kind, at)
        value: Any = {} if kind is yaml.MappingStartEvent else [] if kind is yaml.SequenceStartEvent else ""
        if kind is yaml.ScalarEvent:
            value = event.value
            if not value and event.style in ("", None) and not refused:
                if top is None:
                    return None  # a document with nothing in it
                if self.empty_ok:
                    return None
                named = f"after '{short(str(way[-1]))}:'" if type(top.value) is dict else "after this '-'"
                hint = "write the value, or delete the line; an empty list is written []"
                if top.flow:
                    hint = "write the value; inside brackets a text that holds a comma needs quotes"
                    before = str(next(reversed(top.value.values()), "")) if type(top.value) is dict else ""
                    if before[-1:].isdigit() and str(way[-1])[:1].isdigit():  # `0,5 mm` comes as `0` and a key `5 mm`
                        hint = f"a decimal has a point: {short(before)}.{short(str(way[-1]))}"
                self.add(key_at, "empty-value", f"nothing is written {named}", hint)
                refused = True
        if refused or repeated:
            self.faulty.add(way)
        self.marks[way] = (*key_at, *at)
        if top is None:
            self.data = value
        elif isinstance(top.value, list):
            top.value.append(value)
        elif not repeated:
            top.value[str(way[-1])] = value
        return _Open(value, way, event.flow_style) if kind in _STARTS else None

    def _place(self, at: tuple[int, int], top: _Open | None) -> tuple[Way, tuple[int, int], bool]:
        """The way to a value, where its key stands, and whether that key was there before."""
        if top is None:
            return (), at, False
        if isinstance(top.value, list):
            return (*top.way, len(top.value)), at, False
        key, key_at = str(top.key), top.key_at
        top.key = None
        if first := top.lines.get(key):
            hint = f"keep one of the two; the first stands on line {first}"
            self.add(key_at, "repeated-key", f"'{short(key)}' is written twice in the same place", hint)
            self.faulty.add((*top.way, key))
            return (*top.way, f"{key} again, line {key_at[0]}"), key_at, True
        top.lines[key] = key_at[0]
        return (*top.way, key), key_at, False


def short(word: str) -> str:
    """A word cut to 60 characters, for a message.

    >>> short("x" * 100) == "x" * 57 + "..."
    True
    """
    return word if len(word) <= 60 else word[:57] + "..."
