"""Arguments that several commands share, and loading what they name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from lugwright.issues import Issue, Spot, UnusableInput

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase

CaseFile = Annotated[Path, typer.Argument(metavar="CASE.yaml", help="The case file: what was seen and measured.")]
RulesFolders = Annotated[
    Optional[list[Path]],  # noqa: UP045 - typer reads the annotation at run time
    typer.Option(
        "--rules",
        metavar="FOLDER",
        help="Use another rule base, or lay an overlay over the one named before it. May be given several times "
        "(default: the rule base that came with lugwright; an overlay named first lies over that).",
    ),
]
#: Help for the folders that a command takes as arguments.
LAYERS = (
    "The rule base and the overlays over it, from the bottom up; overlays alone lie over the rule base that came with "
    "lugwright, which is also the default."
)


def load_rules(rules: Path | Sequence[Path] | None) -> RuleBase:
    """The rule base that `--rules` names, given never, once or several times. Raises UnusableInput."""
    from lugwright.rulebase.load import load_layers

    return load_layers([rules] if isinstance(rules, Path) else list(rules or ()))


def load_both(case: Path, rules: Path | Sequence[Path] | None) -> tuple[CaseRecord, RuleBase]:
    """The rule base, then the case checked against it. Raises UnusableInput."""
    from lugwright.casefile.load import load_case

    rulebase = load_rules(rules)
    return load_case(case, rulebase), rulebase


def written(target: Path, action: str) -> None:
    """Say on standard error that a file was written, so that standard output stays clean for a pipe."""
    typer.echo(f"{action} {target}", err=True)


@contextmanager
def writing(target: Path) -> Iterator[None]:
    """Turn what stands in the way of writing a file into bad input, told in words."""
    from lugwright.report.render import CannotDraw

    try:
        yield
    except CannotDraw as problem:
        raise UnusableInput([Issue(Spot(str(target)), "cannot-draw", str(problem))]) from None
    except OSError as problem:
        why = problem.strerror or str(problem)
        raise UnusableInput([Issue(Spot(str(target)), "cannot-write", f"cannot be written: {why}")]) from None


def foresee_drawing(target: Path | None) -> None:
    """Refuse a picture that cannot be drawn before anything else is done. Raises UnusableInput."""
    from lugwright.report.render import foresee

    if target is not None:
        with writing(target):
            foresee(target)


def draw_or_say(source: str, target: Path) -> None:
    """Draw a graph to a file. A missing renderer is a note; a wrong ending or an unwritable folder is bad input."""
    from lugwright.report.render import CannotDraw, draw

    try:
        note = draw(source, target)
    except CannotDraw as problem:
        raise UnusableInput([Issue(Spot(str(target)), "cannot-draw", str(problem))]) from None
    except OSError as problem:
        why = problem.strerror or str(problem)
        raise UnusableInput([Issue(Spot(str(target)), "cannot-write", f"cannot be written: {why}")]) from None
    if note:
        typer.echo(note, err=True)
    else:
        written(target, "drawn:")
