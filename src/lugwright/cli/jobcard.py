"""`lugwright jobcard`: the work for a cause as a card to be printed, ticked off and signed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from lugwright.cli.shared import CaseFile, RulesFolders, load_both, written
from lugwright.issues import Issue, Spot, UnusableInput


def jobcard_command(
    case: CaseFile,
    cause: Annotated[
        Optional[str],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option(
            "--cause",
            metavar="ID",
            help="Another cause than the first, with or without its place, e.g. toe-in-error@front-axle.",
        ),
    ] = None,
    output: Annotated[
        Optional[Path],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("-o", "--output", metavar="FILE", help="Write it: .html (prints), .md or .txt."),
    ] = None,
    rules: RulesFolders = None,
) -> None:
    """Print the work for a cause: tools, cautions before each step, this machine's numbers, tick boxes, rechecks.

    Where the verdict names work that comes before everything else, as after a thrown belt, the card is for that.

    Example: lugwright jobcard examples/one-unit-off-line.yaml -o card.html
    """
    record, rulebase = load_both(case, rules)
    from lugwright.plan.jobcard import NoCard, job_card
    from lugwright.report.jobcard import card_lines, card_markdown, card_page, card_text
    from lugwright.report.lines import write
    from lugwright.triage import triage

    shapes = {".html": card_page, ".htm": card_page, ".md": card_markdown, ".txt": card_text}
    if output is not None and output.suffix.lower() not in shapes:
        what = f"'{output.name}' does not end in one of: .html, .md, .txt"
        raise UnusableInput([Issue(Spot(str(output)), "cannot-write", what)])
    try:
        card = job_card(triage(record, rulebase), rulebase, record.sheet, cause)
    except NoCard as problem:
        raise UnusableInput([Issue(Spot("--cause"), "no-job-card", str(problem))]) from None
    if output is None:
        write(card_lines(card))
        return
    from lugwright.report.render import write_whole

    try:
        write_whole(output, shapes[output.suffix.lower()](card).encode())
    except OSError as problem:
        why = problem.strerror or str(problem)
        raise UnusableInput([Issue(Spot(str(output)), "cannot-write", f"cannot be written: {why}")]) from None
    written(output, "written:")
