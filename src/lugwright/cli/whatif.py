"""`lugwright whatif`: what other findings would change, and the smallest change that would give another first cause."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from lugwright.cli.shared import CaseFile, RulesFolders, load_both
from lugwright.issues import Issue, Spot, UnusableInput


def whatif_command(
    case: CaseFile,
    changes: Annotated[
        Optional[list[str]],  # noqa: UP045 - typer reads the annotation at run time
        typer.Argument(
            metavar="SIGN@PLACE=STATE...",
            help="Findings to put otherwise, e.g. hub-hot@front-left=absent; a state is seen, absent or unknown.",
        ),
    ] = None,
    flip: Annotated[
        bool, typer.Option("--flip", help="Find the smallest set of findings whose change gives another first cause.")
    ] = False,
    json: Annotated[bool, typer.Option("--json", help="Print the comparison as JSON.")] = False,
    rules: RulesFolders = None,
) -> None:
    """Compare the answer with the one for other findings: both rankings side by side, and the steps that changed.

    Example: lugwright whatif examples/one-unit-off-line.yaml lug-side-hot@front-right/inboard=absent
    """
    if bool(changes) == flip:
        what = "both findings and --flip are given" if flip else "nothing is asked"
        hint = "write SIGN@PLACE=STATE, for instance hub-hot@front-left=absent, or --flip"
        why = "a finding to put otherwise gives two rankings; --flip looks for such findings itself"
        raise UnusableInput([Issue(Spot("whatif"), "cannot-ask", what, why, hint)])
    record, rulebase = load_both(case, rules)
    from lugwright.report.lines import write

    if flip:
        from lugwright.looking.flip import flips
        from lugwright.report.whatif_text import flips_lines

        found = flips(record, rulebase)
        if json:
            typer.echo(found.model_dump_json(indent=2))
        else:
            write(flips_lines(found))
        return
    from lugwright.looking.whatif import what_if
    from lugwright.report.whatif_text import what_if_lines

    compared = what_if(record, rulebase, changes or [])
    if json:
        typer.echo(compared.model_dump_json(indent=2))
    else:
        write(what_if_lines(compared))
