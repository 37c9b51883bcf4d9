"""The reasoning drawn: observations -> signs -> causes. The graph is text first; drawing it is optional.

Colour never carries meaning alone: observations are boxes, signs rounded boxes, causes heavy boxes, what speaks
against is dashed. The palette keeps its order in grey (source: luminance of each fill falls from sign to cause) and
uses blue and orange, which people with the common kinds of colour blindness tell apart.
"""

from __future__ import annotations

from collections.abc import Iterable

import graphviz

from lugwright.diagnosis import Diagnosis
from lugwright.report.chosen import Drawn, chosen, rules_behind
from lugwright.report.figures import percent
from lugwright.report.labels import INK, PAPER, label, tip, wrap
from lugwright.report.text import VERDICTS

OBSERVED, SIGN, RULE, CAUSE, SOUND = "#ffffff", "#e8eef5", "#f5f0e6", "#b9cfe6", "#dddddd"
FOR, AGAINST = "#0b4f8a", "#b35900"


def wrapped(text: str, width: int = 24, *more: str) -> str:
    """Text for a node label, wrapped; further lines stand as they are.

    >>> wrapped("Hot hub", 24, "71 %").splitlines()
    ['Hot hub', '71 %']
    """
    return label([*wrap(text, width), *more])


def reasoning_graph(answer: Diagnosis, cause: str | None = None) -> graphviz.Digraph:
    """The reasoning as a graph that stays readable on one A4 page.

    Edges to a cause carry what the sign is worth: the probability without it and with it. Rule nodes carry the rule's
    file and line as a tooltip. The tooltip of whatever comes from an overlay names it.
    """
    drawn = chosen(answer, cause)
    graph = graphviz.Digraph("reasoning", comment="observations, signs, causes")
    graph.attr(rankdir="LR", size="7.5,10.7", ratio="compress", bgcolor=PAPER, fontname="Helvetica", fontsize="13")
    graph.attr(label=_title(answer, drawn), labelloc="t", nodesep="0.12", ranksep="0.45", margin="0.1")
    graph.attr("node", fontname="Helvetica", fontsize="10", color=INK, fontcolor=INK, margin="0.08,0.04", height="0.3")
    graph.attr("edge", fontname="Helvetica", fontsize="9", color=INK, fontcolor=INK, arrowsize="0.6")
    nodes = _Names()
    findings = {one.key: one for one in answer.findings}
    signs = list(dict.fromkeys(edge.finding for edge in drawn.edges))
    _observations(graph, nodes, answer, signs)
    for sign in signs:
        one = findings[sign]
        style = "rounded,filled" if one.state == "seen" else "rounded,filled,dashed"
        state = "" if one.state == "seen" else "looked for, not found: "
        extent = f" ({one.extent})" if one.extent else ""
        place = "" if one.place == "machine" else f", {one.place_words}"
        graph.node(
            nodes[sign],
            wrapped(state + one.name + place + extent),
            shape="box",
            style=style,
            fillcolor=SIGN,
            tooltip=tip(sign + answer.rulebase.mark("symptoms", one.symptom)),
        )
    for ranked in drawn.causes:
        graph.node(
            nodes["cause " + ranked.key],
            wrapped(f"{ranked.name}: {ranked.place_words}", 22, f"{ranked.word}, {percent(ranked.probability)}"),
            shape="box", style="filled,bold", fillcolor=CAUSE, penwidth="2", fontsize="11",
            tooltip=tip(
                f"{ranked.key}{answer.rulebase.mark('causes', ranked.cause)} "
                f"before anything was looked at {percent(ranked.prior)}"
            ),
        )  # fmt: skip
    probability = {one.key: one.probability for one in drawn.causes}
    for edge in drawn.edges:
        now = probability[edge.cause]
        speaks_for = edge.worth >= 0
        before, after = percent(now - edge.worth), percent(now)
        worth = f"{before} → {after}" if before != after else "little"
        graph.edge(
            nodes[edge.finding], nodes["cause " + edge.cause],
            label=f" {worth} ", color=FOR if speaks_for else AGAINST, fontcolor=FOR if speaks_for else AGAINST,
            style="solid" if speaks_for else "dashed", penwidth=f"{1 + 3 * min(1.0, abs(edge.worth) * 2):.1f}",
            tooltip=tip(f"{edge.how_often or 'no link'}: without it {before}, with it {after}"),
        )  # fmt: skip
    graph.node(
        nodes["no fault"],
        label(["No fault beyond normal wear", f"{answer.no_fault_word}, {percent(answer.no_fault)}"]),
        shape="box", style="filled", fillcolor=SOUND, fontsize="11",
    )  # fmt: skip
    if signs:
        graph.edge(nodes[signs[-1]], nodes["no fault"], style="invis")
    with graph.subgraph() as answers:  # in one column at the right, whatever leads to each of them
        answers.attr(rank="same")
        for key in (*("cause " + ranked.key for ranked in drawn.causes), "no fault"):
            answers.node(nodes[key])
    return graph


class _Names:
    """Short node ids in order of first use; text never becomes an id, so ':' and quotes cannot be misread."""

    def __init__(self) -> None:
        self._known: dict[str, str] = {}

    def __getitem__(self, key: str) -> str:
        return self._known.setdefault(key, f"n{len(self._known)}")


def _title(answer: Diagnosis, drawn: Drawn) -> str:
    legend = "solid blue: speaks for   dashed orange: speaks against   figure: probability without the sign and with it"
    demo = "   invented demonstration case" if answer.invented else ""
    verdict = f"verdict: {VERDICTS[answer.verdict.action][0].lower()}"
    left = wrap(drawn.left_words, 100) if drawn.left_words else []
    lines = [*wrap(f"{answer.case}: {answer.machine}", 100), verdict, legend, *left]
    lines += [*wrap(f"{answer.rulebase.words}{demo}", 100), " "]
    return label(lines)


def _observations(graph: graphviz.Digraph, nodes: _Names, answer: Diagnosis, signs: Iterable[str]) -> None:
    """For each sign: the rules that concluded it and what they used; signs written in the case stand as they are."""
    drawn: set[int] = set()
    for sign in signs:
        for step in rules_behind(answer, sign):
            rule = f"rule {step.number}"
            graph.edge(nodes[rule], nodes[sign], tooltip=tip(f"{step.file}:{step.line}"))
            if step.number in drawn:  # one firing may conclude several signs; it is drawn once
                continue
            drawn.add(step.number)
            graph.node(
                nodes[rule], wrapped(step.rule), shape="box", style="filled,dotted", fillcolor=RULE, fontsize="9",
                tooltip=tip(f"{step.file}:{step.line}{answer.rulebase.mark('chaining', step.rule)}", step.because),
            )  # fmt: skip
            for at, used in enumerate(step.used):
                if used.split(" ")[0] in ("partner", "hand", "opposite-side", "axle", "is-axle"):
                    continue
                graph.node(
                    nodes["seen " + used],
                    wrapped(_used_words(used, answer, step.used_words[at : at + 1])),
                    shape="box",
                    style="filled",
                    fillcolor=OBSERVED,
                    fontsize="9",
                )
                graph.edge(nodes["seen " + used], nodes[rule])


def _used_words(used: str, answer: Diagnosis, words: tuple[str, ...] = ()) -> str:
    """What a rule used, in plain words: a reading as it was written, else by `words` where there are any."""
    for reading in answer.readings:
        if used.startswith(reading.key + " "):
            return f"measured: {reading.name}, {reading.place_words}: {reading.text}"
    for one in answer.findings:
        if used.startswith(one.key + " "):
            return f"{'' if one.state == 'seen' else 'not found: '}{one.name}, {one.place_words}"
    return next(iter(words), "") or used
