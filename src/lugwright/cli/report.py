"""`lugwright report`: the page a manager can audit, as HTML, Markdown or PDF."""

from __future__ import annotations

from enum import Enum
from pathlib import Path
from typing import Annotated

import typer

from lugwright.cli.shared import CaseFile, RulesFolders, load_both, written


class Paper(str, Enum):
    """The paper a PDF is made for."""

    a4 = "A4"
    letter = "Letter"


def report_command(
    case: CaseFile,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE", help="Where to write it: .html, .md or .pdf.")
    ],
    paper: Annotated[Paper, typer.Option("--paper", help="The paper a PDF is made for.")] = Paper.a4,
    steadiness: Annotated[
        bool,
        typer.Option(
            "--steadiness/--no-steadiness", help="Redraw every frequency within its word: does the first stay first?"
        ),
    ] = True,
    rules: RulesFolders = None,
) -> None:
    """Write the whole answer as one page to print, mail and keep: verdict, wear map, causes, work, and every rule.

    Example: lugwright report examples/one-unit-off-line.yaml -o report.html
    """
    from lugwright.cli.shared import writing
    from lugwright.report.page.write import PAGES, foresee, write_page

    with writing(output):
        foresee(output, PAGES)
    record, rulebase = load_both(case, rules)
    from lugwright.triage import triage

    answer = triage(record, rulebase, steadiness=steadiness)
    with writing(output):
        note = write_page(answer, output, paper=paper.value)
    written(output, "written:")
    if note:
        typer.echo(note, err=True)
