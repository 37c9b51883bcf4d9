"""The pictures of `rule_graph` as indented text: one cause with its signs, one symptom with everything it may mean."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from lugwright.report.lines import Line
from lugwright.report.rule_links import COMPONENTS, SCOPES, Link, links

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase


def rule_graph_lines(rulebase: RuleBase, name: str) -> Iterator[Line]:
    """One cause or one symptom with every link, as the picture has it. Raises KeyError for an id that is neither."""
    return _cause_lines(rulebase, name) if name in rulebase.causes else _symptom_lines(rulebase, name)


def _cause_lines(rulebase: RuleBase, name: str) -> Iterator[Line]:
    cause = rulebase.causes[name]
    yield Line(f"{cause.name}  ({name}): what it shows", tone="strong")
    yield Line(f"{SCOPES[cause.acts_on]}; beforehand {cause.beforehand}", indent=2)
    rows = links(rulebase, cause=name)
    for component in COMPONENTS:
        inside = [row for row in rows if rulebase.symptoms[row.symptom].component == component]
        if inside:
            yield Line(component.replace("-", " "), indent=2, tone="head")
            names = [f"{rulebase.symptoms[row.symptom].name}  ({row.symptom})" for row in inside]
            yield from _rows(inside, names, [f"sound: {rulebase.symptoms[row.symptom].sound}" for row in inside])


def _symptom_lines(rulebase: RuleBase, name: str) -> Iterator[Line]:
    symptom = rulebase.symptoms[name]
    yield Line(f"{symptom.name}  ({name}): what it may mean", tone="strong")
    yield Line(f"on a sound undercarriage {symptom.sound}", indent=2)
    rows = links(rulebase, symptom=name)
    for scope, said in SCOPES.items():
        inside = [row for row in rows if rulebase.causes[row.cause].acts_on == scope]
        if inside:
            yield Line(said, indent=2, tone="head")
            names = [f"{rulebase.causes[row.cause].name}  ({row.cause})" for row in inside]
            yield from _rows(inside, names, [f"beforehand: {rulebase.causes[row.cause].beforehand}" for row in inside])


def _rows(rows: Sequence[Link], names: Sequence[str], right: Sequence[str]) -> Iterator[Line]:
    for row, name, figure in zip(rows, names, right, strict=True):
        where = f", {row.where}" if row.where else ""
        often = "speaks against" if row.against else row.how_often
        yield Line(
            name + where, indent=4, label=often, label_width=16, right=figure, tone="against" if row.against else "for"
        )
