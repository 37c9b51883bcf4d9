"""Writes docs/cli.md from the commands themselves: every command with its help and an example.

Run from anywhere:  python tests/tools/make_cli_doc.py
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import typer

from lugwright.cli import app

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "cli.md"
WIDTH = 80

HEAD = """# The command line

<!-- made by tests/tools/make_cli_doc.py with typer {version}; run that again instead of editing this page -->

Every command reads its arguments, calls the library, prints and sets the exit code: 0 answered, 1 a check failed,
2 the input cannot be used. The answer goes to standard output; faults and notes go to standard error. Colour is used on
a terminal only, and not at all where `NO_COLOR` is set. `LUGWRIGHT_CACHE=off` keeps a checked rule base from being
stored between two commands.
"""


@dataclass(frozen=True)
class Command:
    """One command or group: its words, its help as printed, and the example its help gives."""

    words: str
    help: str
    example: str
    options: tuple[str, ...]
    said: tuple[str, ...]
    is_group: bool


def commands() -> Iterator[Command]:
    """Every command and group, in the order in which the help lists them."""
    yield from _walk(typer.main.get_command(app), "lugwright", None)


def _walk(command: Any, words: str, parent: Any) -> Iterator[Command]:
    context = command.context_class(
        command,
        info_name=words.split(" ")[-1],
        parent=parent,
        terminal_width=WIDTH,
        **({} if parent else command.context_settings),
    )
    text = command.get_help(context)
    plain = " ".join((command.help or "").split())
    example = re.search(r"Example: (lugwright .*)", command.help or "")
    options = [name for one in command.get_params(context) for name in (*one.opts, *one.secondary_opts)]
    said = [" ".join(one.help.split()) for one in command.params if getattr(one, "help", None)]
    inner = getattr(command, "commands", {})
    yield Command(
        words,
        text.rstrip() + "\n",
        example[1].strip() if example else "",
        tuple(name for name in options if name.startswith("-")),
        (plain, *said),
        bool(inner),
    )
    for name, one in inner.items():
        if not one.hidden:
            yield from _walk(one, f"{words} {name}", context)


def cli_page() -> str:
    """The whole page as text."""
    parts = [HEAD.format(version=typer.__version__)]
    for one in commands():
        parts.append(f"## `{one.words}`\n")
        if one.example:
            parts.append(f"```console\n$ {one.example}\n```\n")
        parts.append(f"```text\n{one.help}```\n")
    return "\n".join(parts)


if __name__ == "__main__":
    PAGE.write_text(cli_page(), encoding="utf-8")
