"""Pieces of the book as Markdown. A text of the rule base is escaped before it becomes a piece; pieces are put together
as they are."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence


def anchor(heading: str) -> str:
    """How a heading, as it is written in Markdown, is linked to: small letters, hyphens for blanks, no other signs.

    >>> anchor("Toe-in, the noses `toe-in-error`")
    'toe-in-the-noses-toe-in-error'
    """
    return re.sub(r"[^\w -]", "", heading.strip().lower()).replace(" ", "-")


def code(name: str) -> str:
    """An id or a word as it stands in a file.

    >>> code("toe-in-error")
    '`toe-in-error`'
    """
    return f"`{name}`"


def link(heading: str) -> str:
    """A link to a heading of the page, as it is written; `target` says once where it leads.

    >>> link("Toe-in"), target("Toe-in")
    ('[Toe-in]', '[Toe-in]: #toe-in')
    """
    return f"[{heading}]"


def target(heading: str) -> str:
    """The line that says where the links to a heading lead."""
    return f"[{heading}]: #{anchor(heading)}"


def bullet(lead: str, *texts: str) -> str:
    """A list item with a lead in bold, both as pieces; texts that are empty are left out.

    >>> bullet("Remedy", "Set it.", "")
    '- **Remedy:** Set it.'
    """
    return f"- **{lead}:** " + " ".join(text for text in texts if text)


def table(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> Iterator[str]:
    """A table of pieces and the empty line after it; nothing where there are no rows."""
    body = [f"| {' | '.join(cell or '-' for cell in row)} |" for row in rows]
    if body:
        yield f"| {' | '.join(columns)} |"
        yield "|" + "---|" * len(columns)
        yield from body
        yield ""


def listed(words: Sequence[str], last: str = "and") -> str:
    """Words as a person lists them.

    >>> listed(["a", "b", "c"]), listed(["a"])
    ('a, b and c', 'a')
    """
    return f" {last} ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))
