"""The reasoning by stage: every sign is counted once, and the picture stays small however much was noted."""

from __future__ import annotations

import re

import pytest
from report_answers import HOSTILE, crowded, example, poisoned, small

from lugwright.report.graph import reasoning_graph
from lugwright.report.graph_collapsed import collapsed_graph, collapsed_lines, stages
from lugwright.report.lines import laid_out
from lugwright.report.render import renderer


@pytest.mark.parametrize("name", ["one-unit-off-line", "signs-only", "side-hill-look-alike", "healthy"])
def test_every_finding_reading_and_firing_is_counted_once(name: str) -> None:
    answer = example(name)
    found = stages(answer)
    assert sum(part.seen + part.absent for part in found.parts) == len(answer.findings)
    assert sum(count for _, count, _ in found.measured) == len(answer.readings)
    assert found.rules + found.bearings == len(answer.steps)


def test_signs_that_speak_are_counted_by_cause() -> None:
    answer = example("one-unit-off-line")
    first = answer.ranked[0].key
    links = [link for link in stages(answer).links if link.cause == first]
    worths = [edge.worth for edge in answer.edges if edge.cause == first]
    assert sum(link.speaks_for for link in links) == sum(worth > 0 for worth in worths)
    assert sum(link.against for link in links) == sum(worth < 0 for worth in worths)


def test_one_cause_can_be_asked_for() -> None:
    answer = example("signs-only")
    assert {one.cause for one in stages(answer, answer.ranked[1].cause).causes} == {answer.ranked[1].cause}
    with pytest.raises(ValueError, match="not among the ranked causes"):
        stages(answer, "no-such-cause")


def nodes(source: str) -> int:
    return len(re.findall(r"^\t\w+ \[label=", source, re.M))


def test_a_crowded_case_has_a_box_for_each_part_and_not_for_each_sign() -> None:
    answer = crowded()
    assert sum(one.state == "seen" for one in answer.findings) == 64
    assert nodes(collapsed_graph(answer).source) <= 15
    assert nodes(reasoning_graph(answer).source) <= 40


def test_node_text_is_wrapped() -> None:
    for source in (collapsed_graph(crowded()).source, reasoning_graph(crowded()).source):
        labels = re.findall(r'^\t\w+ \[label="((?:[^"\\]|\\.)*)"', source, re.M)
        assert labels
        assert max(len(line) for label in labels for line in label.split("\\n")[0].split("\n")) <= 44


@pytest.mark.parametrize("bad", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_words_stay_words(bad: str) -> None:
    answer = poisoned(small(), bad)
    for graph in (collapsed_graph, reasoning_graph):
        source = graph(answer).source
        assert nodes(source) == nodes(graph(poisoned(small(), "plain")).source)
        assert "label=<" not in re.sub(r'"(?:[^"\\]|\\.)*"', '""', source)
    assert all(mark.isprintable() for text, _ in laid_out(collapsed_lines(answer), 80) for mark in text)


def test_hostile_words_are_drawn_as_words() -> None:
    draw = renderer("svg")
    if draw is None:
        pytest.skip("no program that can draw is installed")
    from xml.etree import ElementTree

    for bad in HOSTILE:
        svg = draw(collapsed_graph(poisoned(small(), bad)).source).decode()
        kinds = {one.tag.rpartition("}")[2] for one in ElementTree.fromstring(svg).iter()}
        assert kinds <= {"svg", "g", "title", "polygon", "polyline", "text", "path", "a", "ellipse"}


@pytest.mark.parametrize("bad", HOSTILE, ids=range(len(HOSTILE)))
def test_no_mark_that_steers_a_display_reaches_a_graph(bad: str) -> None:
    """In labels and in tooltips: a drawing with a control mark in a tooltip is no well-formed SVG."""
    answer = poisoned(small(), bad)
    for source in (reasoning_graph(answer).source, collapsed_graph(answer).source):
        assert all(mark.isprintable() or mark in "\n\t" for mark in source)
