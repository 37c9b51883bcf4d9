"""The rule base drawn: one cause with its signs, or one symptom with everything it may mean. Text first, then drawn.

Colour never carries meaning alone. A sign that speaks for a cause has a solid blue line, one that speaks against it a
dashed orange one; how often is written on the line and is also its thickness. Causes are boxes with heavy borders,
signs are rounded. The fills fall in lightness from paper to cause, so the picture reads in grey too; blue and orange
are told apart with the common kinds of colour blindness.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import graphviz

from lugwright.report.rule_canvas import canvas, wrap
from lugwright.report.rule_fan import Item, fan
from lugwright.report.rule_links import COMPONENTS, SCOPES, Link, links

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase


def rule_graph(rulebase: RuleBase, name: str) -> graphviz.Digraph:
    """The picture of one cause or one symptom: a line for each link. Raises KeyError for an id that is neither."""
    if name in rulebase.causes:
        return _cause_graph(rulebase, name)
    return _symptom_graph(rulebase, name)


def _cause_graph(rulebase: RuleBase, name: str) -> graphviz.Digraph:
    cause = rulebase.causes[name]
    graph = canvas(
        "cause",
        [
            f"{cause.name}: what it shows",
            "solid blue: a sign of the cause, the thicker the more often.   dashed orange: speaks against it when seen",
            "in brackets: how often the sign is seen on a sound undercarriage",
            rulebase.label,
        ],
    )
    oriented = f", pointing by {cause.oriented}" if cause.oriented != "none" else ""
    hub = [*wrap(cause.name, 22), *wrap(SCOPES[cause.acts_on] + oriented, 22), f"beforehand {cause.beforehand}"]
    rows = links(rulebase, cause=name)

    def item(link: Link) -> Item:
        symptom = rulebase.symptoms[link.symptom]
        return Item(f"symptoms/{link.symptom}", f"{symptom.name} ({symptom.sound})", symptom.component)

    bands = [(one, one.replace("-", " ")) for one in COMPONENTS]
    fan(graph, rulebase, f"causes/{name}", hub, rows, bands, item)
    return graph


def _symptom_graph(rulebase: RuleBase, name: str) -> graphviz.Digraph:
    symptom = rulebase.symptoms[name]
    graph = canvas(
        "symptom",
        [
            f"{symptom.name}: what it may mean",
            "solid blue: the cause shows it, the thicker the more often.   dashed orange: it speaks against the cause",
            "on a line: how often it is seen when that cause is there, and where.   in brackets: how likely beforehand",
            rulebase.label,
        ],
    )
    hub = [*wrap(symptom.name, 22), *wrap(f"on a sound undercarriage: {symptom.sound}", 22)]
    rows = links(rulebase, symptom=name)

    def item(link: Link) -> Item:
        cause = rulebase.causes[link.cause]
        return Item(f"causes/{link.cause}", f"{cause.name} ({cause.beforehand})", cause.acts_on)

    fan(graph, rulebase, f"symptoms/{name}", hub, rows, list(SCOPES.items()), item)
    return graph
