"""Labels of drawn graphs: wrapped, and safe against being read as markup or as an escape."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import graphviz

from lugwright.report.lines import printable

INK, PAPER = "#1a1a1a", "#ffffff"


def wrap(text: str, width: int) -> list[str]:
    """A text as lines: control marks made visible, nothing longer than the width, at most 400 letters."""
    return textwrap.wrap(printable(text)[:400], width, break_long_words=True, break_on_hyphens=False) or [""]


def label(lines: Sequence[str], end: str = "\n") -> str:
    """Lines as a node label; nothing in them can be read as markup or as an escape. `end` may be `\\\\l`: to the left.

    >>> label(["<b>bold</b>", "back\\\\slash"])
    '<b>bold</b>\\nback\\\\\\\\slash'
    """
    # Graphviz reads `&lt;` and the like in a plain label too.
    safe = [str(graphviz.escape(printable(line).replace("&", "&amp;"))) for line in lines]
    text: str = graphviz.nohtml("".join(line + end for line in safe) if end != "\n" else end.join(safe))
    return text


def tip(*parts: str) -> str:
    """A tooltip: what is written where. Never markup."""
    return label(["   ".join(printable(part) for part in parts if part)])
