"""Lines of text with a meaning, so that one layout serves a colour terminal, a pipe and a narrow window."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import dataclass

LEAST_WIDTH, MOST_WIDTH = 40, 110


@dataclass(frozen=True)
class Line:
    """One paragraph: indented, wrapped, with an optional figure kept at the right edge.

    tone: `stop`, `limit`, `go`, `head`, `strong`, `for`, `against`, `faint` or empty; a view may colour by it.
    label: a short word that stands before the text and is not repeated when it wraps.
    """

    text: str = ""
    indent: int = 0
    tone: str = ""
    right: str = ""
    label: str = ""
    label_width: int = 0


def printable(text: str) -> str:
    """Text with control characters and direction marks made visible, so that no case file can steer a terminal.

    >>> printable("a\\x1b[31mb")
    'a\\\\x1b[31mb'
    """
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


def laid_out(lines: Iterable[Line], width: int) -> list[tuple[str, str]]:
    """Wrap to a width in columns; gives (text, tone) for each printed line. Nothing is ever cut off.

    >>> laid_out([Line("one two three", label="for", label_width=5, right="71 %")], 40)
    [('for  one two three                 71 %', '')]
    """
    width = max(LEAST_WIDTH, min(MOST_WIDTH, width))
    rows: list[tuple[str, str]] = []
    for line in lines:
        lead = " " * line.indent
        head = lead + (line.label.ljust(line.label_width) if line.label else "")
        hang = " " * len(head)
        right = printable(line.right)
        room = max(16, width - len(head) - (len(right) + 2 if right else 0))
        text = printable(line.text)
        parts = textwrap.wrap(text, room, break_long_words=True, break_on_hyphens=False) or [""]
        first = (head + parts[0]).rstrip() if not right else (head + parts[0].ljust(room) + "  " + right)
        rows.append((first, line.tone))
        rows += [(hang + part, line.tone) for part in parts[1:]]
    return rows


STYLES = {
    "stop": "bold white on red",
    "limit": "bold black on yellow",
    "go": "bold green",
    "head": "bold",
    "strong": "bold",
    "for": "",
    "against": "",
    "faint": "dim",
}


def put(text: str) -> None:
    """Print a whole text. A reader that closed the pipe has read enough: the rest is dropped, and that is no fault."""
    import sys

    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        let_go()


def let_go() -> None:
    """Nothing more is tried on standard output, not even when Python shuts down: what is left goes nowhere, quietly."""
    import os
    import sys

    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def write(lines: Iterable[Line], *, width: int | None = None) -> None:
    """Print: with colour where standard output is a terminal and NO_COLOR is unset, plain otherwise."""
    import os
    import shutil
    import sys

    terminal = sys.stdout.isatty()
    columns = width or (shutil.get_terminal_size((100, 24)).columns if terminal else 100)
    rows = laid_out(lines, columns)
    if not terminal or os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        put("".join(text.rstrip() + "\n" for text, _ in rows))
        return
    from rich.console import Console
    from rich.text import Text

    console = Console(highlight=False, soft_wrap=True)
    for text, tone in rows:
        console.print(Text(text, style=STYLES.get(tone, "")))
