"""`lugwright compare`: two cases set against each other, for instance before and after an adjustment."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from lugwright.cli.shared import RulesFolders, load_rules


def compare_command(
    before: Annotated[Path, typer.Argument(metavar="BEFORE.yaml", help="The earlier case.")],
    after: Annotated[Path, typer.Argument(metavar="AFTER.yaml", help="The later case.")],
    json: Annotated[bool, typer.Option("--json", help="Print the comparison as JSON.")] = False,
    width: Annotated[
        Optional[int],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("--width", min=40, max=110, help="Columns to print in (default: those of the window)."),
    ] = None,
    rules: RulesFolders = None,
) -> None:
    """Say what changed between two cases: verdict, causes at their places, signs, readings.

    Example: lugwright compare examples/signs-only.yaml examples/one-unit-off-line.yaml
    """
    from lugwright.casefile.load import load_case

    rulebase = load_rules(rules)
    records = [load_case(path, rulebase) for path in (before, after)]
    from lugwright.report.compared import compared
    from lugwright.report.compared_text import compared_lines
    from lugwright.report.lines import put, write
    from lugwright.triage import triage

    both = compared(*(triage(record, rulebase) for record in records))
    if json:
        put(both.model_dump_json(indent=2) + "\n")
        return
    import shutil
    import sys

    columns = width or (shutil.get_terminal_size((100, 24)).columns if sys.stdout.isatty() else 100)
    write(compared_lines(both, columns), width=columns)
