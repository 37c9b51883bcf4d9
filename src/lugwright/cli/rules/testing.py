"""`lugwright rules test`: the cases beside the rules, run and reported."""
# ruff: noqa: PT028 - this is a command, not a test function

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Optional

import typer

from lugwright.cli.shared import LAYERS, load_rules

#: Fewer cases than this are done before a progress line could be read.
WORTH_PROGRESS = 50


def test_command(
    folders: Annotated[
        Optional[list[Path]],  # noqa: UP045 - typer reads the annotation at run time
        typer.Argument(metavar="[FOLDER]...", help=LAYERS),
    ] = None,
    changed: Annotated[
        bool, typer.Option("--changed", help="Only the cases touched by a change since --base.")
    ] = False,
    base: Annotated[str, typer.Option("--base", metavar="REV", help="The git revision to compare with.")] = "HEAD",
    coverage: Annotated[bool, typer.Option("--coverage", help="Also say what no case exercises.")] = False,
    every: Annotated[
        bool, typer.Option("--all", help="List every case with what decided it, not just failures.")
    ] = False,
    json: Annotated[bool, typer.Option("--json", help="Print the results as JSON.")] = False,
) -> None:
    """Run the cases beside the rules: what was expected, what came out, and the finding that decided it.

    The cases of every layer are run; a case of an overlay stands in for one of the same id below it.

    Exit code 0 when all pass, 1 when some fail, 2 when the rules or the cases cannot be used.

    Example: lugwright rules test rules --coverage
    """
    from lugwright.issues import Issue, Spot, UnusableInput
    from lugwright.rulecases.bench import Bench
    from lugwright.rulecases.book import load_cases
    from lugwright.rulecases.changed import change_since, touched
    from lugwright.rulecases.run import run

    if changed and coverage:
        what = "what some cases exercise is not what all of them do"
        raise UnusableInput([Issue(Spot("--coverage"), "bad-options", what, hint="leave out --changed or --coverage")])
    rulebase = load_rules(folders)
    cases = load_cases(rulebase)
    bench = Bench(rulebase)
    note = ""
    if changed:
        change = change_since(rulebase, base)
        chosen = touched(cases, change, bench)
        note = f"; {len(chosen)} of {len(cases)} cases touched by changes since {base}"
        note += f" ({change.all})" if change.all else ""
        cases = chosen
    with _progress(len(cases)) as told:
        results = run(rulebase, cases, covering=coverage, explain_all=every, bench=bench, told=told)
    if json:
        typer.echo(results.model_dump_json(indent=2))
    else:
        from lugwright.report.lines import write
        from lugwright.rulecases.report import result_lines

        write(result_lines(results, rulebase.label + note, every=every))
    if results.failed:
        raise typer.Exit(1)


@contextmanager
def _progress(total: int) -> Iterator[Callable[[], None] | None]:
    """A line that counts cases, on standard error and only where a person watches."""
    if total < WORTH_PROGRESS or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (TextColumn("cases"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("cases", total=total)
        yield lambda: bar.advance(task)
