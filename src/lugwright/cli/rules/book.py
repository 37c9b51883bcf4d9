"""`lugwright rules book`: everything a rule base holds, as one Markdown page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from lugwright.cli.shared import RulesFolders, load_rules, writing, written


def book_command(
    output: Annotated[
        Optional[Path],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("-o", "--output", metavar="FILE", help="Write it there, as .md. Without it, it is printed."),
    ] = None,
    rules: RulesFolders = None,
) -> None:
    """Print the book of a rule base: each cause on a page, signs, checks, work, rules, sheets, disputed points.

    Every number stands with what it rests on. With --rules and your own folder it is the book of your rules over the
    shipped ones. The same rules give the same page.

    Example: lugwright rules book -o rules.md
    """
    from lugwright.issues import Issue, Spot, UnusableInput
    from lugwright.report.book.book import book

    if output is not None and output.suffix.lower() != ".md":
        what, hint = "a book is written as Markdown", "end the name in .md"
        raise UnusableInput([Issue(Spot(str(output)), "cannot-write", what, hint=hint)])
    text = book(load_rules(rules))
    if output is None:
        typer.echo(text, nl=False)
        return
    from lugwright.report.render import write_whole

    with writing(output):
        write_whole(output, text.encode("utf-8"))
    written(output, "written:")
