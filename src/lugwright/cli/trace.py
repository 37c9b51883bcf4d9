"""`lugwright trace`: the reasoning from observation to cause, as text or as a picture."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from lugwright.cli.shared import CaseFile, RulesFolders, draw_or_say, foresee_drawing, load_both
from lugwright.issues import Issue, Spot, UnusableInput

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase


def trace_command(
    case: CaseFile,
    cause: Annotated[
        Optional[str],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("--cause", metavar="ID", help="Only this cause, e.g. toe-in-error or toe-in-error@front-axle."),
    ] = None,
    output: Annotated[
        Optional[Path],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option(
            "-o", "--output", metavar="FILE", help="Draw it: .svg, .png, .pdf or .dot. Without it, text is printed."
        ),
    ] = None,
    collapse: Annotated[
        bool, typer.Option("--collapse", help="Only the stages with their counts: readings, findings, causes.")
    ] = False,
    rules: RulesFolders = None,
) -> None:
    """Show how the answer was reached: observations, signs, the rules that fired, causes and what each sign is worth.

    Example: lugwright trace examples/one-unit-off-line.yaml -o trace.svg
    """
    foresee_drawing(output)
    record, rulebase = load_both(case, rules)
    from lugwright.triage import triage

    answer = triage(record, rulebase)
    try:
        if output is not None:
            from lugwright.report.graph import reasoning_graph
            from lugwright.report.graph_collapsed import collapsed_graph

            draw_or_say((collapsed_graph if collapse else reasoning_graph)(answer, cause).source, output)
        else:
            from lugwright.report.graph_collapsed import collapsed_lines
            from lugwright.report.lines import write
            from lugwright.report.trace_text import trace_lines

            write((collapsed_lines if collapse else trace_lines)(answer, cause))
    except ValueError as problem:
        raise _not_ranked(record, rulebase, cause or "", str(problem)) from None


def _not_ranked(record: CaseRecord, rulebase: RuleBase, cause: str, ranked: str) -> UnusableInput:
    """Why a cause cannot be traced: it is unknown, this machine cannot have it, or it stands too low to be ranked.

    ranked: the causes that can be traced, in words. Raises UnusableInput itself where `why` would refuse the cause.
    """
    from lugwright.report.figures import percent
    from lugwright.triage import account

    found = account(record, rulebase, cause)
    out = f", as the rule {found.excluded_by[0].rule} rules it out" if found.excluded_by else ""
    what = (
        f"{found.name} ({found.place_words}) stands at {percent(found.probability)}{out}; "
        "only causes that are ranked are traced"
    )
    hint = f"lugwright whynot CASE {found.key} says what keeps it down"
    return UnusableInput([Issue(Spot("--cause"), "cause-not-ranked", what, ranked, hint)])
