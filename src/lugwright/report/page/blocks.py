"""What a page is made of, before it is HTML or Markdown. Every field holds plain text; the views escape it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

Tone = Literal["stop", "limit", "go", "caution", "faint", "plain"]


@dataclass(frozen=True)
class Text:
    """A paragraph."""

    text: str
    tone: Tone = "plain"


@dataclass(frozen=True)
class Banner:
    """One short word in large print, with a sentence beside it."""

    word: str
    text: str
    tone: Tone


@dataclass(frozen=True)
class Heading:
    """A heading inside a section. right: a figure at the end of the line; share: 0 to 1, drawn as a bar as well."""

    text: str
    right: str = ""
    share: float | None = None
    id: str = ""


@dataclass(frozen=True)
class Facts:
    """Names with their values."""

    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Bullets:
    """A list."""

    items: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True)
class Cautions:
    """Warnings, each to be read before what follows."""

    items: tuple[str, ...]


@dataclass(frozen=True)
class Steps:
    """Steps of work: (caution, what to do). The caution stands before its step."""

    items: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Table:
    """A table; the first cell of each row names the row. figures: columns that hold figures, counted from 0."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    figures: tuple[int, ...] = ()


@dataclass(frozen=True)
class Picture:
    """The wear map or the trace. alt: the same in words; kind says which drawing a view puts there."""

    kind: Literal["map", "trace"]
    alt: str
    caption: str


Block: TypeAlias = Text | Banner | Heading | Facts | Bullets | Cautions | Steps | Table | Picture


@dataclass(frozen=True)
class Section:
    """One part of the page, with the words of its heading and a name to link to."""

    id: str
    title: str
    blocks: tuple[Block, ...] = field(default_factory=tuple)
