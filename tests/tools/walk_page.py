"""Brings the conversation printed in docs/walkround.md up to date.

Run from anywhere:  python tests/tools/walk_page.py

A marker line before a text block gives the file's name and the answers, one after another, parted by slashes:

    <!-- walk: yard-7.yaml | Tractor 9 / two / friction / 1400 / / quit -->
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path

from lugwright.rulebase.load import load
from lugwright.walkround.draft import as_text
from lugwright.walkround.save import load as load_draft
from lugwright.walkround.terminal import talk

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "walkround.md"
WALK = re.compile(
    r"(?P<marker><!-- walk: (?P<file>[\w.-]+) \| (?P<answers>[^>]*?) -->\n+```text\n)(?P<body>.*?)(?P<end>^```$)",
    re.S | re.M,
)
FILE = re.compile(r"(?P<marker><!-- the file -->\n+```yaml\n)(?P<body>.*?)(?P<end>^```$)", re.S | re.M)


@contextlib.contextmanager
def elsewhere() -> Iterator[None]:
    """Work in an empty folder, so that paths are shown as a reader types them."""
    before = Path.cwd()
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        try:
            yield
        finally:
            os.chdir(before)


def refreshed(page: str) -> str:
    """The page with its conversations held again, each going on with the file that the one before it left."""
    rulebase = load()
    with elsewhere():

        def held(match: re.Match[str]) -> str:
            path = Path(match["file"])
            draft = load_draft(path)
            if not draft.data:
                draft = draft.put("case", path.stem)
            lines = [one.strip() for one in match["answers"].split(" / ")]
            out = io.StringIO()
            talk(path, draft, rulebase, io.StringIO("".join(one + "\n" for one in lines)), out, echo=True)
            held.file = as_text(load_draft(path))  # type: ignore[attr-defined]
            return match["marker"] + out.getvalue().rstrip() + "\n" + match["end"]

        page = WALK.sub(held, page)
        return FILE.sub(lambda m: m["marker"] + held.file + m["end"], page)  # type: ignore[attr-defined]


if __name__ == "__main__":
    old = PAGE.read_text(encoding="utf-8")
    new = refreshed(old)
    PAGE.write_text(new, encoding="utf-8")
    print("nothing was stale" if new == old else str(PAGE.relative_to(ROOT)))
