"""`lugwright walkround`: build or continue a case at the terminal."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import Annotated, Optional

import typer

from lugwright.cli.shared import RulesFolders, load_rules
from lugwright.issues import Issue, Spot, UnusableInput


def walkround_command(
    case: Annotated[
        Optional[Path],  # noqa: UP045 - typer reads the annotation at run time
        typer.Argument(metavar="CASE.yaml", help="The case file to begin or to go on with (default: case.yaml here)."),
    ] = None,
    rules: RulesFolders = None,
) -> None:
    """Walk round the machine with questions in plain words; every answer is saved at once in a case file.

    Example: lugwright walkround examples/one-unit-off-line.yaml
    """
    path = case or Path("case.yaml")
    rulebase = load_rules(rules)
    from lugwright.casefile.load import load_case
    from lugwright.walkround.save import load
    from lugwright.walkround.terminal import talk

    if not path.parent.is_dir():
        why = "every answer is saved at once, so there must be a place for it"
        raise UnusableInput([Issue(Spot(str(path)), "no-folder", "its folder does not exist", why)])
    draft = load(path)
    if draft.layout and draft.drive and draft.data.get("case"):
        load_case(path, rulebase)  # what a person wrote must be a sound case before it is gone on with
    elif not draft.data and re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", path.stem):
        draft = draft.put("case", path.stem)
    talk(path, draft, rulebase, sys.stdin, sys.stdout, echo=not sys.stdin.isatty())
