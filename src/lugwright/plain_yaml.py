"""YAML read plainly: text stays text, nothing is guessed, and every value remembers where it was written.

Shared by the rule base and the case files. Only mappings, lists and text are accepted. `no`, `on`, `12:30` and `1e3`
stay text; the schema that reads the text decides what is a number. Whatever could make two readers see two things
(repeated keys, anchors, tags, several documents) is refused, and all such faults of a file are collected.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.plain_build import LINE_ENDS, Builder, Mark, Way
from lugwright.plain_words import WHY

BIGGEST = 2_000_000  # bytes in one file

_CONTROL = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True)
class Document:
    """One file as read: plain `data` (dict, list, str), its lines, and the spot of every key and value.

    A way is the tuple of keys and indices that leads to a value. `faulty` holds the ways of values that were refused;
    `whole` is false where the file could not be read to its end.
    """

    name: str
    data: Any
    lines: tuple[str, ...]
    marks: dict[Way, Mark] = field(default_factory=dict, repr=False)
    faulty: frozenset[Way] = frozenset()
    whole: bool = True

    def value_spot(self, way: Way) -> Spot:
        """Where a value begins; for a way that does not exist, where the nearest value above it begins."""
        while way and way not in self.marks:
            way = way[:-1]
        return Spot(self.name, *self.marks[way][2:]) if way in self.marks else Spot(self.name)

    def key_spot(self, way: Way) -> Spot:
        """Where the key of a value stands (for an item of a list, the item itself)."""
        while way and way not in self.marks:
            way = way[:-1]
        return Spot(self.name, *self.marks[way][:2]) if way in self.marks else Spot(self.name)

    def line(self, number: int) -> str:
        """The author's own line, counted from 1; empty when there is none."""
        return self.lines[number - 1] if 0 < number <= len(self.lines) else ""

    def issue(self, spot: Spot, code: str, what: str, why: str = "", hint: str = "") -> Issue:
        """A fault at a spot of this file, with the author's line."""
        return Issue(spot, code, what, why, hint, text=self.line(spot.line))


def read_plain(path: Path, *, shown: str = "", mapping: bool = True, empty_ok: bool = False) -> Document:
    """Read one file. Raises UnusableInput with every fault found.

    shown:    the file's name in messages; without it, the path as given.
    mapping:  the top level must be a mapping.
    empty_ok: a key or list item with nothing after it is left out instead of refused.
    """
    document, issues = examine_plain(path, shown=shown, mapping=mapping, empty_ok=empty_ok)
    if document is None or issues:
        raise UnusableInput(issues)
    return document


def read_plain_text(text: str, name: str, *, mapping: bool = True, empty_ok: bool = False) -> Document:
    """Read YAML text; `name` stands for the file in messages. Raises UnusableInput with every fault found.

    >>> read_plain_text("answer: no\\nat: 12:30\\nsize: 1e3", "demo.yaml").data
    {'answer': 'no', 'at': '12:30', 'size': '1e3'}
    >>> str(read_plain_text("a:\\n  - b: c", "demo.yaml").value_spot(("a", 0, "b")))
    'demo.yaml:2:8'
    """
    document, issues = examine_plain_text(text, name, mapping=mapping, empty_ok=empty_ok)
    if document is None or issues:
        raise UnusableInput(issues)
    return document


def examine_plain(
    path: Path, *, shown: str = "", mapping: bool = True, empty_ok: bool = False
) -> tuple[Document | None, tuple[Issue, ...]]:
    """As `read_plain`, but hand back what could be read beside the faults instead of raising."""
    name = shown or path.as_posix()
    try:
        if path.is_dir():
            return None, (_whole(name, "not-a-file", "this is a folder, not a file", "name one YAML file"),)
        if not path.exists():
            return None, (_whole(name, "missing-file", "there is no such file", "check the spelling and the folder"),)
        if not path.is_file():
            return None, (_whole(name, "not-a-file", "this is not an ordinary file", "name one YAML file"),)
        if (size := path.stat().st_size) > BIGGEST:
            return None, (_too_large(name, size),)
        with path.open("rb") as stream:
            raw = stream.read(BIGGEST + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name is not a file name"
        what = f"this file cannot be read: {reason.lower()}"
        return None, (_whole(name, "unreadable-file", what, "check who may read it"),)
    return examine_plain_bytes(raw, name, mapping=mapping, empty_ok=empty_ok)


def examine_plain_bytes(
    raw: bytes, name: str, *, mapping: bool = True, empty_ok: bool = False
) -> tuple[Document | None, tuple[Issue, ...]]:
    """As `examine_plain_text`, from the bytes of a file: UTF-8, with or without a byte order mark."""
    if len(raw) > BIGGEST:
        return None, (_too_large(name, len(raw)),)
    save = "save the file as UTF-8 text"
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return None, (_whole(name, "not-utf-8", "this file is written in UTF-16", save),)
    if b"\0" in raw:
        return None, (_whole(name, "not-text", "this is not a text file (it holds zero bytes)", save),)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = LINE_ENDS.split(raw[: error.start].decode("utf-8", "replace").removeprefix("\ufeff"))
        rest = raw[error.start :].split(b"\n", 1)[0].decode("utf-8", "replace")
        spot = Spot(name, len(before), len(before[-1]) + 1)
        what = f"byte {raw[error.start]:#04x} is not UTF-8"
        return None, (Issue(spot, "not-utf-8", what, WHY["not-utf-8"], save, text=before[-1] + rest),)
    return examine_plain_text(text, name, mapping=mapping, empty_ok=empty_ok)


def examine_plain_text(
    text: str, name: str, *, mapping: bool = True, empty_ok: bool = False
) -> tuple[Document | None, tuple[Issue, ...]]:
    """As `read_plain_text`, but hand back what could be read beside the faults instead of raising."""
    text = text.removeprefix("\ufeff")
    if len(text) > BIGGEST:
        return None, (_too_large(name, len(text)),)
    lines = tuple(LINE_ENDS.split(text))
    if odd := _CONTROL.search(text):
        before = LINE_ENDS.split(text[: odd.start()])
        spot = Spot(name, len(before), len(before[-1]) + 1)
        what = f"the character U+{ord(odd[0]):04X} is not text"
        issue = Issue(spot, "not-text", what, WHY["not-text"], "delete it", text=lines[spot.line - 1])
        return None, (issue,)
    built = Builder(name, lines, empty_ok).read(text)
    if built.data is None and built.whole:
        built.add((0, 0), "empty-file", "nothing is written in this file", "write an entry, or delete the file")
    elif mapping and built.data is not None and not isinstance(built.data, dict):
        at = built.marks[()][2:]
        built.add(at, "not-a-mapping", "this file must begin with a key and a colon", "write `key: value` lines")
        built.data = None
    if built.data is None:
        return None, built.told()
    return Document(name, built.data, lines, built.marks, frozenset(built.faulty), built.whole), built.told()


def _whole(name: str, code: str, what: str, hint: str) -> Issue:
    return Issue(Spot(name), code, what, WHY[code], hint)


def _too_large(name: str, size: int) -> Issue:
    what = f"this file is {size / 1e6:.1f} MB; at most {BIGGEST / 1e6:.0f} MB is read"
    return _whole(name, "too-large", what, "is it the right file? split a long one into several")
