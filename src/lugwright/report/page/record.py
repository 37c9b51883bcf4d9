"""The second half of the page, for the auditor: the trace, every rule that fired, readings, and the rule base."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from lugwright.diagnosis import Diagnosis, StepShown
from lugwright.report.chosen import chosen
from lugwright.report.figures import arrow, percent
from lugwright.report.page.blocks import Block, Bullets, Facts, Heading, Picture, Section, Table, Text
from lugwright.report.trace_text import BEARING


def audit_sections(answer: Diagnosis) -> tuple[Section, ...]:
    """The sections that show how the answer was reached."""
    return (
        Section("trace", "How the answer was reached", tuple(_trace(answer))),
        Section("readings", "Readings", tuple(_readings(answer))),
        Section("rules", "Rules that fired", tuple(_rules(answer))),
        Section("rulebase", "Rule base", tuple(_rulebase(answer))),
    )


def _trace(answer: Diagnosis) -> Iterator[Block]:
    drawn = chosen(answer)
    findings = {one.key: one for one in answer.findings}
    causes = {one.key: one for one in drawn.causes}
    rows, light = [], 0
    for edge in drawn.edges:
        one, cause = findings.get(edge.finding), causes[edge.cause]
        if one is None:
            continue
        state = "" if one.state == "seen" else "not found: "
        often = edge.how_often.replace("-", " ") or "no link of its own"
        if percent(cause.probability - edge.worth) == percent(cause.probability):
            light += 1
            continue
        worth = arrow(cause.probability - edge.worth, cause.probability)
        rows.append((f"{state}{one.name}, {one.place_words}", f"{cause.name}, {cause.place_words}", often, worth))
    yield Picture(
        "trace",
        "The reasoning drawn: readings and notes lead to signs, signs to causes. The same in words stands in the table "
        "below and under Rules that fired.",
        "From readings and notes over signs to causes. Solid blue speaks for, dashed orange against."
        + (f" {drawn.left_words[0].upper()}{drawn.left_words[1:]}." if drawn.left_words else ""),
    )
    if rows:
        columns = ("Sign", "Bears on", "Seen under this cause", "Without → with it")
        yield Table("Signs and the leading causes, the weightiest first", columns, tuple(rows), figures=(3,))
    if light:
        yield Text(
            f"{light} further links of these signs to these causes change a figure by less than it is rounded to."
        )


def _readings(answer: Diagnosis) -> Iterator[Block]:
    if not answer.readings:
        yield Text("Nothing was measured.")
        return
    names = {one.key: f"{one.name}, {one.place_words}" for one in answer.findings}
    states = {one.key: one.state for one in answer.findings}
    rows: list[tuple[str, ...]] = []
    for one in answer.readings:
        found = _concluded(one.findings, names, states)
        if one.void:
            found = "set aside: it means nothing where it was taken; clean there and measure again"
        elif one.refused:
            found = f"does not count: {one.refused}; take it again"
        rows.append((f"{one.name}, {one.place_words}", one.text, one.means or "as written", found or "nothing"))
    columns: tuple[str, ...] = ("Check", "Written", "Worked out", "Concluded")
    if any(one.note for one in answer.readings):
        columns += ("Noted beside it",)
        rows = [(*row, one.note) for row, one in zip(rows, answer.readings, strict=True)]
    yield Table("Readings and what follows from them", columns, tuple(rows))


def _concluded(keys: Sequence[str], names: Mapping[str, str], states: Mapping[str, str]) -> str:
    """The signs that rules drew from a reading: those it found first, then those it did not find, then what is open."""
    groups: dict[str, list[str]] = {"seen": [], "absent": [], "open": []}
    for key in keys:
        groups[states.get(key, "open")].append(names.get(key, key))
    words = {"seen": "found", "absent": "not there", "open": "recorded both ways, so not counted"}
    return "; ".join(f"{words[state]}: {'; '.join(found)}" for state, found in groups.items() if found)


def _rules(answer: Diagnosis) -> Iterator[Block]:
    by_rule: dict[str, list[StepShown]] = {}
    for step in answer.steps:
        by_rule.setdefault(step.rule, []).append(step)
    links = by_rule.pop(BEARING, [])
    if not by_rule:
        yield Text("No rule fired beyond the links between causes and signs.")
    for rule, steps in by_rule.items():
        yield from _rule(rule, steps, answer)
    if links:
        yield Heading("Signs that bear on causes")
        yield Text(
            f"The general rule {BEARING} fired {len(links)} times: once for each seen sign and each cause that can "
            "show it. How often a cause shows a sign is written in the entry of the cause."
        )


def _rule(rule: str, steps: list[StepShown], answer: Diagnosis) -> Iterator[Block]:
    first = steps[0]
    yield Heading(first.name or rule)
    rows = [
        ("Rule", f"{rule}{answer.rulebase.mark('chaining', rule)}"),
        ("Written at", f"{first.file}:{first.line}"),
        ("Because", first.because),
        ("Rests on", first.basis),
    ]
    yield Facts(tuple((name, text) for name, text in rows if text))
    yield Bullets(tuple(_firing(step) for step in steps))


def _firing(step: StepShown) -> str:
    used = f"from {'; '.join(step.used)}" if step.used else "always"
    absent = f"; as there is no {'; no '.join(step.absent)}" if step.absent else ""
    return f"Step {step.number}: {used}{absent}; so {'; '.join(step.concluded)}"


def _rulebase(answer: Diagnosis) -> Iterator[Block]:
    label = answer.rulebase
    overlays = "; ".join(label.overlays) or "none"
    changed = (
        ("Replaced by an overlay", "; ".join(label.replaced) or "none"),
        ("Retired by an overlay, so not counted", "; ".join(label.retired) or "none"),
    )
    yield Facts(
        (
            ("Version", label.version),
            ("Fingerprint", label.fingerprint),
            ("Overlays", overlays),
            ("Entries from overlays", "; ".join(f"{key}: {title}" for key, title in label.layer_of.items()) or "none"),
            *(changed if label.overlays else ()),
        )
    )
    yield Text(
        "Two reports with the same fingerprint and the same overlays came from the same knowledge. The frequencies in "
        "it are expert judgement unless an entry says otherwise. The operator's manual, local rules and qualified "
        "people come before anything said here."
    )
