"""The symbols of the wear map: one shape, one fill pattern and one colour for each family of parts."""

from __future__ import annotations

import math

from lugwright.report.markup import Markup, el, joined
from lugwright.report.wear_cells import FAMILIES

INK, LINE, PAPER = "#1a1a1a", "#6b6b6b", "#ffffff"


def _chord(radius: float, distance: float) -> str:
    """A slanting stroke across a circle round nothing, so far from its middle."""
    half = math.sqrt(radius**2 - distance**2)
    ends = [(distance + way * half) / math.sqrt(2) for way in (-1, 1)]
    return f"M{ends[0]:.1f} {ends[1]:.1f}L{ends[1]:.1f} {ends[0]:.1f}"


#: Shapes in a square of 14, centred on nothing.
_SHAPES = {
    "lugs": "M-6 -6 h12 v12 h-12 z",
    "wheels": "M-6.5 0 a6.5 6.5 0 1 0 13 0 a6.5 6.5 0 1 0 -13 0 z",
    "hubs": "M-7 0 l3.5 -6 h7 l3.5 6 l-3.5 6 h-7 z",
    "belt": "M0 -7.5 l7.5 7.5 l-7.5 7.5 l-7.5 -7.5 z",
    "frame": "M0 -7 l7 13 h-14 z",
    "running": "M-2 -7 h4 v5 h5 v4 h-5 v5 h-4 v-5 h-5 v-4 h5 z",
}
#: Drawn into a shape. Plain strokes: a browser puts each use of a pattern fill into a PDF as a picture of its own.
_CHORDS = (-3.0, 0.0, 3.0)
_MARKS = {
    "wheels": " ".join(_chord(6.0, distance) for distance in _CHORDS),
    "hubs": "M0 0h0M3.2 0h0M-3.2 0h0M1.6 -3h0M-1.6 -3h0M1.6 3h0M-1.6 3h0",
    "belt": "M-4 -2.6h8M-6.2 0h12.4M-4 2.6h8",
    "frame": "M-3 0h6M-4.6 3h9.2M0 -5v11M-3 -0.6v6.6M3 -0.6v6.6",
}
_DOTS = ("hubs",)
_WHOLE = ("lugs",)
#: Distance between the strokes of the hatching.
EVERY = 8.0


def symbol(family: str, x: float, y: float) -> Markup:
    """The symbol of a family, centred on a point."""
    one = next(found for found in FAMILIES if found.id == family)
    whole = family in _WHOLE
    shape = el(
        "path",
        d=_SHAPES[family],
        transform=f"translate({x:g} {y:g})",
        fill=one.colour if whole else PAPER,
        stroke=one.colour,
        stroke_width=1.6,
        class_=f"wm-{family} {'wm-whole' if whole else 'wm-open'}",
    )
    if family not in _MARKS:
        return shape
    mark = el(
        "path",
        d=_MARKS[family],
        transform=f"translate({x:g} {y:g})",
        fill="none",
        stroke=one.colour,
        stroke_width=1.8 if family in _DOTS else 1.2,
        stroke_linecap="round" if family in _DOTS else None,
        class_=f"wm-{family}",
    )
    return joined([shape, mark])


def hatched(x: float, y: float, width: float, height: float) -> Markup:
    """Slanting strokes inside a rectangle; those of two rectangles side by side go on in one another."""
    right, bottom = x + width, y + height
    strokes = []
    for step in range(math.ceil((x + y) / EVERY), math.ceil((right + bottom) / EVERY)):
        along = step * EVERY
        start = max(x, along - bottom), min(bottom, along - x)
        end = min(right, along - y), max(y, along - right)
        strokes.append(f"M{start[0]:g} {start[1]:g}L{end[0]:g} {end[1]:g}")
    return el("path", d="".join(strokes), fill="none", stroke="#b9b9b9", stroke_width=1.2, class_="wm-hatch")


def dark_style() -> str:
    """Style rules that turn a map inside a page dark."""
    rules = [
        ".wm-paper { fill: var(--page-ground); }",
        ".wm-ink-fill { fill: var(--page-text); }",
        ".wm-line { stroke: #9a9a9a; }",
        ".wm-hatch { stroke: #5a5a5a; }",
        ".wm-open { fill: var(--page-ground); }",
    ]
    for family in FAMILIES:
        rules.append(f".wm-{family.id} {{ stroke: {family.dark}; }}")
        if family.id in _WHOLE:
            rules.append(f".wm-{family.id}.wm-whole {{ fill: {family.dark}; }}")
    return "\n".join(rules)
