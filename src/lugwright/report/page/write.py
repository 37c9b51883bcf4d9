"""The page as a file; the ending of its name chooses HTML, Markdown or PDF. The map likewise: SVG or PNG."""

from __future__ import annotations

from pathlib import Path

from lugwright.diagnosis import Diagnosis
from lugwright.report.browser import page_to_pdf, svg_to_png
from lugwright.report.page.html import page_html
from lugwright.report.page.markdown import page_markdown
from lugwright.report.render import CannotDraw, renderer, write_whole
from lugwright.report.wear_map import wear_map_svg

PAGES = (".html", ".md", ".pdf")
MAPS = (".svg", ".png")
PAPERS = ("A4", "Letter")


def write_page(answer: Diagnosis, target: Path, *, paper: str = "A4") -> str:
    """Write the page. paper: for PDF only; a printed HTML page takes the printer's paper.

    Returns a note for the person, empty when all went well. Raises CannotDraw for an unknown ending or where PDF cannot
    be made, OSError when the file cannot be written. Nothing half-written stays behind.
    """
    kind = target.suffix.lower()
    if kind not in PAGES:
        raise CannotDraw(f"'{target.name}' does not end in one of: {', '.join(PAGES)}")
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
    kind = target.suffix.lower()
    if kind not in MAPS:
        raise CannotDraw(f"'{target.name}' does not end in one of: {', '.join(MAPS)}")
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
