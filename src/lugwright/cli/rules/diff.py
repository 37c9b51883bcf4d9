"""`lugwright rules diff`: what two rule bases say differently, and what that does to cases."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Optional

import typer


def diff_command(
    old: Annotated[Path, typer.Argument(metavar="OLD", help="The folder of the rule base as it was.")],
    new: Annotated[Path, typer.Argument(metavar="NEW", help="The folder of the rule base as it is now.")],
    cases: Annotated[
        Optional[Path],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("--cases", metavar="FOLDER", help="Triage every case file of this folder under both."),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print the difference as JSON.")] = False,
) -> None:
    """Show what changed in knowledge between two rule bases, by meaning and not by line.

    With --cases, also show which cases get another first cause, verdict or next check. Exit code 0 with or without a
    difference.

    Example: lugwright rules diff rules-before rules --cases examples
    """
    from lugwright.rulebase.load import load
    from lugwright.rulediff.compare import compare

    before, after = load(old), load(new)
    found = compare(before, after)
    if cases is not None:
        from lugwright.rulediff.effect import case_files, effect

        files = case_files(cases)
        done = effect(files, before, after, found.renames, progress=_counter(len(files)))
        found = found.model_copy(update={"cases": done})
    if json:
        typer.echo(found.model_dump_json(indent=2))
    else:
        from lugwright.report.lines import write
        from lugwright.rulediff.text import diff_lines

        write(diff_lines(found))


def _counter(total: int) -> Callable[[int], None]:
    """Count cases on standard error while a person watches a terminal; say nothing into a pipe or a log."""
    import sys

    def count(done: int) -> None:
        if sys.stderr.isatty():
            end = "\n" if done == total else ""
            sys.stderr.write(f"\rcase {done} of {total}{end}")
            sys.stderr.flush()

    return count
