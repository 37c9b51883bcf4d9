"""What every picture of the rule base is drawn with: an A4 page, and labels that cannot be read as anything else."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import graphviz

from lugwright.report.graph import INK, PAPER
from lugwright.report.lines import printable

BAND = "#f1f1ec"  # the ground of a group of nodes


def wrap(text: str, width: int) -> list[str]:
    """A text as lines: control marks made visible, nothing longer than the width, at most 400 letters."""
    return textwrap.wrap(printable(text)[:400], width, break_long_words=True, break_on_hyphens=False) or [""]


def label(lines: Sequence[str], end: str = "\n") -> str:
    """Lines as a node label; nothing in them can be read as markup or as an escape. `end` may be `\\\\l`: to the left.

    >>> label(["<b>bold</b>", "back\\\\slash"])
    '<b>bold</b>\\nback\\\\\\\\slash'
    """
    safe = [str(graphviz.escape(line.replace("&", "&amp;"))) for line in lines]  # names of letters are read even here
    text: str = graphviz.nohtml("".join(line + end for line in safe) if end != "\n" else end.join(safe))
    return text


def tip(*parts: str) -> str:
    """A tooltip: what is written where. Never markup."""
    return label(["   ".join(printable(part) for part in parts if part)])


def canvas(name: str, title: Sequence[str]) -> graphviz.Digraph:
    """An empty picture that fits one A4 page, with its title and legend."""
    graph = graphviz.Digraph(name)
    graph.attr(size="7.5,10.9", bgcolor=PAPER, fontname="Helvetica", fontsize="11", fontcolor=INK, margin="0.1")
    lines = [part for line in title for part in wrap(line, 120)]
    graph.attr(labelloc="t", labeljust="l", tooltip=" ", label=label([*lines, ""], "\\l"))
    graph.attr("node", fontname="Helvetica", fontsize="10", color=INK, fontcolor=INK, margin="0.06,0.03", tooltip=" ")
    graph.attr("edge", fontname="Helvetica", fontsize="8", color=INK, fontcolor=INK, arrowsize="0.6")
    return graph
