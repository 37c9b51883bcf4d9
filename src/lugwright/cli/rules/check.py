"""`lugwright rules check`: every fault of a rule base, and every flaw of the knowledge as a whole."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from lugwright.cli.rules.kinds import Kind
from lugwright.cli.shared import LAYERS

if TYPE_CHECKING:
    from lugwright.issues import Issue
    from lugwright.rulebase.load import RuleBase

PAGE = "Each code is explained in docs/rule-errors.md"


def check_command(
    folders: Annotated[
        Optional[list[Path]],  # noqa: UP045 - typer reads the annotation at run time
        typer.Argument(metavar="[FOLDER]...", help=LAYERS),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print the faults as a JSON list.")] = False,
    strict: Annotated[bool, typer.Option("--strict", help="Let warnings fail too.")] = False,
) -> None:
    """Load a rule base, then read it as a whole: signs that lead nowhere, rules that never fire, and so on.

    Every fault is shown with file, line and column. A rule base that cannot be loaded is not read as a whole. Where
    only overlays are named, warnings that the rule base below them gives without them are counted and not listed.

    Exit code 0 when it is sound, 1 when errors were found (with --strict: or warnings).

    Example: lugwright rules check rules
    """
    from lugwright.rulebase.load import inspect_layers
    from lugwright.rulelint.run import lint

    rulebase, issues = inspect_layers(folders or [])
    below = 0
    if rulebase is not None:
        issues = lint(rulebase)
        own = _without_those_below(rulebase, issues, folders or [])
        issues, below = own, len(issues) - len(own)
    if json:
        typer.echo(_as_json(issues))
    else:
        for line in _lines(rulebase, issues):
            typer.echo(line)
        if below:
            what = "1 warning" if below == 1 else f"{below} warnings"
            typer.echo(f"{what} of the rule base below not listed: lugwright rules check")
    if any(issue.severity == "error" or strict for issue in issues):
        raise typer.Exit(1)


def _without_those_below(rulebase: RuleBase, issues: Sequence[Issue], named: Sequence[Path]) -> tuple[Issue, ...]:
    """What is left when the warnings are taken out that a shipped rule base below the overlays gives by itself."""
    from lugwright.rulebase.load import load
    from lugwright.rulelint.run import lint

    bottom = rulebase.layers[0].shown
    elsewhere = any(issue.severity == "warning" and issue.spot.file.startswith(f"{bottom}/") for issue in issues)
    if len(rulebase.layers) <= len(named) or not named or not elsewhere:
        return tuple(issues)
    known = {issue for issue in lint(load()) if issue.severity == "warning"}
    return tuple(issue for issue in issues if issue not in known)


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
