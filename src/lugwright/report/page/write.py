"""The page as a file; the ending of its name chooses HTML, Markdown or PDF. The map likewise: SVG or PNG."""

from __future__ import annotations

import errno
import os
from pathlib import Path

from lugwright.diagnosis import Diagnosis
from lugwright.report.browser import ADVICE, browser, page_to_pdf, svg_to_png
from lugwright.report.page.html import page_html
from lugwright.report.page.markdown import page_markdown
from lugwright.report.render import CannotDraw, renderer, write_whole
from lugwright.report.wear_map import wear_map_svg

PAGES = (".html", ".md", ".pdf")
MAPS = (".svg", ".png")
PAPERS = ("A4", "Letter")


def foresee(target: Path, endings: tuple[str, ...]) -> None:
    """Find out what will stand in the way of a file before any work is done for it.

    endings: `PAGES` or `MAPS`. Raises CannotDraw for another ending or where the browser it needs is missing, OSError
    when its folder is missing or cannot be written to.
    """
    kind = target.suffix.lower()
    if kind not in endings:
        raise CannotDraw(f"'{target.name}' does not end in one of: {', '.join(endings)}")
    if kind in (".pdf", ".png") and browser() is None:
        raise CannotDraw(ADVICE)
    for wrong, code in (
        (not target.parent.is_dir(), errno.ENOENT),
        (target.is_dir(), errno.EISDIR),
        (not os.access(target.parent, os.W_OK), errno.EACCES),
    ):
        if wrong:
            raise OSError(code, os.strerror(code))


def write_page(answer: Diagnosis, target: Path, *, paper: str = "A4") -> str:
    """Write the page. paper: for PDF only; a printed HTML page takes the printer's paper.

    Returns a note for the person, empty when all went well. Raises CannotDraw for an unknown ending or where PDF cannot
    be made, OSError when the file cannot be written. Nothing half-written stays behind.
    """
    foresee(target, PAGES)
    kind = target.suffix.lower()
    if kind == ".md":
        write_whole(target, page_markdown(answer).encode())
        return ""
    drawn = trace_svg(answer)
    if kind == ".html":
        write_whole(target, page_html(answer, drawn).encode())
    else:
        write_whole(target, page_to_pdf(page_html(answer, drawn, paper=paper)))
    return "" if drawn else "the trace stands in it as text: to have it drawn, pip install 'lugwright[draw]'"


def write_map(answer: Diagnosis, target: Path) -> None:
    """Write the wear map as SVG or PNG. Raises CannotDraw, OSError as above."""
    foresee(target, MAPS)
    kind = target.suffix.lower()
    svg = wear_map_svg(answer)
    if kind == ".svg":
        write_whole(target, svg.encode())
    else:
        write_whole(target, svg_to_png(svg))


def trace_svg(answer: Diagnosis) -> str | None:
    """The drawn trace where this machine can draw; None where it cannot."""
    draw = renderer("svg")
    if draw is None:
        return None
    from lugwright.report.graph import reasoning_graph

    try:
        return draw(reasoning_graph(answer).source).decode()
    except CannotDraw:
        return None
