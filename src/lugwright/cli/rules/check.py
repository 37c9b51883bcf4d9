"""`lugwright rules check`: every fault of a rule base, or none."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from lugwright.cli.rules.kinds import Kind


def check_command(
    folder: Annotated[
        Optional[Path],  # noqa: UP045 - typer reads the annotation at run time
        typer.Argument(metavar="FOLDER", help="The rule base to check (default: the one that came with lugwright)."),
    ] = None,
) -> None:
    """Load a rule base and report every fault in every file, each with file, line and column.

    Exit code 0 when it is sound, 1 when faults were found.

    Example: lugwright rules check rules
    """
    from lugwright.issues import render, summary
    from lugwright.rulebase.load import inspect

    rulebase, issues = inspect(folder)
    for issue in issues:
        typer.echo(render(issue) + "\n", err=True)
    if rulebase is None:
        typer.echo(f"{summary(issues)}; nothing was loaded. Each code is explained in docs/rule-errors.md", err=True)
        raise typer.Exit(1)
    counts = ", ".join(f"{len(rulebase.entries(kind.value))} {kind.value}" for kind in Kind)
    typer.echo(f"{rulebase.label}: {counts}. {summary(issues)}.")
    if any(issue.severity == "error" for issue in issues):
        raise typer.Exit(1)
