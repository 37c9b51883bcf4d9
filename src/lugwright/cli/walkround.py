"""`lugwright walkround`: build or continue a case at the terminal."""

from __future__ import annotations

import io
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from lugwright.cli.shared import RulesFolders, load_rules
from lugwright.issues import Issue, Spot, UnusableInput

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

#: What may still be missing from a case that is gone on with.
STILL_ASKED = ("a case needs", "a machine needs")


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
    from lugwright.report.lines import let_go, printable
    from lugwright.walkround.save import foresee_saving, load
    from lugwright.walkround.terminal import talk

    foresee_saving(path)
    draft = load(path)
    if draft.data:
        _foresee_case(path, rulebase)
    elif re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", path.stem):
        draft = draft.put("case", path.stem)
    if isinstance(sys.stdin, io.TextIOWrapper):  # what is not text is refused like any other answer
        sys.stdin.reconfigure(errors="surrogateescape")
    try:
        talk(path, draft, rulebase, sys.stdin, sys.stdout, echo=not sys.stdin.isatty())
    except KeyboardInterrupt:  # while the next question is being worked out
        typer.echo(f"\nSaved. To go on from here:\n  lugwright walkround {printable(str(path))}")
    except OSError as problem:  # the screen cannot be written to; what was answered is saved
        let_go()
        if not isinstance(problem, BrokenPipeError):  # which is no fault: nobody reads on, as with `| head`
            what = f"cannot be written: {problem.strerror or problem}"
            raise UnusableInput([Issue(Spot("standard output"), "cannot-write", what)]) from None


def _foresee_case(path: Path, rulebase: RuleBase) -> None:
    """Refuse what a person wrote wrongly before it is gone on with; what is only missing is asked for."""
    from lugwright.casefile.load import load_case

    try:
        load_case(path, rulebase)
    except UnusableInput as problem:
        wrong = [one for one in problem.issues if one.code != "missing-key" or not one.what.startswith(STILL_ASKED)]
        if wrong:
            raise UnusableInput(wrong) from None
