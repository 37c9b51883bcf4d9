"""What every picture of the rule base is drawn with: an A4 page, and labels that cannot be read as anything else."""

from __future__ import annotations

from collections.abc import Sequence

import graphviz

from lugwright.report.labels import INK, PAPER, label, tip, wrap

__all__ = ["BAND", "canvas", "label", "tip", "wrap"]

BAND = "#f1f1ec"  # the ground of a group of nodes


def canvas(name: str, title: Sequence[str]) -> graphviz.Digraph:
    """An empty picture that fits one A4 page, with its title and legend."""
    graph = graphviz.Digraph(name)
    graph.attr(size="7.5,10.9", bgcolor=PAPER, fontname="Helvetica", fontsize="11", fontcolor=INK, margin="0.1")
    lines = [part for line in title for part in wrap(line, 120)]
    graph.attr(labelloc="t", labeljust="l", tooltip=" ", label=label([*lines, ""], "\\l"))
    graph.attr("node", fontname="Helvetica", fontsize="10", color=INK, fontcolor=INK, margin="0.06,0.03", tooltip=" ")
    graph.attr("edge", fontname="Helvetica", fontsize="8", color=INK, fontcolor=INK, arrowsize="0.6")
    return graph
