"""Following a tutorial: what it tells the reader to write is written, what it tells them to run is run, in order.

A page speaks in blocks and in comments before them:

    <!-- write: barn-rules/overlay.yaml -->          the yaml block after it is the whole file
    <!-- change: barn-rules/overlay.yaml -->         the sentence after it names two pieces of code: the one that
                                                     stands there once, and the one that takes its place
    ```console  $ command                            every line that begins with $ is run
    <!-- prints | keep 1 Likely:4 | exit 1 -->       the text block after it is what the last command before it printed,
                                                     or the paragraphs of it that `keep` names (see `printed.kept`);
                                                     without `exit`, and without a block, a command must end with 0

Nothing else may stand in a block, so that no command and no output goes unproved.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import printed

PART = re.compile(
    r"^<!-- write: (?P<write>\S+) -->\n```yaml\n(?P<text>.*?)^```$"
    r"|^<!-- change: (?P<change>\S+) -->\n(?P<sentence>.*?)(?=\n\n)"
    r"|^```console\n(?P<run>.*?)^```$"
    r"|^(?P<marker><!-- prints(?: \| keep (?P<keep>[\w: -]+?))?(?: \| exit (?P<exit>\d))? -->\n```text\n)"
    r"(?P<shown>.*?)^```$"
    r"|^(?P<stray>```\w*)$",
    re.S | re.M,
)


class CannotFollow(Exception):
    """A step of the tutorial does not work, with the line it stands at."""


@dataclass(frozen=True)
class Output:
    """One output block: where its text stands in the page, and what is printed now."""

    command: str
    start: int
    shown: str
    printed: str


def follow(page: str, folder: Path) -> Iterator[Output]:
    """Work through a page in an empty folder; gives each output block with what was printed.

    Raises CannotFollow for a step that does not work.
    """
    last: tuple[str, int, str] | None = None
    for part in PART.finditer(page):
        line = page.count("\n", 0, part.start()) + 1
        if part["stray"]:
            raise CannotFollow(f"line {line}: a block without its marker, or of a kind that nobody runs")
        if part["shown"] is None and last and last[1]:
            raise CannotFollow(f"line {line}: before it, `{last[0]}` ended with {last[1]}:\n{last[2]}")
        if part["write"]:
            path = folder / part["write"]
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(part["text"], encoding="utf-8")
        elif part["change"]:
            _change(folder / part["change"], part["sentence"], line)
        elif part["run"] is not None:
            last = _run(part["run"], folder, line)
        else:
            if last is None:
                raise CannotFollow(f"line {line}: an output with no command before it")
            if last[1] != int(part["exit"] or 0):
                raise CannotFollow(f"line {line}: `{last[0]}` ended with {last[1]}:\n{last[2]}")
            text = printed.kept(printed.ASIDE.sub("", last[2]), part["keep"])
            yield Output(last[0], part.start("shown"), part["shown"], text)
            last = None
    if last and last[1]:
        raise CannotFollow(f"at the end `{last[0]}` ended with {last[1]}:\n{last[2]}")


def _run(block: str, folder: Path, line: int) -> tuple[str, int, str]:
    """The last command of a block, its exit code and all it printed; those before it must end with 0."""
    last = ("", 0, "")
    for row in block.splitlines():
        if not row.startswith("$ "):
            raise CannotFollow(f"line {line}: a console block holds commands only, each after a $")
        if last[1]:
            raise CannotFollow(f"line {line}: `{last[0]}` ended with {last[1]}:\n{last[2]}")
        code, out, err = printed.run(row[2:], folder)
        last = (row[2:], code, out + err)
    return last


def _change(path: Path, sentence: str, line: int) -> None:
    pieces = re.findall(r"`([^`]+)`", sentence)
    text = path.read_text(encoding="utf-8")
    if len(pieces) != 2 or text.count(pieces[0]) != 1:
        raise CannotFollow(f"line {line}: name the one piece that stands once in {path.name}, then what replaces it")
    path.write_text(text.replace(*pieces), encoding="utf-8")


def refreshed(page: str) -> str:
    """The page with what its commands print now; a block that is still true but for passing figures is kept."""
    with tempfile.TemporaryDirectory(prefix="lugwright-") as folder:
        outputs = list(follow(page, Path(folder)))
    for one in reversed(outputs):
        if printed.differs(one.shown, one.printed):
            page = page[: one.start] + one.printed + page[one.start + len(one.shown) :]
    return page
