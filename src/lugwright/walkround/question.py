"""What is asked, what may be answered, and what an answer does."""

from __future__ import annotations

import re
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Question:
    """One question.

    section: heading it stands under. choices: (what is typed, what it means). listed: numbered lines to choose from.
    why:     why it is asked and what each answer would do. help: what `?` prints; details: what `? 2` prints.
    empty:   what an empty answer means; empty text where one must be given.
    """

    id: str
    section: str
    text: str
    choices: tuple[tuple[str, str], ...] = ()
    listed: tuple[str, ...] = ()
    why: tuple[str, ...] = ()
    help: tuple[str, ...] = ()
    details: tuple[tuple[str, ...], ...] = ()
    empty: str = ""


@dataclass(frozen=True)
class Stop:
    """The end of the questions. reason: settled, nothing-left, undecided or wide; lines: in words."""

    reason: str
    lines: tuple[str, ...]


class NotUnderstood(Exception):
    """An answer that cannot be used, with what would do."""


@dataclass(frozen=True)
class Told:
    """Lines for the person, beside the next question."""

    lines: tuple[str, ...] = field(default_factory=tuple)


#: A whole number, and one with decimals, as it is typed. Other digits than these, such as a raised 2, are no answer.
WHOLE = re.compile(r"[0-9]{1,9}")
NUMBER = re.compile(r"[0-9]+(\.[0-9]+)?")


def chosen(text: str, count: int) -> tuple[int, ...]:
    """The numbers of an answer such as "1 3" or "1, 3", from 0 on, each once. Raises NotUnderstood.

    >>> chosen("3, 1", 4)
    (2, 0)
    """
    words = text.replace(",", " ").split()
    numbers = []
    for word in words:
        if not WHOLE.fullmatch(word) or not 1 <= int(word) <= count:
            raise NotUnderstood(f"'{word[:40]}' is not one of the numbers 1 to {count}")
        numbers.append(int(word) - 1)
    return tuple(dict.fromkeys(numbers))


def pick(text: str, choices: tuple[tuple[str, str], ...]) -> str:
    """The choice that an answer means: its word, or a beginning that fits only one. Raises NotUnderstood.

    >>> pick("In", (("inboard", ""), ("outboard", "")))
    'inboard'
    """
    said = text.strip().lower()
    words = [word for word, _ in choices]
    if said in words:
        return said
    fits = [word for word in words if said and word.startswith(said)]
    if len(fits) == 1:
        return fits[0]
    raise NotUnderstood(f"'{text.strip()[:40]}' is not an answer here; type {', '.join(words)}")
