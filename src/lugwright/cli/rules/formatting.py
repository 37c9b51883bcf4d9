"""`lugwright rules format`: the house layout, and nothing but the layout."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

if TYPE_CHECKING:
    from lugwright.issues import Issue


def format_command(
    places: Annotated[
        Optional[list[Path]],  # noqa: UP045 - typer reads the annotation at run time
        typer.Argument(
            metavar="[FOLDER|FILE]...", help="Rule base folders and YAML files (default: the rule base in use)."
        ),
    ] = None,
    check: Annotated[bool, typer.Option("--check", help="Write nothing; exit 1 when a file would change.")] = False,
    wire: Annotated[
        bool, typer.Option("--wire", help="Also write the line that tells a YAML editor which schema to use.")
    ] = False,
) -> None:
    """Lay files out alike: indentation, the order of keys, quotes, long texts folded at 120 columns.

    Comments stay, and a file is only written when it says exactly the same as before. Exit code 0 when all is well,
    1 with --check when a file would change, 2 when a file cannot be read (the others are done all the same).

    Example: lugwright rules format yard-rules
    """
    from lugwright.cli.shared import written
    from lugwright.issues import Issue, Spot, UnusableInput
    from lugwright.report.render import write_whole
    from lugwright.rulebase.layers import shipped_folder

    issues: list[Issue] = []
    changed = files = 0
    for path, home in _files(places or [shipped_folder()], issues, writing=not check):
        files += 1
        new = _formatted(path, home if wire else None, issues)
        if new is None or new == path.read_bytes():
            continue
        changed += 1
        if check:
            typer.echo(f"would change: {_near(path)}")
            continue
        try:
            write_whole(path, new)
        except OSError as problem:
            why = (problem.strerror or str(problem)).lower()
            issues.append(Issue(Spot(_near(path)), "cannot-write", f"this cannot be written: {why}"))
            continue
        written(Path(_near(path)), "formatted:")
    typer.echo(f"{changed} of {files} file{'s' if files != 1 else ''} {'would change' if check else 'changed'}.")
    if issues:
        raise UnusableInput(issues)
    if check and changed:
        raise typer.Exit(1)


def _files(places: list[Path], issues: list[Issue], *, writing: bool) -> Iterator[tuple[Path, Path]]:
    """Every file to lay out, once each, with the rule base folder it was found in."""
    from lugwright.issues import Issue, Spot
    from lugwright.rulebase.base import KINDS

    package = Path(__file__).resolve().parents[2]
    seen = set()
    for place in places:
        if writing and package in place.resolve().parents:
            what, hint = "this belongs to the installed package", "copy it to a folder of your own, and name that"
            issues.append(Issue(Spot(place.as_posix()), "cannot-write", what, "an update would overwrite it", hint))
        elif place.is_dir():
            inside = sorted(path for path in place.rglob("*.yaml") if not _hidden(path.relative_to(place)))
            for path in inside:
                if path.is_file() and path.resolve() not in seen:
                    seen.add(path.resolve())
                    yield path, place
        elif place.is_file():
            if place.resolve() not in seen:
                seen.add(place.resolve())
                yield place, place.parent.parent if place.parent.name in (*KINDS, "cases") else place.parent
        else:
            what = "there is no such file or folder"
            issues.append(Issue(Spot(place.as_posix()), "missing-file", what, hint="check the spelling"))


def _near(path: Path) -> str:
    """The name of a file as it is told: from the folder one stands in, where it lies below it."""
    return path.relative_to(Path.cwd()).as_posix() if Path.cwd() in path.parents else path.as_posix()


def _hidden(path: Path) -> bool:
    return any(part.startswith(".") for part in path.parts)


def _formatted(path: Path, home: Path | None, issues: list[Issue]) -> bytes | None:
    """The bytes a file should have; None, with the reason noted, where it cannot be laid out.

    home: the rule base folder whose schemas the file is to be wired to, if it is to be wired.
    """
    from lugwright.cli.rules.file_kinds import SCHEMAS, SHAPES, kind_of, wire_to
    from lugwright.issues import Issue, Spot
    from lugwright.plain_yaml import examine_plain
    from lugwright.rulebase.layout import LayoutError, laid_out, wired

    shown = _near(path)
    document, faults = examine_plain(path, shown=shown, empty_ok=True)
    issues += faults
    if document is None or faults:
        return None
    kind = kind_of(path, document.data)
    text = "\n".join(document.lines)
    if kind and home:
        text = wired(text, wire_to(path, home / SCHEMAS, kind))
    try:
        if kind is None:
            return laid_out(text, shown).encode()
        return laid_out(text, shown, kind.shape, SHAPES, keyed=kind.keyed).encode()
    except LayoutError as problem:
        why = "formatting may never change what a file says"
        hint = "the file is left as it is; a tab or another invisible character in a text is the usual reason"
        issues.append(Issue(Spot(shown), "layout-changes-content", str(problem), why, hint))
        return None
