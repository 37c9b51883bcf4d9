"""Brings everything in the prose that a command printed up to date: output blocks, the trace, the command page,
the book of the rule base.

Run from anywhere:  python tests/tools/refresh_docs.py

A page asks for output with a marker line before a text block:

    <!-- shows: lugwright triage examples/healthy.yaml | keep 1 2 Likely:4 -->

`keep` names the paragraphs (parts between blank lines) to be shown: by number, counted from 1, or by a word that one
of its lines begins with. `3:4` shows only the first four lines of the third. What is left out between or inside them
stands as [...]. Without `keep`, all of the output is shown. A tutorial has markers of its own (see `tutorial`).
"""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Iterator
from pathlib import Path
from unittest import mock

import make_cli_doc
import tutorial
from printed import ASIDE, kept, run

from lugwright.report.render import renderer

ROOT = Path(__file__).resolve().parents[2]
PAGES = ("README.md", "DEVELOPERS.md", "docs/reading-a-diagnosis.md", "docs/belief.md", "docs/overlays.md")
#: Pages that are followed from top to bottom in an empty folder (see `tutorial`).
TUTORIALS = ("docs/authoring.md",)
CASE = "examples/one-unit-off-line.yaml"
BOOK = ROOT / "docs" / "rulebase.md"
DOT, SVG = ROOT / "docs" / "trace-one-unit.dot", ROOT / "docs" / "trace-one-unit.svg"
BLOCK = re.compile(
    r"(?P<marker><!-- shows: (?P<command>lugwright [^\n|]*?)(?: \| keep (?P<keep>[\w: ]+))? -->\n+```(?:text|json)\n)"
    r"(?P<body>.*?)(?P<end>^```$)",
    re.S | re.M,
)


@contextlib.contextmanager
def at_root() -> Iterator[None]:
    """Run in the top folder of the project, so that shown paths are those a reader types."""
    before = Path.cwd()
    os.chdir(ROOT)
    try:
        yield
    finally:
        os.chdir(before)


def output(command: str) -> str:
    """What a command prints on standard output, run from the top folder. Raises RuntimeError when it fails."""
    code, out, err = run(command, ROOT)
    if code:
        raise RuntimeError(f"`{command}` ended with {code}: {err}")
    return ASIDE.sub("", out)


def refreshed(page: str) -> str:
    """A page with every output block made anew."""
    return BLOCK.sub(lambda m: m["marker"] + kept(output(m["command"]), m["keep"]) + m["end"], page)


def trace_dot() -> str:
    """The drawn trace of the README as DOT text."""
    from lugwright.casefile.load import load_case
    from lugwright.report.graph import reasoning_graph
    from lugwright.rulebase.load import load
    from lugwright.triage import triage

    with at_root():
        rulebase = load()
        return reasoning_graph(triage(load_case(Path(CASE), rulebase), rulebase)).source


def rulebase_page() -> str:
    """The book of the shipped rule base."""
    from lugwright.report.book.book import book
    from lugwright.rulebase.load import load

    return book(load())


def trace_svg(dot: str) -> bytes | None:
    """The picture as the renderer of the `draw` extra makes it; None where that is not installed."""
    with mock.patch.dict(os.environ, {"PATH": ""}):  # a `dot` on the PATH would come first and draw other bytes
        draw = renderer("svg")
    return draw(dot) if draw else None


def refresh() -> list[str]:
    """Write what is stale; gives the names of the files that changed."""
    dot = trace_dot()
    wanted = {DOT: dot.encode(), make_cli_doc.PAGE: make_cli_doc.cli_page().encode(), BOOK: rulebase_page().encode()}
    picture = trace_svg(dot)
    if picture is not None:
        wanted[SVG] = picture
    for name in PAGES:
        page = ROOT / name
        wanted[page] = refreshed(page.read_text(encoding="utf-8")).encode()
    for name in TUTORIALS:
        page = ROOT / name
        wanted[page] = tutorial.refreshed(page.read_text(encoding="utf-8")).encode()
    changed = [path for path, data in wanted.items() if not path.exists() or path.read_bytes() != data]
    for path in changed:
        path.write_bytes(wanted[path])
    return [str(path.relative_to(ROOT)) for path in changed]


if __name__ == "__main__":
    print("\n".join(refresh()) or "nothing was stale")
