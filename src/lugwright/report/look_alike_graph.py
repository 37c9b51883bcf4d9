"""Which causes are taken for one another, drawn in groups on one page, and as indented text.

Two causes of one group that are taken for one another are joined by a line that names the check which splits them. A
look-alike in another group stands in small print under the cause, by the check and the number of its box.
"""

from __future__ import annotations

import html
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import graphviz

from lugwright.report.graph import CAUSE
from lugwright.report.labels import INK
from lugwright.report.lines import Line, printable
from lugwright.report.rule_canvas import BAND, canvas, label, tip, wrap
from lugwright.report.rule_links import Alike, alikes, look_alike_groups

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase


def numbered(groups: Sequence[Sequence[str]]) -> dict[str, str]:
    """The number of each cause: its group and its place in it.

    >>> numbered([["a", "b"], ["c"]])
    {'a': '1.1', 'b': '1.2', 'c': '2.1'}
    """
    return {name: f"{g}.{n}" for g, group in enumerate(groups, 1) for n, name in enumerate(group, 1)}


def look_alike_graph(rulebase: RuleBase) -> graphviz.Digraph:
    """Every pair of look-alikes: a line inside a group, small print across groups. Fits one A4 page."""
    pairs = alikes(rulebase)
    groups = look_alike_groups(pairs)
    number = numbered(groups)
    graph = canvas(
        "look-alikes",
        [
            "Look-alikes: causes that are taken for one another",
            "on a line: the check that splits the two.   arrow: only the cause it leaves names the other",
            "small print: look-alikes in other groups, the check that splits them and the number of the box",
            rulebase.label,
        ],
    )
    graph.attr("edge", fontsize="9")
    graph.attr(rankdir="LR", nodesep="0.08", ranksep="0.12")
    for index, group in sorted(enumerate(groups, 1), reverse=True):  # the last one drawn stands on top
        with graph.subgraph(name=f"cluster_{index}") as band:
            band.attr(label="", style="filled,rounded", fillcolor=BAND, color=BAND, margin="5")
            for name in group:
                _cause(band, rulebase, name, number, pairs)
    for pair in pairs:
        if number[pair.one].split(".")[0] == number[pair.two].split(".")[0]:
            _line(graph, pair, number)
    return graph


def _node(number: str) -> str:
    return "c" + number.replace(".", "_")


def _cause(
    band: graphviz.Digraph, rulebase: RuleBase, name: str, number: Mapping[str, str], pairs: Sequence[Alike]
) -> None:
    away: dict[str, list[str]] = {}
    for pair in elsewhere(name, number, pairs):
        away.setdefault(pair.check, []).append(number[pair.other(name)])
    said = [line for check, others in away.items() for line in wrap(f"{check}: {' '.join(others)}", 26)]
    title = wrap(f"{number[name]}  {rulebase.causes[name].name}", 20)
    rows = [f'<FONT POINT-SIZE="11">{_markup(line)}</FONT>' for line in title]
    rows += [f'<FONT POINT-SIZE="8.5">{_markup(line)}</FONT>' for line in said]
    spot = str(rulebase.spots[f"causes/{name}"]) if f"causes/{name}" in rulebase.spots else ""
    band.node(
        _node(number[name]),
        f"<{'<BR/>'.join(rows)}>",
        shape="box",
        style="filled",
        penwidth="2",
        fillcolor=CAUSE,
        tooltip=tip(name, spot),
    )


def elsewhere(name: str, number: Mapping[str, str], pairs: Sequence[Alike]) -> list[Alike]:
    """The look-alikes of a cause that stand in other groups: by the name of the check, then by number."""
    group = number[name].split(".")[0]
    away = [pair for pair in pairs if name in (pair.one, pair.two) and number[pair.other(name)].split(".")[0] != group]
    return sorted(away, key=lambda pair: (pair.check, _in_order(number[pair.other(name)])))


def _markup(text: str) -> str:
    """Text inside a label that has sizes; a backslash would be read as an escape even there."""
    return html.escape(printable(text)).replace("\\", "\\\\")


def _in_order(number: str) -> tuple[int, ...]:
    return tuple(int(part) for part in number.split("."))


def _check_lines(check: str) -> list[str]:
    """A check id in lines of about twelve letters, broken behind its hyphens.

    >>> _check_lines("lug-side-temperature")
    ['lug-side-', 'temperature']
    """
    lines = [""]
    for part in check.replace("-", "- ").split():
        if lines[-1] and len(lines[-1] + part) > 12:
            lines.append("")
        lines[-1] += part
    return lines


def _line(graph: graphviz.Digraph, pair: Alike, number: Mapping[str, str]) -> None:
    one, two = _node(number[pair.one]), _node(number[pair.two])
    way = "none" if len(pair.named_by) == 2 else "forward" if pair.named_by == (pair.one,) else "back"
    tooltip = tip(f"{pair.one} / {pair.two}", *pair.spots)
    graph.edge(
        one, two, label=label(_check_lines(pair.check)), dir=way, color=INK, tooltip=tooltip, labeltooltip=tooltip
    )


def look_alike_lines(rulebase: RuleBase) -> Iterator[Line]:
    """The same as indented text: each group, its causes, and what each is taken for."""
    pairs = alikes(rulebase)
    groups = look_alike_groups(pairs)
    number = numbered(groups)
    yield Line("Look-alikes: causes that are taken for one another, and the check that splits them", tone="head")
    if not pairs:
        yield Line("No cause names another as its look-alike.", indent=2)
    for index, group in enumerate(groups, 1):
        yield Line()
        yield Line(f"Group {index}", tone="head")
        for name in group:
            yield Line(
                f"{rulebase.causes[name].name}  ({name})", indent=2, label=number[name], label_width=5, tone="strong"
            )
            mine = [pair for pair in pairs if name in (pair.one, pair.two)]
            for pair in sorted(mine, key=lambda pair: (_in_order(number[pair.other(name)]), pair.check)):
                other = pair.other(name)
                only = "" if len(pair.named_by) == 2 else f", named only by {pair.named_by[0]}"
                text = f"{rulebase.causes[other].name}; split by {pair.check}{only}"
                yield Line(text, indent=7, label=number[other], label_width=5)
    rest = [name for name in rulebase.causes if name not in number]
    if pairs and rest:
        yield Line()
        yield Line(", ".join(rest), label="without a look-alike", label_width=22)
