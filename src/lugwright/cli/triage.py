"""`lugwright triage`: causes ranked with their place, the verdict, what to look at next."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from lugwright.cli.shared import CaseFile, RulesFolders, draw_or_say, foresee_drawing, load_both


def triage_command(
    case: CaseFile,
    json: Annotated[bool, typer.Option("--json", help="Print the whole diagnosis as JSON.")] = False,
    draw: Annotated[
        Optional[Path],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("--draw", metavar="FILE", help="Also draw the reasoning: .svg, .png, .pdf or .dot."),
    ] = None,
    steadiness: Annotated[
        bool,
        typer.Option(
            "--steadiness/--no-steadiness", help="Redraw every frequency within its word: does the first stay first?"
        ),
    ] = True,
    top: Annotated[int, typer.Option("--top", min=1, max=50, help="How many causes to list.")] = 5,
    rules: RulesFolders = None,
) -> None:
    """Rank the likely causes for one case: verdict first, then what speaks for and against, then what to do.

    Example: lugwright triage examples/one-unit-off-line.yaml --draw trace.svg
    """
    foresee_drawing(draw)
    record, rulebase = load_both(case, rules)
    from lugwright.triage import triage

    answer = triage(record, rulebase, steadiness=steadiness)
    if json:
        typer.echo(answer.model_dump_json(indent=2))
    else:
        from lugwright.report.lines import write
        from lugwright.report.text import diagnosis_lines

        write(diagnosis_lines(answer, top))
    if draw is not None:
        from lugwright.report.graph import reasoning_graph

        draw_or_say(reasoning_graph(answer).source, draw)
