"""The symbols of the wear map: one shape, one fill pattern and one colour for each family of parts."""

from __future__ import annotations

from lugwright.report.markup import Markup, el
from lugwright.report.wear_cells import FAMILIES

INK, LINE, PAPER = "#1a1a1a", "#6b6b6b", "#ffffff"
HATCH = "hatch"

#: Shapes in a square of 14, centred on nothing.
_SHAPES = {
    "lugs": "M-6 -6 h12 v12 h-12 z",
    "wheels": "M-6.5 0 a6.5 6.5 0 1 0 13 0 a6.5 6.5 0 1 0 -13 0 z",
    "hubs": "M-7 0 l3.5 -6 h7 l3.5 6 l-3.5 6 h-7 z",
    "belt": "M0 -7.5 l7.5 7.5 l-7.5 7.5 l-7.5 -7.5 z",
    "frame": "M0 -7 l7 13 h-14 z",
    "running": "M-2 -7 h4 v5 h5 v4 h-5 v5 h-4 v-5 h-5 v-4 h5 z",
}
#: What is drawn into a tile of 4 by 4 over the paper; a family without one is filled whole, or left open.
_TILES = {
    "wheels": "M-1 1 l2 -2 M0 4 l4 -4 M3 5 l2 -2",
    "hubs": "M1.2 2 a0.8 0.8 0 1 0 1.6 0 a0.8 0.8 0 1 0 -1.6 0 z",
    "belt": "M0 2 h4",
    "frame": "M0 2 h4 M2 0 v4",
}
_WHOLE = ("lugs",)


def definitions(ids: str) -> Markup:
    """The fill patterns, with ids that begin as asked."""
    tiles = [
        el(
            "pattern",
            el("rect", width=4, height=4, fill=PAPER, class_="wm-paper"),
            el(
                "path",
                d=_TILES[family.id],
                stroke=family.colour,
                stroke_width=1.3,
                fill="none",
                class_=_class(family.id),
            ),
            id=f"{ids}-{family.id}",
            width=4,
            height=4,
            patternUnits="userSpaceOnUse",
        )
        for family in FAMILIES
        if family.id in _TILES
    ]
    hatch = el(
        "pattern",
        el("path", d="M-2 2 l4 -4 M0 8 l8 -8 M6 10 l4 -4", stroke="#b9b9b9", stroke_width=1.2, class_="wm-hatch"),
        id=f"{ids}-{HATCH}",
        width=8,
        height=8,
        patternUnits="userSpaceOnUse",
    )
    return el("defs", *tiles, hatch)


def symbol(family: str, x: float, y: float, ids: str) -> Markup:
    """The symbol of a family, centred on a point."""
    one = next(found for found in FAMILIES if found.id == family)
    whole = family in _WHOLE
    fill = one.colour if whole else f"url(#{ids}-{family})" if family in _TILES else PAPER
    classes = _class(family) + (" wm-whole" if whole else "" if family in _TILES else " wm-open")
    return el(
        "path",
        d=_SHAPES[family],
        transform=f"translate({x:g} {y:g})",
        fill=fill,
        stroke=one.colour,
        stroke_width=1.6,
        class_=classes,
    )


def _class(family: str) -> str:
    return f"wm-{family}"


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
