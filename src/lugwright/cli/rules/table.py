"""`lugwright rules table`: symptom x cause as a page, as CSV, or as counts at the terminal."""

from __future__ import annotations

from enum import Enum
from pathlib import Path
from typing import Annotated, Optional

import typer

from lugwright.cli.shared import RulesFolders, load_rules, written


class TableKind(str, Enum):
    """What a table sets against what."""

    signs = "signs"
    look_alikes = "look-alikes"
    checks = "checks"


def table_command(
    output: Annotated[
        Optional[Path],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("-o", "--output", metavar="FILE", help="Write it: .html or .csv. Without it, counts are printed."),
    ] = None,
    kind: Annotated[
        TableKind, typer.Option("--kind", help="Symptom x cause, cause x look-alike, or check x symptom.")
    ] = TableKind.signs,
    rules: RulesFolders = None,
) -> None:
    """Write the rule base as a table: how often each symptom is seen under each cause, and where.

    Example: lugwright rules table -o signs.html
    """
    from lugwright.issues import Issue, Spot, UnusableInput
    from lugwright.report.rule_table import as_csv, count_lines, matrix

    table = matrix(load_rules(rules), kind.value)
    if output is None:
        from lugwright.report.lines import write

        write(count_lines(table))
        return
    from lugwright.report.render import write_whole
    from lugwright.report.rule_table_html import as_html

    views = {".html": as_html, ".csv": as_csv}
    view = views.get(output.suffix.lower())
    if view is None:
        hint = "end the name in .html or .csv"
        raise UnusableInput([Issue(Spot(str(output)), "cannot-write", "a table is written as HTML or CSV", hint=hint)])
    try:
        write_whole(output, view(table).encode("utf-8"))
    except OSError as problem:
        why = problem.strerror or str(problem)
        raise UnusableInput([Issue(Spot(str(output)), "cannot-write", f"cannot be written: {why}")]) from None
    written(output, "written:")
