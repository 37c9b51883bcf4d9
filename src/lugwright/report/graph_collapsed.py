"""The reasoning by stages: readings and notes -> signs by part -> causes, each as one box with its count.

However many findings a case has, there is one box for each check, each part of the undercarriage and each leading
cause. Colours and line styles are those of the whole trace.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import graphviz

from lugwright.diagnosis import Diagnosis, RankedCause
from lugwright.report.chosen import Drawn, chosen
from lugwright.report.figures import percent
from lugwright.report.graph import AGAINST, CAUSE, FOR, OBSERVED, SIGN, SOUND, wrapped
from lugwright.report.labels import INK, PAPER, label, tip, wrap
from lugwright.report.lines import Line
from lugwright.report.text import VERDICTS
from lugwright.report.trace_text import BEARING


@dataclass(frozen=True)
class Part:
    """The signs of one part of the undercarriage: how many were seen, how many looked for and not found."""

    name: str
    seen: int
    absent: int
    concluded: int


@dataclass(frozen=True)
class Link:
    """From a part to a cause: how many of its signs speak for and against, and the largest change of any of them."""

    part: str
    cause: str
    speaks_for: int
    against: int
    most: float


@dataclass(frozen=True)
class Stages:
    """The reasoning counted: measured is (check, readings, part it led to), in order."""

    measured: tuple[tuple[str, int, tuple[str, ...]], ...]
    parts: tuple[Part, ...]
    links: tuple[Link, ...]
    causes: tuple[RankedCause, ...]
    rules: int
    bearings: int


def stages(answer: Diagnosis, cause: str | None = None) -> Stages:
    """Count the reasoning by stage. cause: only this cause; ValueError names the choice."""
    drawn = chosen(answer, cause)
    part_of = {one.key: one.component or "other" for one in answer.findings}
    parts: dict[str, list[int]] = {}
    for one in answer.findings:
        counts = parts.setdefault(part_of[one.key], [0, 0, 0])
        counts[0 if one.state == "seen" else 1] += 1
        counts[2] += one.source == "rule"
    measured: dict[str, tuple[int, list[str]]] = {}
    for reading in answer.readings:
        count, found = measured.get(reading.name, (0, []))
        measured[reading.name] = count + 1, [*found, *(part_of[key] for key in reading.findings if key in part_of)]
    links: dict[tuple[str, str], list[float]] = {}
    keys = {one.key for one in drawn.causes}
    for edge in answer.edges:
        if edge.cause in keys and edge.finding in part_of:
            links.setdefault((part_of[edge.finding], edge.cause), []).append(edge.worth)
    return Stages(
        tuple((name, count, tuple(sorted(set(found)))) for name, (count, found) in measured.items()),
        tuple(Part(name, *counts) for name, counts in sorted(parts.items())),
        tuple(
            Link(part, key, sum(w > 0 for w in worths), sum(w < 0 for w in worths), max(worths, key=abs))
            for (part, key), worths in sorted(links.items())
        ),
        drawn.causes,
        sum(step.rule != BEARING for step in answer.steps),
        sum(step.rule == BEARING for step in answer.steps),
    )


def collapsed_graph(answer: Diagnosis, cause: str | None = None) -> graphviz.Digraph:
    """The reasoning by stage as a graph; the same diagnosis gives the same text."""
    found = stages(answer, cause)
    graph = graphviz.Digraph("stages", comment="readings, signs by part, causes")
    graph.attr(rankdir="LR", size="7.5,10.7", ratio="compress", bgcolor=PAPER, fontname="Helvetica", fontsize="13")
    graph.attr(
        label=_title(answer, len(answer.ranked) - len(found.causes) if not cause else 0),
        labelloc="t",
        nodesep="0.15",
        ranksep="0.6",
        margin="0.1",
    )
    graph.attr("node", fontname="Helvetica", fontsize="10", color=INK, fontcolor=INK, margin="0.08,0.04", shape="box")
    graph.attr("edge", fontname="Helvetica", fontsize="9", color=INK, fontcolor=INK, arrowsize="0.6")
    part_ids = {part.name: f"p{index}" for index, part in enumerate(found.parts)}
    cause_ids = {one.key: f"c{index}" for index, one in enumerate(found.causes)}
    for index, (name, count, parts) in enumerate(found.measured):
        words = wrapped(f"measured: {name}", 24, _count(count, "reading"))
        graph.node(f"m{index}", words, style="filled", fillcolor=OBSERVED)
        for told in parts:
            graph.edge(f"m{index}", part_ids[told])
    for part in found.parts:
        words = wrapped(part.name.replace("-", " "), 24, f"{part.seen} seen, {part.absent} not found")
        graph.node(part_ids[part.name], words, style="rounded,filled", fillcolor=SIGN)
    for one in found.causes:
        words = wrapped(f"{one.name}: {one.place_words}", 22, f"{one.word}, {percent(one.probability)}")
        graph.node(cause_ids[one.key], words, style="filled,bold", fillcolor=CAUSE, penwidth="2", fontsize="11")
    for link in found.links:
        colour = FOR if link.most >= 0 else AGAINST
        graph.edge(
            part_ids[link.part], cause_ids[link.cause],
            label=label([f" {_link(link)} "]), color=colour, fontcolor=colour,
            style="solid" if link.most >= 0 else "dashed", penwidth=f"{1 + 3 * min(1.0, abs(link.most) * 2):.1f}",
            tooltip=tip(f"largest single change {link.most * 100:+.0f} points"),
        )  # fmt: skip
    words = label(["No fault beyond normal wear", f"{answer.no_fault_word}, {percent(answer.no_fault)}"])
    graph.node("sound", words, style="filled", fillcolor=SOUND, fontsize="11")
    if found.parts:
        graph.edge(part_ids[found.parts[-1].name], "sound", style="invis")
    return graph


def collapsed_lines(answer: Diagnosis, cause: str | None = None) -> Iterator[Line]:
    """The reasoning by stage as text."""
    found = stages(answer, cause)
    yield Line(f"{answer.case}   {answer.machine}", tone="strong")
    yield Line(answer.rulebase.words, tone="faint")
    yield Line()
    yield Line("Readings", tone="head")
    for name, count, parts in found.measured:
        told = f" → {', '.join(part.replace('-', ' ') for part in parts)}" if parts else ""
        yield Line(f"{name}{told}", indent=2, right=_count(count, "reading"))
    if not found.measured:
        yield Line("nothing was measured", indent=2)
    yield Line(f"{_count(found.rules, 'firing')} of rules; {_count(found.bearings, 'link')} to causes", indent=2)
    yield Line()
    yield Line("Signs by part", tone="head")
    for part in found.parts:
        by_rule = f", {part.concluded} of them by rules" if part.concluded else ""
        yield Line(
            f"{part.name.replace('-', ' ')}", indent=2, right=f"{part.seen} seen, {part.absent} not found{by_rule}"
        )
    yield Line()
    yield Line("Causes", tone="head")
    for one in found.causes:
        yield Line(
            f"{one.name}: {one.place_words}", indent=2, tone="strong", right=f"{one.word}  {percent(one.probability)}"
        )
        for link in (link for link in found.links if link.cause == one.key):
            yield Line(f"{link.part.replace('-', ' ')}: {_link(link)}", indent=4)
    yield Line("No fault beyond normal wear", indent=2, right=f"{answer.no_fault_word}  {percent(answer.no_fault)}")


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def _link(link: Link) -> str:
    parts = [f"{link.speaks_for} for" if link.speaks_for else "", f"{link.against} against" if link.against else ""]
    return ", ".join(part for part in parts if part) or "little"


def _title(answer: Diagnosis, left: int) -> str:
    lines = [
        *wrap(f"{answer.case}: {answer.machine}", 100),
        f"verdict: {VERDICTS[answer.verdict.action][0].lower()}",
        "by stage: readings, signs by part, causes; on an arrow: how many signs speak for and against",
        *([Drawn((), (), causes_left=left).left_words] if left else []),
        *wrap(answer.rulebase.words + ("   invented demonstration case" if answer.invented else ""), 100),
        " ",
    ]
    return label(lines)
