"""`lugwright map`: the wear map of a case as a picture, and its pattern in words."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from lugwright.cli.shared import CaseFile, RulesFolders, load_both, written


def map_command(
    case: CaseFile,
    output: Annotated[
        Optional[Path],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("-o", "--output", metavar="FILE", help="Draw it: .svg or .png. Without it, it is told in words."),
    ] = None,
    rules: RulesFolders = None,
) -> None:
    """Draw this machine from above with every sign at its place, and say which pattern the signs form.

    Example: lugwright map examples/side-hill-look-alike.yaml -o map.svg
    """
    from lugwright.cli.shared import writing
    from lugwright.report.page.write import MAPS, foresee, write_map

    if output is not None:
        with writing(output):
            foresee(output, MAPS)
    record, rulebase = load_both(case, rules)
    from lugwright.report.lines import write
    from lugwright.report.wear_map_text import map_lines
    from lugwright.triage import triage

    answer = triage(record, rulebase)
    if output is None:
        write(map_lines(answer))
        return
    with writing(output):
        write_map(answer, output)
    written(output, "drawn:")
