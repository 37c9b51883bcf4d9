"""`lugwright rules schema`: what a YAML editor needs to offer ids and words, and to underline what does not fit."""

from __future__ import annotations

from enum import Enum
from pathlib import Path
from typing import Annotated, Optional

import typer

from lugwright.cli.shared import RulesFolders


class SchemaKind(str, Enum):
    """The kinds of file there is a schema for."""

    symptoms = "symptoms"
    causes = "causes"
    context = "context"
    chaining = "chaining"
    checks = "checks"
    procedures = "procedures"
    machines = "machines"
    scales = "scales"
    about = "about"
    overlay = "overlay"
    cases = "cases"
    case = "case"


def schema_command(
    kind: Annotated[
        Optional[SchemaKind],  # noqa: UP045 - typer reads the annotation at run time
        typer.Argument(
            help="The kind of file; every kind when left out. 'case' is a case file, 'cases' the rule tests."
        ),
    ] = None,
    output: Annotated[
        Optional[Path],  # noqa: UP045
        typer.Option("-o", "--output", metavar="FOLDER", help="Write KIND.json there instead of printing it."),
    ] = None,
    rules: RulesFolders = None,
) -> None:
    """Print or write the JSON Schema of a kind of file, with the ids of the rule base in use.

    A YAML editor with schema support uses it when the first line of a file is
    # yaml-language-server: $schema=../.schema/causes.json
    which `lugwright rules new` and `lugwright rules format --wire` write. Run the command again when ids have changed.

    Example: lugwright rules schema -o yard-rules/.schema --rules yard-rules
    """
    from lugwright.cli.rules.file_kinds import FILE_KINDS, kinds_for, schema_of, schema_text, write_schemas
    from lugwright.cli.shared import written
    from lugwright.issues import Issue, Spot, UnusableInput
    from lugwright.rulebase.known import known
    from lugwright.rulebase.layers import shipped_folder
    from lugwright.rulebase.listing import is_overlay

    folders = list(rules or ())
    last = folders[-1] if folders else shipped_folder()
    there, overlay = known(folders), is_overlay(last)
    if output is None:
        if kind is None:
            what = "name a kind of file to print its schema, or a folder with -o to write them all"
            hint = "the kinds are " + ", ".join(one.value for one in SchemaKind)
            raise UnusableInput([Issue(Spot("rules schema"), "bad-options", what, hint=hint)])
        typer.echo(schema_text(schema_of(FILE_KINDS[kind.value], there, overlay=overlay)), nl=False)
        return
    kinds = [FILE_KINDS[kind.value]] if kind else kinds_for(last)
    try:
        paths = write_schemas(output, there, kinds, overlay=overlay)
    except OSError as problem:
        why = problem.strerror or str(problem)
        raise UnusableInput([Issue(Spot(str(output)), "cannot-write", f"cannot be written: {why}")]) from None
    for path in paths:
        written(path, "written:")
