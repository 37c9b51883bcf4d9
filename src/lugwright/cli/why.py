"""`lugwright why` and `lugwright whynot`: what carries one cause, and what keeps it down."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from lugwright.cli.shared import CaseFile, RulesFolders, load_both

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from lugwright.diagnosis import CauseAccount
    from lugwright.report.lines import Line

Wanted = Annotated[
    str, typer.Argument(metavar="CAUSE[@PLACE]", help="A cause, e.g. toe-in-error or toe-in-error@front-axle.")
]
Json = Annotated[bool, typer.Option("--json", help="Print the whole account as JSON.")]


def why_command(case: CaseFile, cause: Wanted, json: Json = False, rules: RulesFolders = None) -> None:
    """Say what carries a cause, what speaks against it, which rules bear on it, and what could overturn it.

    Example: lugwright why examples/one-unit-off-line.yaml frame-alignment-error
    """
    from lugwright.report.account_text import why_lines

    _tell(case, cause, json, rules, why_lines)


def whynot_command(case: CaseFile, cause: Wanted, json: Json = False, rules: RulesFolders = None) -> None:
    """Say why a cause does not stand higher: rules, findings, rivals; and which unseen sign would lift it most.

    Example: lugwright whynot examples/one-unit-off-line.yaml toe-in-error@front-axle
    """
    from lugwright.report.account_text import whynot_lines

    _tell(case, cause, json, rules, whynot_lines)


def _tell(
    case: CaseFile, cause: str, json: bool, rules: RulesFolders, view: Callable[[CauseAccount], Iterable[Line]]
) -> None:
    record, rulebase = load_both(case, rules)
    from lugwright.report.lines import put, write
    from lugwright.triage import account

    found = account(record, rulebase, cause)
    if json:
        put(found.model_dump_json(indent=2) + "\n")
    else:
        write(view(found))
