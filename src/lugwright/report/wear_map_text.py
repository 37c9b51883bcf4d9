"""The wear map in words, for the terminal: the pattern, then every sign with its places."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.diagnosis import Diagnosis
from lugwright.report.lines import Line
from lugwright.report.pattern import pattern_lines
from lugwright.report.wear_cells import place_list, wear_cells


def map_lines(answer: Diagnosis) -> Iterator[Line]:
    """The pattern that the signs form, each sign by the number it has on the map, and what nobody looked at."""
    yield Line(f"{answer.case}   {answer.machine}", tone="strong")
    yield Line()
    for text in pattern_lines(answer):
        yield Line(text, tone="head")
    yield Line()
    for sign in wear_cells(answer).signs:
        text = f"{sign.name} ({sign.family.name}): {place_list(sign)}"
        yield Line(text, label=str(sign.number), label_width=4)
    yield Line()
    yield Line("; ".join(answer.not_looked_at) or "nothing", label="Not looked at", label_width=16)
