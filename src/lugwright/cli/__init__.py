"""The command `lugwright`: reads arguments, calls the library, prints, sets the exit code. Nothing is decided here.

Exit codes: 0 answered, 1 checks failed, 2 the input cannot be used.
"""

from __future__ import annotations

import gc
import sys

import typer

from lugwright.cli import (
    align,
    compare,
    jobcard,
    look_next,
    report,
    rules,
    trace,
    triage,
    walkround,
    wear,
    wear_map,
    whatif,
    why,
)
from lugwright.issues import Issue, Spot, UnusableInput, render, summary
from lugwright.report.lines import let_go

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
    help="Find out why a rubber-belt track wears the way it does, see the reasoning, and learn what settles it.\n\n"
    "Example: lugwright triage examples/one-unit-off-line.yaml",
)
app.command("triage")(triage.triage_command)
app.command("trace")(trace.trace_command)
app.command("walkround")(walkround.walkround_command)
app.command("next")(look_next.next_command)
app.command("whatif")(whatif.whatif_command)
app.command("why")(why.why_command)
app.command("whynot")(why.whynot_command)
app.command("compare")(compare.compare_command)
app.command("report")(report.report_command)
app.command("map")(wear_map.map_command)
app.command("jobcard")(jobcard.jobcard_command)
app.command("align")(align.align_command)
app.command("wear")(wear.wear_command)
app.add_typer(rules.app, name="rules")


def _version(wanted: bool) -> None:
    if wanted:
        from lugwright import __version__

        typer.echo(f"lugwright {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: bool = typer.Option(
        False, "--version", callback=_version, is_eager=True, help="Show the version and stop."
    ),
) -> None:
    """Options that stand before the command."""


def main() -> None:
    """Run the command line; bad input is told in words on standard error, never as a traceback."""
    gc.set_threshold(50_000, 20, 20)  # a short run makes many small objects and little garbage
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure") and (stream.encoding or "").lower() not in ("utf-8", "utf8"):
            stream.reconfigure(errors="replace")
    try:
        try:
            app(prog_name="lugwright")
        finally:
            sys.stdout.flush()  # what cannot be written is told here and not after the end
    except UnusableInput as problem:
        typer.echo(f"{problem}\n\n{summary(problem.issues)}; nothing was done.", err=True)
        sys.exit(2)
    except BrokenPipeError:
        let_go()
        sys.exit(0)
    except OSError as problem:
        let_go()
        where = Spot(str(problem.filename or "standard output"))
        issue = Issue(where, "cannot-write", f"cannot be written: {problem.strerror or problem}", hint="make room")
        typer.echo(f"{render(issue)}\n\n1 error; nothing was done.", err=True)
        sys.exit(2)
