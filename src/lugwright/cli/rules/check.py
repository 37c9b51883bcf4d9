"""`lugwright rules check`: every fault of a rule base, and every flaw of the knowledge as a whole."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from lugwright.cli.rules.kinds import Kind

if TYPE_CHECKING:
    from lugwright.issues import Issue
    from lugwright.rulebase.load import RuleBase

PAGE = "Each code is explained in docs/rule-errors.md"


def check_command(
    folder: Annotated[
        Optional[Path],  # noqa: UP045 - typer reads the annotation at run time
        typer.Argument(metavar="[FOLDER]", help="The rule base to check (default: the one that came with lugwright)."),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print the faults as a JSON list.")] = False,
    strict: Annotated[bool, typer.Option("--strict", help="Let warnings fail too.")] = False,
) -> None:
    """Load a rule base, then read it as a whole: signs that lead nowhere, rules that never fire, and so on.

    Every fault is shown with file, line and column. A rule base that cannot be loaded is not read as a whole.

    Exit code 0 when it is sound, 1 when errors were found (with --strict: or warnings).

    Example: lugwright rules check rules --strict
    """
    from lugwright.rulebase.load import inspect
    from lugwright.rulelint.run import lint

    rulebase, issues = inspect(folder)
    if rulebase is not None:
        issues = lint(rulebase)
    if json:
        typer.echo(_as_json(issues))
    else:
        for line in _lines(rulebase, issues):
            typer.echo(line)
    if any(issue.severity == "error" or strict for issue in issues):
        raise typer.Exit(1)


def _lines(rulebase: RuleBase | None, issues: Sequence[Issue]) -> Iterator[str]:
    """The faults by file, then what was checked and how many there are."""
    from lugwright.issues import render, summary

    for file, ones in groupby(issues, key=lambda issue: issue.spot.file):
        here = list(ones)
        yield f"{file}: {summary(here)}"
        for issue in here:
            yield ""
            yield render(issue)
        yield ""
    if rulebase is None:
        yield f"{summary(issues)}; nothing was loaded. {PAGE}"
        return
    counts = ", ".join(f"{len(rulebase.entries(kind.value))} {kind.value}" for kind in Kind)
    yield f"{rulebase.label}: {counts}. {summary(issues)}." + (f" {PAGE}" if issues else "")


def _as_json(issues: Sequence[Issue]) -> str:
    import json

    rows = [
        {
            "code": issue.code,
            "severity": issue.severity,
            "file": issue.spot.file,
            "line": issue.spot.line,
            "column": issue.spot.column,
            "what": issue.what,
            "why": issue.why,
            "hint": issue.hint,
        }
        for issue in issues
    ]
    return json.dumps(rows, ensure_ascii=False, indent=2)
