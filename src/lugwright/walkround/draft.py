"""A case being written: changes to its plain data, and its text as a YAML file that a person can read and edit."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from lugwright.places import SIDES, UNITS, Place
from lugwright.plain_yaml import Document
from lugwright.walkround.comments import Comments, Where, comments_of

Data = Mapping[str, Any]

_LISTS = ("seen", "looked_at", "not_seen", "measured")
_ORDER = ("case", "invented", "teaches", "machine", "context", *_LISTS, "note")
_PLAIN = re.compile(r"[A-Za-z0-9][^\x00-\x1f,\[\]{}#:&*!|>'\"%@`]*(%)?")
_ASKED, _OPEN = "# asked: ", "# open: "
_NOTE = "# What the walk-round has asked so far; it goes on from here. These lines may be deleted."
WIDTH = 116


@dataclass(frozen=True)
class Draft:
    """data: what the case file holds, as plain text; head: comment lines that stand above it; comments: the others.

    asked: ids of the questions that were answered or passed over; open: answers that a question still waits for.
    """

    data: Data = field(default_factory=dict)
    head: tuple[str, ...] = ()
    asked: tuple[str, ...] = ()
    open: tuple[str, ...] = ()
    comments: Comments = field(default_factory=Comments)

    @property
    def layout(self) -> str:
        """The layout, or nothing while it is not known."""
        return str(self.data.get("machine", {}).get("layout", ""))

    @property
    def drive(self) -> str:
        """The drive, or nothing while it is not known."""
        return str(self.data.get("machine", {}).get("drive", ""))

    @property
    def is_machine(self) -> bool:
        """Whether the case has a name and its machine a name, a layout and a drive."""
        return bool(self.layout and self.drive and self.data.get("case") and self.data["machine"].get("name"))

    def passed(self, question: str) -> Draft:
        """With a question behind it."""
        return self if question in self.asked else replace(self, asked=(*self.asked, question))

    def put(self, key: str, value: Any) -> Draft:
        """With one value at the top level."""
        return replace(self, data={**self.data, key: value})

    def put_in(self, group: str, key: str, value: str) -> Draft:
        """With one value in `machine` or `context`; nothing takes it out."""
        inner = {name: text for name, text in self.data.get(group, {}).items() if name != key}
        if value:
            inner[key] = value
        return self.put(group, inner)

    def entries(self, group: str) -> list[dict[str, Any]]:
        """The entries of one list."""
        return list(self.data.get(group, []))

    def with_sign(self, symptom: str, place: Place, state: str, extent: str = "") -> Draft:
        """With one sign in a state: seen, absent, or unknown."""
        draft = self.without_sign(symptom, place)
        if state == "unknown":
            return draft
        entry = {"symptom": symptom, **_where(place)}
        if extent and state == "seen":
            entry["extent"] = extent
        group = "seen" if state == "seen" else "not_seen"
        return draft.put(group, [*draft.entries(group), entry])

    def without_sign(self, symptom: str, place: Place) -> Draft:
        """Without what was written about one sign at one place; an entry for several places keeps the others."""
        draft = self
        for group in ("seen", "not_seen"):
            kept: list[dict[str, Any]] = []
            for entry in draft.entries(group):
                places = self._places(entry) if entry.get("symptom") == symptom else []
                if place not in places:
                    kept.append(entry)
                    continue
                rest = {name: value for name, value in entry.items() if name not in ("unit", "units", "side", "axle")}
                kept += [{"symptom": symptom, **_where(one), **rest} for one in places if one != place]
            draft = draft.put(group, kept)
        return draft

    def _places(self, entry: Mapping[str, Any]) -> list[Place]:
        words = entry.get("units", entry.get("unit", ()))
        units = (words,) if isinstance(words, str) else tuple(words)
        units = UNITS.get(self.layout, ()) if units == ("all",) else units
        if not units:
            return [Place(axle=str(entry.get("axle", "")))]
        side = str(entry.get("side", ""))
        sides = SIDES if side == "both" else (side,)
        return [Place(unit=unit, side=one) for unit in units for one in sides]

    def looked(self, component: str, unit: str, there: bool = True) -> Draft:
        """With a component of a unit as looked over, or no longer so."""
        every = UNITS.get(self.layout, ())
        units: list[str] = []
        kept = []
        for entry in self.entries("looked_at"):
            if entry.get("component") != component or "note" in entry:
                kept.append(entry)
                continue
            words = entry.get("units", entry.get("unit", ()))
            units += every if words == "all" else [words] if isinstance(words, str) else list(words)
        chosen = [one for one in every if (one in units and one != unit) or (one == unit and there)]
        if chosen:
            said: Any = "all" if tuple(chosen) == tuple(every) else chosen
            kept.append({"component": component, "units": said})
        return self.put("looked_at", kept)

    def was_looked(self, component: str, unit: str) -> bool:
        """Whether a component of a unit is written down as looked over."""
        for entry in self.entries("looked_at"):
            words = entry.get("units", entry.get("unit", ()))
            if entry.get("component") == component and (words in ("all", unit) or unit in words):
                return True
        return False

    def measured(self, check: str, place: Place, fields: Mapping[str, str]) -> Draft:
        """With a reading; one of the same check at the same place gives way. No fields: without it."""
        where = _where(place)
        kept = [
            one
            for one in self.entries("measured")
            if one.get("check") != check or {key: one[key] for key in ("unit", "axle") if key in one} != where
        ]
        return self.put("measured", [*kept, {"check": check, **where, **fields}] if fields else kept)


def _where(place: Place) -> dict[str, str]:
    named = {"unit": place.unit, "axle": place.axle, "side": place.side}
    return {key: word for key, word in named.items() if word}


def as_text(draft: Draft) -> str:
    """The case file: plain YAML, and what was asked so far as comments below it.

    >>> print(as_text(Draft({"case": "yard-1", "machine": {"name": "Unit 12: blue", "layout": "two-track"}})), end="")
    case: yard-1
    machine: {name: 'Unit 12: blue', layout: two-track}
    """
    lines, notes, kept = list(draft.head), draft.comments, set[Where]()

    def put(where: Where, line: str, indent: str = "") -> None:
        kept.add(where)
        lines.extend(notes.wrap(where, indent + line, indent))

    for key in (*_ORDER, *(key for key in draft.data if key not in _ORDER)):
        value = draft.data.get(key)
        if not value:
            continue
        if isinstance(value, str) and (rows := _rows(value)):
            put((key,), f"{key}: |-")
            lines += [f"  {row}" if row else "" for row in rows]
        elif isinstance(value, str):
            put((key,), f"{key}: {_scalar(value)}")
        elif key in _LISTS:
            put((key,), f"{key}:")
            for entry in value:
                put((key, _flow(entry)), f"- {_flow(entry)}", "  ")
        elif key == "machine" and len(inline := f"{key}: {_flow(value)}") <= WIDTH and not _inside(notes, key):
            put((key,), inline)
        else:
            put((key,), f"{key}:")
            for name, text in value.items():
                put((key, name), f"{name}: {_scalar(text)}", "  ")
    lines += notes.lost(kept)
    if draft.asked or draft.open:
        lines += [_NOTE, *_wrapped(_ASKED, draft.asked), *_wrapped(_OPEN, draft.open)]
    return "\n".join(lines) + "\n"


def from_document(document: Document) -> Draft:
    """A draft from a case file as read."""
    head = []
    for line in document.lines:
        if not line.startswith("#") or line.startswith((_ASKED, _OPEN, _NOTE)):
            break
        head.append(line)
    words = {
        mark: tuple(
            word for line in document.lines if line.startswith(mark) for word in line.removeprefix(mark).split()
        )
        for mark in (_ASKED, _OPEN)
    }
    body = Document(document.name, document.data, ("",) * len(head) + document.lines[len(head) :], document.marks)
    notes = comments_of(body, _flow, lambda line: line.startswith((_ASKED, _OPEN, _NOTE)))
    return Draft(document.data, tuple(head), words[_ASKED], words[_OPEN], notes)


def _inside(notes: Comments, key: str) -> bool:
    """Whether a comment stands inside what a key holds."""
    return any(where[:1] == (key,) and len(where) > 1 for where in (*notes.above, *notes.beside))


def _wrapped(mark: str, words: Iterable[str]) -> list[str]:
    lines: list[str] = []
    for word in words:
        if lines and len(lines[-1]) + 1 + len(word) <= WIDTH:
            lines[-1] += " " + word
        else:
            lines.append(mark + word)
    return lines


def _rows(text: str) -> list[str]:
    """The lines of a text of several lines that can be written as they are; none for any other text."""
    rows = [row.rstrip() for row in text.strip("\n").split("\n")]
    return rows if len(rows) > 1 and rows[0] and not rows[0][0].isspace() else []


def _flow(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {_flow(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_flow(inner) for inner in value) + "]"
    return _scalar(str(value))


def _scalar(text: str) -> str:
    """A text as YAML reads it back unchanged.

    >>> _scalar("front-right"), _scalar("1/2 turn"), _scalar("it's: so"), _scalar("12 %")
    ('front-right', '1/2 turn', "'it''s: so'", '12 %')
    """
    flat = " ".join(text.split())
    return flat if _PLAIN.fullmatch(flat) else "'" + flat.replace("'", "''") + "'"
