"""`lugwright trace`: the reasoning from observation to cause, as text or as a picture."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from lugwright.cli.shared import CaseFile, RulesFolders, draw_or_say, foresee_drawing, load_both
from lugwright.issues import Issue, Spot, UnusableInput


def trace_command(
    case: CaseFile,
    cause: Annotated[
        Optional[str],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("--cause", metavar="ID", help="Only this cause, e.g. toe-in-error or toe-in-error@front-axle."),
    ] = None,
    output: Annotated[
        Optional[Path],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option(
            "-o", "--output", metavar="FILE", help="Draw it: .svg, .png, .pdf or .dot. Without it, text is printed."
        ),
    ] = None,
    collapse: Annotated[
        bool, typer.Option("--collapse", help="Only the stages with their counts: readings, findings, causes.")
    ] = False,
    rules: RulesFolders = None,
) -> None:
    """Show how the answer was reached: observations, signs, the rules that fired, causes and what each sign is worth.

    Example: lugwright trace examples/one-unit-off-line.yaml -o trace.svg
    """
    foresee_drawing(output)
    record, rulebase = load_both(case, rules)
    from lugwright.triage import triage

    answer = triage(record, rulebase)
    try:
        if output is not None:
            from lugwright.report.graph import reasoning_graph
            from lugwright.report.graph_collapsed import collapsed_graph

            draw_or_say((collapsed_graph if collapse else reasoning_graph)(answer, cause).source, output)
        else:
            from lugwright.report.graph_collapsed import collapsed_lines
            from lugwright.report.lines import write
            from lugwright.report.trace_text import trace_lines

            write((collapsed_lines if collapse else trace_lines)(answer, cause))
    except ValueError as problem:
        raise UnusableInput([Issue(Spot("--cause"), "unknown-cause", str(problem))]) from None
