"""The page as Markdown, for mailing: the same sections, the wear map in words, the trace as its table.

Every text is escaped so that nothing a case or rule file says becomes markup, a link or a picture.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import singledispatch

from lugwright.diagnosis import Diagnosis
from lugwright.report.lines import printable
from lugwright.report.page.blocks import (
    Banner,
    Block,
    Bullets,
    Cautions,
    Facts,
    Heading,
    Picture,
    Steps,
    Table,
    Text,
)
from lugwright.report.page.sections import sections

_SPECIAL = re.compile(r"[\\`*_{}\[\]<>|~&#!$]")
#: What would begin a list, a heading, a rule or a quotation where it opens a line.
_OPENING = re.compile(r"^([-+=>]|\d+[.)])")


def escaped(text: str) -> str:
    """A plain text that Markdown shows as it stands.

    >>> escaped("1. *bold* <b> | [x](y)")
    '1\\\\. \\\\*bold\\\\* \\\\<b\\\\> \\\\| \\\\[x\\\\](y)'
    """
    plain = _SPECIAL.sub(lambda found: "\\" + found[0], printable(" ".join(text.split())))
    plain = re.sub(r"(?i)\b(https?|ftp|www)([:.])", r"\1\\\2", plain).replace("@", "\\@")
    return _OPENING.sub(lambda found: found[1][:-1] + "\\" + found[1][-1], plain)


def page_markdown(answer: Diagnosis) -> str:
    """The whole page; the same diagnosis gives the same bytes."""
    return "\n".join(_page(answer)).rstrip() + "\n"


def _page(answer: Diagnosis) -> Iterator[str]:
    yield f"# {escaped(answer.case)}"
    yield ""
    yield escaped(answer.machine) + "  "
    yield escaped(answer.rulebase.words)
    yield ""
    if answer.invented:
        yield "Invented demonstration case; the machine does not exist."
        yield ""
    for part in sections(answer):
        yield f"## {escaped(part.title)}"
        yield ""
        for block in part.blocks:
            lines = list(_shown(block))
            if lines:
                yield from lines
                yield ""


@singledispatch
def _shown(block: Block) -> Iterator[str]:
    raise TypeError(f"no view for {type(block).__name__}")


@_shown.register
def _(block: Text) -> Iterator[str]:
    yield escaped(block.text)


@_shown.register
def _(block: Banner) -> Iterator[str]:
    yield f"**{escaped(block.word)}** {escaped(block.text)}".rstrip()


@_shown.register
def _(block: Heading) -> Iterator[str]:
    yield f"### {escaped(block.text)}" + (f" ({escaped(block.right)})" if block.right else "")


@_shown.register
def _(block: Facts) -> Iterator[str]:
    for name, text in block.rows:
        yield f"- **{escaped(name)}:** {escaped(text)}"


@_shown.register
def _(block: Bullets) -> Iterator[str]:
    for number, item in enumerate(block.items, 1):
        yield f"{f'{number}.' if block.numbered else '-'} {escaped(item)}"


@_shown.register
def _(block: Cautions) -> Iterator[str]:
    yield "**Before you touch anything**"
    yield ""
    for item in block.items:
        yield f"- {escaped(item)}"


@_shown.register
def _(block: Steps) -> Iterator[str]:
    for number, (caution, do) in enumerate(block.items, 1):
        lead = f"**Caution:** {escaped(caution)} " if caution else ""
        yield f"{number}. {lead}{escaped(do)}"


@_shown.register
def _(block: Table) -> Iterator[str]:
    yield f"**{escaped(block.caption)}**"
    yield ""
    yield "| " + " | ".join(escaped(name) for name in block.columns) + " |"
    yield "|" + "|".join("---:" if column in block.figures else "---" for column in range(len(block.columns))) + "|"
    for row in block.rows:
        yield "| " + " | ".join(escaped(text) for text in row) + " |"


@_shown.register
def _(block: Picture) -> Iterator[str]:
    if block.kind == "map":
        yield "The drawing is in the HTML and PDF report, and from `lugwright map`."
    else:
        yield "The drawing is in the HTML and PDF report, and from `lugwright trace`."
