"""The reasoning as indented text: every rule that fired, then each leading cause with what its signs are worth."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.diagnosis import Diagnosis, StepShown
from lugwright.report.chosen import chosen
from lugwright.report.figures import percent
from lugwright.report.lines import Line

BEARING = "sign-bears-on-cause"


def trace_lines(answer: Diagnosis, cause: str | None = None) -> Iterator[Line]:
    """Observations, rules with file and line, then causes. `cause` keeps one cause; ValueError names the choice."""
    drawn = chosen(answer, cause)
    yield Line(f"{answer.case}   {answer.machine}", tone="strong")
    yield Line(answer.rulebase.words, tone="faint")
    yield Line()
    yield Line("What was recorded", tone="head")
    for one in answer.findings:
        if one.source != "rule" and one.state == "seen":
            layer = answer.rulebase.mark("symptoms", one.symptom)
            yield Line(f"{one.name}, {one.place_words}{layer}", indent=2, label="seen", label_width=8)
    absent = [one for one in answer.findings if one.state == "absent" and one.source != "rule"]
    yield Line(f"{len(absent)} signs looked for and not found", indent=2, label="absent", label_width=8)
    yield Line()
    yield Line("Rules that fired", tone="head")
    rules = [step for step in answer.steps if step.rule != BEARING]
    for step in rules:
        yield from _step(step, answer.rulebase.mark("chaining", step.rule))
    if not rules:
        yield Line("none beyond the links of the causes", indent=2)
    yield Line()
    yield Line("What bears on the causes", tone="head")
    names = {one.key: one for one in answer.findings}
    for ranked in drawn.causes:
        yield Line(
            f"{ranked.name}: {ranked.place_words}{answer.rulebase.mark('causes', ranked.cause)}",
            indent=2, tone="strong", right=f"{ranked.word}  {percent(ranked.prior)} → {percent(ranked.probability)}",
        )  # fmt: skip
        for edge in (edge for edge in drawn.edges if edge.cause == ranked.key):
            one = names[edge.finding]
            speaks = "for" if edge.worth >= 0 else "against"
            state = "" if one.state == "seen" else "not found: "
            often = f" ({edge.how_often} under this cause)" if edge.how_often else ""
            yield Line(
                f"{state}{one.name}, {one.place_words}{often}{answer.rulebase.mark('symptoms', one.symptom)}",
                indent=4, label=speaks, label_width=9, tone=speaks,
                right=f"without it {percent(ranked.probability - edge.worth)}",
            )  # fmt: skip
        count = sum(1 for s in answer.steps if s.rule == BEARING and any(ranked.key in text for text in s.concluded))
        yield Line(f"{count} seen signs bear on this cause", indent=4, tone="faint")
    if drawn.left_words:
        yield Line(f"{drawn.left_words[0].upper()}{drawn.left_words[1:]}", indent=2, tone="faint")
    yield Line("No fault beyond normal wear", indent=2, right=f"{answer.no_fault_word}  {percent(answer.no_fault)}")


def _step(step: StepShown, layer: str) -> Iterator[Line]:
    yield Line(f"{step.rule}  ({step.file}:{step.line}){layer}", indent=2, label=f"{step.number}.", label_width=4)
    for used in step.used:
        yield Line(used, indent=8, label="from", label_width=6)
    for absent in step.absent:
        yield Line(absent, indent=8, label="not", label_width=6)
    for concluded in step.concluded:
        yield Line(concluded, indent=8, label="so", label_width=6, tone="for")
    if step.because:
        yield Line(step.because, indent=8, tone="faint")
