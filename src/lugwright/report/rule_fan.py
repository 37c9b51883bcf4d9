"""A fan: one node at the left, a row for each of its links, and at the right the items that the links lead to.

Every row has its own place on the page, so lines never cross and a cause with thirty signs stays readable. The layout
is worked out here; the drawing program only draws it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

import graphviz

from lugwright.report.graph import AGAINST, CAUSE, FOR, SIGN
from lugwright.report.rule_canvas import BAND, label, tip, wrap
from lugwright.report.rule_links import Link

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

_THICK = {"almost-always": "4.5", "usually": "3.4", "often": "2.4", "sometimes": "1.5", "rarely": "0.8", "never": "1.5"}
_WORDS_WIDE, _ITEM_WIDE = 44, 36  # letters in a line of the words of a link, and of an item
# Inches, from the left edge of the hub to the right edge of the items; then the room for a letter and for a line.
_HUB, _SPREAD, _WORDS, _GAP, _ITEM = 1.55, 0.85, 2.75, 0.2, 2.75
_LETTER, _LINE, _HEADING, _BETWEEN = 0.057, 0.15, 0.24, 0.06
_LEFT = _HUB + _SPREAD
_RIGHT = _LEFT + _WORDS + _GAP


class Item(NamedTuple):
    """The far end of a link: kind and id, its text, and the band it stands in."""

    key: str
    text: str
    band: str


class Area(NamedTuple):
    """Where a node stands: middle, width and height, in inches; y falls down the page."""

    x: float
    y: float
    wide: float
    tall: float


def fan(
    graph: graphviz.Digraph,
    rulebase: RuleBase,
    hub_key: str,
    hub: Sequence[str],
    rows: Sequence[Link],
    bands: Sequence[tuple[str, str]],
    item: Callable[[Link], Item],
) -> None:
    """Lay out and draw the links of one node.

    hub_key, hub: kind and id of the node at the left, and its lines.
    bands:        name and heading of each band, in order; an empty one is left out.
    item:         the far end of a link.
    """
    graph.attr(layout="neato", splines="line", outputorder="nodesfirst", overlap="true")
    ends: list[tuple[Link, str]] = []
    number = {key: index for index, key in enumerate(dict.fromkeys(item(row).key for row in rows))}
    y = 0.0
    for band, heading in bands:
        inside = sorted((row for row in rows if item(row).band == band), key=lambda row: number[item(row).key])
        blocks = [(one, tuple(group)) for one, group in groupby(inside, key=item)]
        if not blocks:
            continue
        sizes = [_size(one, block) for one, block in blocks]
        _band(graph, band, heading, y, _HEADING + sum(sizes) + _BETWEEN * len(sizes))
        y -= _HEADING
        for (one, block), size in zip(blocks, sizes, strict=True):
            area = Area(_RIGHT + _ITEM / 2, y - size / 2, _ITEM, size)
            _node(graph, f"i{number[one.key]}", rulebase, one.key, wrap(one.text, _ITEM_WIDE), area)
            ends += _rows(graph, block, len(ends), area)
            y -= size + _BETWEEN
        y -= 0.08
    _node(graph, "hub", rulebase, hub_key, hub, Area(_HUB / 2, y / 2, _HUB, _LINE * len(hub) + 0.2))
    for row, node in ends:
        look = {"color": AGAINST if row.against else FOR, "style": "dashed" if row.against else "solid",
                "tooltip": _tip(row)}  # fmt: skip
        graph.edge("hub:e", f"{node}:w", dir="none", penwidth="0.8", **look)
        graph.edge(f"{node}:e", f"{node}e", penwidth=_THICK[row.how_often], **look)


def words(link: Link) -> str:
    """How often and where, or that the sign speaks against the cause."""
    said = "speaks against" if link.against else link.how_often.replace("-", " ")
    return f"{said}, {link.where}" if link.where else said


def _tip(link: Link) -> str:
    return tip(f"{link.cause}: {link.symptom}", link.spot)


def _tall(link: Link) -> float:
    return _LINE * len(wrap(words(link), _WORDS_WIDE)) + 0.05


def _size(item: Item, block: Sequence[Link]) -> float:
    return max(sum(_tall(row) for row in block), 0.16 * len(wrap(item.text, _ITEM_WIDE)) + 0.08)


def _band(graph: graphviz.Digraph, band: str, heading: str, top: float, tall: float) -> None:
    middle = _RIGHT + _ITEM / 2
    ground = Area(middle, top - tall / 2, _ITEM + 0.2, tall)
    _box(graph, f"band_{band}", ground, style="filled", fillcolor=BAND, color=BAND)
    title = Area(middle, top - 0.12, _ITEM, 0.2)
    _box(graph, f"head_{band}", title, label=label([heading], "\\l"), shape="plaintext", fontsize="9")


def _rows(graph: graphviz.Digraph, block: Sequence[Link], first: int, item: Area) -> list[tuple[Link, str]]:
    """The words of each link of one item, and the point of the item's border where its line ends."""
    placed = []
    y = item.y + sum(_tall(row) for row in block) / 2
    for serial, row in enumerate(block, first):
        lines, height, node = wrap(words(row), _WORDS_WIDE), _tall(row), f"r{serial}"
        wide = _LETTER * max(len(line) for line in lines) + 0.1
        said = Area(_LEFT + wide / 2, y - height / 2, wide, height)
        _box(graph, node, said, label=label(lines, "\\l"), shape="plaintext", fontsize="9", tooltip=_tip(row))
        _box(graph, f"{node}e", Area(_RIGHT, y - height / 2, 0.01, 0.01), shape="point", style="invis")
        placed.append((row, node))
        y -= height
    return placed


def _node(graph: graphviz.Digraph, node: str, rulebase: RuleBase, key: str, lines: Sequence[str], area: Area) -> None:
    """A cause as a box with a heavy border, a symptom as a rounded box."""
    heavy = key.startswith("causes/")
    look = {"style": "filled" if heavy else "rounded,filled", "fillcolor": CAUSE if heavy else SIGN}
    spot = str(rulebase.spots[key]) if key in rulebase.spots else ""
    said = tip(key.partition("/")[2], spot)
    _box(graph, node, area, label=label(lines), penwidth="2" if heavy else "1", tooltip=said, **look)


def _box(graph: graphviz.Digraph, node: str, area: Area, **look: str) -> None:
    """A node at a fixed spot; it is made larger where its text needs more room."""
    pos, width, height = f"{area.x:.3f},{area.y:.3f}!", f"{area.wide:.3f}", f"{area.tall:.3f}"
    graph.node(node, **{"label": "", "shape": "box", **look}, pos=pos, width=width, height=height)
