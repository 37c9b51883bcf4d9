"""Strokes of the wear map: text, lines, boxes and rings, each with the class by which a page may recolour it."""

from __future__ import annotations

from lugwright.report.labels import wrap
from lugwright.report.markup import Markup, el, joined
from lugwright.report.wear_symbols import INK, LINE, PAPER


def ring(x: float, y: float) -> Markup:
    """A small ring: looked at, nothing found."""
    return el("circle", cx=x, cy=y, r=3, fill="none", stroke=LINE, stroke_width=1.2, class_="wm-line")


def words_at(
    x: float, y: float, words: str, size: float, *, anchor: str = "", bold: bool = False, plate: bool = False
) -> Markup:
    """Words on one line. anchor: `middle` or `end`; plate: on a piece of paper, where the ground is hatched."""
    text = el(
        "text",
        " ".join(wrap(words, 400)),
        x=x,
        y=y,
        font_size=size,
        fill=INK,
        class_="wm-ink-fill",
        text_anchor=anchor or None,
        font_weight="bold" if bold else None,
    )
    if not plate:
        return text
    width = 5.2 * len(words) + 4
    return joined([el("rect", x=x - 2, y=y - 9, width=width, height=12, fill=PAPER, class_="wm-paper"), text])


def stroke(x1: float, y1: float, x2: float, y2: float, *, dashed: bool = False) -> Markup:
    """A straight line."""
    return el(
        "line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=LINE, class_="wm-line", stroke_dasharray="6 4" if dashed else None
    )


def box(x: float, y: float, width: float, height: float, *, heavy: bool = False, faint: bool = False) -> Markup:
    """An outline: heavy round a unit, faint for what is only shown to help the eye."""
    return el(
        "rect",
        x=x,
        y=y,
        width=width,
        height=height,
        fill="none",
        stroke=LINE,
        class_="wm-line",
        stroke_width=2 if heavy else 0.6 if faint else 1,
    )
