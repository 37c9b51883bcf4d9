"""`lugwright next`: which checks are worth doing next, and the best set of them within some minutes."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from lugwright.cli.shared import CaseFile, RulesFolders, load_both


def next_command(
    case: CaseFile,
    json: Annotated[bool, typer.Option("--json", help="Print the plan as JSON.")] = False,
    minutes: Annotated[
        Optional[float],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("--minutes", min=1, max=1440, help="Also choose the best set of checks within this time."),
    ] = None,
    rules: RulesFolders = None,
) -> None:
    """Say what to look at next: what each check needs, what it is expected to tell, and the ranking after each outcome.

    Example: lugwright next examples/signs-only.yaml --minutes 30
    """
    record, rulebase = load_both(case, rules)
    from lugwright.looking.next_plan import next_plan

    plan = next_plan(record, rulebase, minutes)
    if json:
        typer.echo(plan.model_dump_json(indent=2))
        return
    from lugwright.report.lines import write
    from lugwright.report.next_text import next_lines
    from lugwright.summing_up import COMMON_CAUTION

    write(next_lines(plan, rulebase, COMMON_CAUTION))
