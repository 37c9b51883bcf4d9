"""`lugwright rules list`: ids and names."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from lugwright.cli.rules.kinds import Kind
from lugwright.cli.shared import RulesFolders, load_rules


def list_command(
    kind: Annotated[Optional[Kind], typer.Argument(help="What to list; everything when left out.")] = None,  # noqa: UP045
    rules: RulesFolders = None,
) -> None:
    """List the entries of a rule base: id and plain name.

    Example: lugwright rules list causes
    """
    from lugwright.report.lines import write
    from lugwright.report.rule_pages import list_lines

    rulebase = load_rules(rules)
    write(list_lines(rulebase, [kind.value] if kind else [one.value for one in Kind]))
