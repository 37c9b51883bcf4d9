"""`lugwright rules draw`: the rule base as a picture, or as indented text."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from lugwright.cli.shared import RulesFolders, draw_or_say, load_rules


def draw_command(
    entry: Annotated[
        Optional[str],  # noqa: UP045 - typer reads the annotation at run time
        typer.Argument(metavar="ID", help="A cause or a symptom. Without it, the groups of look-alikes."),
    ] = None,
    output: Annotated[
        Optional[Path],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option(
            "-o", "--output", metavar="FILE", help="Draw it: .svg, .png, .pdf or .dot. Without it, text is printed."
        ),
    ] = None,
    rules: RulesFolders = None,
) -> None:
    """Draw one cause with its signs, one symptom with everything it may mean, or all look-alikes.

    Example: lugwright rules draw toe-in-error -o toe-in.svg
    """
    from lugwright.issues import Issue, Spot, UnusableInput, did_you_mean
    from lugwright.report.lines import write

    rulebase = load_rules(rules)
    if entry is None:
        from lugwright.report.look_alike_graph import look_alike_graph, look_alike_lines

        if output is not None:
            draw_or_say(look_alike_graph(rulebase).source, output)
        else:
            write(look_alike_lines(rulebase))
        return
    wanted = rulebase.aliases.get(entry, entry)
    if wanted not in rulebase.causes and wanted not in rulebase.symptoms:
        hint = did_you_mean(entry, [*rulebase.causes, *rulebase.symptoms])
        raise UnusableInput([Issue(Spot(entry), "unknown-id", "only a cause or a symptom can be drawn", hint=hint)])
    if output is not None:
        from lugwright.report.rule_graph import rule_graph

        draw_or_say(rule_graph(rulebase, wanted).source, output)
    else:
        from lugwright.report.rule_graph_text import rule_graph_lines

        write(rule_graph_lines(rulebase, wanted))
