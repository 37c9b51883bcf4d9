"""Running a command of a page as a reader would, and the part of its output that the page shows."""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
from itertools import zip_longest
from pathlib import Path
from unittest import mock

from lugwright.cli import main

LEFT_OUT = "[...]"
#: Figures that an edit of unrelated rules may move a little, and how far (points of a percentage).
SHARE, NEAR = re.compile(r"(\d+(?:\.\d+)?)( %)"), 2.0
#: What an edit of unrelated rules changes although the page stays true: fingerprint, version, how much there is.
PASSING = (
    (re.compile(r"rule base \d+\.\d+\.\d+ \([0-9a-f]{8}\)"), "rule base ~"),
    (re.compile(r"\b\d+ of \d+ cases\b"), "~ of ~ cases"),
    (re.compile(r"(?<![\w-])(rules/\S+\.yaml):\d+:\d+"), r"\1"),
    (re.compile(r"\b\d+ (symptoms|causes|chaining|checks|context|procedures|machines|cases|entries)\b"), r"~ \1"),
    (re.compile(r"\ball \d+ signs\b"), "all ~ signs"),
    (re.compile(r"\b\d+ x \d+\b"), "~ x ~"),
)
#: Faults of the shipped rule base are no part of what a page about an overlay shows.
ASIDE = re.compile(r"^\d+ warnings? of the rule base below not listed.*\n", re.M)
_GIT = {
    "GIT_AUTHOR_NAME": "A Trainer", "GIT_AUTHOR_EMAIL": "trainer@example.org", "GIT_COMMITTER_NAME": "A Trainer",
    "GIT_COMMITTER_EMAIL": "trainer@example.org", "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1",
}  # fmt: skip


def run(command: str, folder: Path) -> tuple[int, str, str]:
    """Exit code, standard output and standard error of a command run in a folder; our own command runs in here."""
    words = shlex.split(command)
    if words[0] != "lugwright":
        done = subprocess.run(
            words, cwd=folder, env={**os.environ, **_GIT}, capture_output=True, text=True, check=False
        )
        return done.returncode, done.stdout, done.stderr
    out, err = io.StringIO(), io.StringIO()
    code = 0
    with (
        _inside(folder),
        mock.patch.object(sys, "argv", words),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        try:
            main()
        except SystemExit as done:
            code = int(done.code or 0)
    return code, out.getvalue(), err.getvalue()


@contextlib.contextmanager
def _inside(folder: Path) -> Iterator[None]:
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


def kept(text: str, keep: str | None) -> str:
    """The paragraphs asked for, in order, with a mark where something was left out between or inside them.

    Raises ValueError for a paragraph that is not there.

    >>> kept("a\\n\\nb\\nc\\n\\nd\\n", "1 b:1")
    'a\\n\\nb\\n[...]\\n'
    >>> kept("a\\n\\nb\\nc\\n\\nd\\n", "1 3")
    'a\\n\\n[...]\\n\\nd\\n'
    """
    if not keep:
        return text
    paragraphs = [part.split("\n") for part in text.rstrip("\n").split("\n\n")]
    shown: list[str] = []
    last = None
    for word in keep.split():
        name, _, lines = word.partition(":")
        at = _paragraph(name, paragraphs)
        if last is not None and at != last + 1 and shown[-1].split("\n")[-1] != LEFT_OUT:
            shown.append(LEFT_OUT)
        rows = paragraphs[at]
        cut = int(lines) if lines else len(rows)
        shown.append("\n".join([*rows[:cut], *([LEFT_OUT] if cut < len(rows) else [])]))
        last = at
    return "\n\n".join(shown) + "\n"


def _paragraph(name: str, paragraphs: list[list[str]]) -> int:
    if name.isdigit() and 1 <= int(name) <= len(paragraphs):
        return int(name) - 1
    for at, rows in enumerate(paragraphs):
        if any(row.split()[:1] == [name] for row in rows):
            return at
    raise ValueError(f"keep {name}: none of the {len(paragraphs)} paragraphs has that number or a line beginning so")


def differs(shown: str, printed: str) -> str:
    """The first line that a page shows and a command no longer prints; empty where the page is still true.

    >>> differs("rule base 0.1.0 (0123abcd)  likely   63 %", "rule base 0.2.0 (89ef0123)  likely  62 %")
    ''
    >>> print(differs("likely 63 %", "likely 66 %"))
    shown:   likely 63 %
    printed: likely 66 %
    """
    rows = zip_longest(*(ASIDE.sub("", text).rstrip("\n").split("\n") for text in (shown, printed)), fillvalue="")
    for old, new in rows:
        if _words(old) != _words(new) or _apart(old, new):
            return f"shown:   {old}\nprinted: {new}"
    return ""


def _apart(old: str, new: str) -> bool:
    """Whether a figure of one line lies further than is passed over from that of another line of the same words."""
    figures = ([float(figure) for figure, _ in SHARE.findall(line)] for line in (old, new))
    return any(abs(a - b) > NEAR for a, b in zip(*figures, strict=True))


def _words(line: str) -> str:
    for pattern, instead in PASSING:
        line = pattern.sub(instead, line)
    return " ".join(SHARE.sub(r"~\2", line).split())
