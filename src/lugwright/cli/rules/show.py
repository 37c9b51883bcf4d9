"""`lugwright rules show`: the page of one entry."""

from __future__ import annotations

from typing import Annotated

import typer

from lugwright.cli.rules.kinds import Kind
from lugwright.cli.shared import RulesFolders, load_rules


def show_command(
    entry: Annotated[str, typer.Argument(metavar="ID", help="The id of a symptom, cause, rule, check, ...")],
    rules: RulesFolders = None,
) -> None:
    """Show the page of one entry: what it is, why, on what it rests, and where it is written.

    Example: lugwright rules show frame-alignment-error
    """
    from lugwright.issues import Issue, Spot, UnusableInput, did_you_mean
    from lugwright.report.lines import write
    from lugwright.report.rule_pages import entry_lines

    rulebase = load_rules(rules)
    wanted = rulebase.aliases.get(entry, entry)
    kinds = [kind.value for kind in Kind if wanted in rulebase.entries(kind.value)]
    if not kinds:
        retired = [layer for layer in rulebase.layers for key in layer.retires if key.partition("/")[2] == entry]
        if retired:
            what, why = f"'{entry}' is retired by {retired[-1].title}", "it no longer takes part in any answer"
            hint = f"leave {retired[-1].shown} out to see it"
            raise UnusableInput([Issue(Spot(f"{retired[-1].shown}/overlay.yaml"), "unknown-id", what, why, hint)])
        known = [name for kind in Kind for name in rulebase.entries(kind.value)]
        raise UnusableInput(
            [
                Issue(
                    Spot(entry),
                    "unknown-id",
                    f"no entry of this rule base is called '{entry}'",
                    hint=did_you_mean(entry, known),
                )
            ]
        )
    for kind in kinds:
        write(entry_lines(rulebase, kind, wanted))
