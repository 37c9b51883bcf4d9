"""`lugwright rules new`: a new entry, as a skeleton to be filled in, with its cases."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from lugwright.cli.shared import RulesFolders

if TYPE_CHECKING:
    from lugwright.issues import Spot
    from lugwright.rulebase.known import Known

#: From this likeness on (1 is the same), two ids could be taken for one another.
_ALIKE = 0.88

_OWN = (
    "start a folder of your own, for example yard-rules, with a file overlay.yaml that holds the two lines "
    "`title: yard rules` and `over: shipped`; then name it: --rules yard-rules"
)


class NewKind(str, Enum):
    """What can be begun."""

    symptom = "symptom"
    cause = "cause"
    chaining = "chaining"
    check = "check"
    procedure = "procedure"
    context = "context"
    machine = "machine"

    @property
    def folder(self) -> str:
        """The folder such entries stand in."""
        return self.value if self in (NewKind.chaining, NewKind.context) else f"{self.value}s"


def new_command(
    kind: Annotated[NewKind, typer.Argument(help="What to begin.")],
    name: Annotated[str, typer.Argument(metavar="ID", help="Its id: small letters, digits and single hyphens.")],
    rules: RulesFolders = None,
    anyway: Annotated[bool, typer.Option("--anyway", help="Go on although the id resembles another one.")] = False,
) -> None:
    """Write the skeleton of a new entry, with a comment for every key and TODO where something must be written.

    A symptom, a cause and a chaining rule get a file of cases with it, so that the rules and their tests arrive
    together. It is written into the folder that is named last.

    Example: lugwright rules new cause sliding-belt --rules yard-rules
    """
    from lugwright.rulebase.known import known
    from lugwright.rulebase.layers import shipped_folder

    folders = list(rules or ())
    folder = folders[-1] if folders else shipped_folder()
    shown = folder.as_posix() if folders else "rules"
    _usable(folder, shown)
    _like_an_id(name)
    there = known(folders)
    _free(name, kind, there)
    if not anyway:
        _unlike_others(name, kind, there)
    files = _texts(kind, name, folder, there)
    _write(files)
    _refresh_schemas(folder, folders)
    _next_steps(kind, name, folder, [one.as_posix() for one in folders] or ["rules"], files)


def _refuse(at: str, code: str, what: str, why: str, hint: str) -> NoReturn:
    from lugwright.issues import Issue, Spot, UnusableInput

    raise UnusableInput([Issue(Spot(at), code, what, why, hint)])


def _usable(folder: Path, shown: str) -> None:
    """Refuse a folder that is no rule base, that belongs to the package, or that cannot be written to."""
    import os

    from lugwright.rulebase.base import KINDS
    from lugwright.rulebase.listing import OVERLAY

    package = Path(__file__).resolve().parents[2]
    if package in folder.resolve().parents:
        what, why = "this rule base belongs to the installed package", "the next update would overwrite what you write"
        _refuse(shown, "cannot-write", what, why, _OWN)
    if not folder.is_dir():
        what = "there is no such folder" if not folder.exists() else "this is a file; a rule base is a folder"
        _refuse(shown, "not-a-rule-base", what, "an entry is written into a rule base or an overlay", _OWN)
    if not any((folder / part).exists() for part in (OVERLAY, "about.yaml", *KINDS)):
        what = "this folder holds no rule base and no overlay"
        _refuse(shown, "not-a-rule-base", what, "nobody would read what is written here", _OWN)
    if not os.access(folder, os.W_OK | os.X_OK):
        _refuse(shown, "cannot-write", "you may not write into this folder", "nothing was written", _OWN)


def _like_an_id(name: str) -> None:
    import re

    from lugwright.rulebase.skeleton_cases import LONGEST

    if re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", name) and len(name) <= LONGEST:
        return
    made = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:LONGEST].strip("-")
    hint = f"for example '{made}'" if re.match("[a-z]", made) else "for example lug-face-scuff"
    what = f"'{name[:LONGEST]}' is not written like an id"
    why = "an id is small letters and digits with single hyphens, a letter first, at most 60 characters"
    _refuse(name[:LONGEST], "bad-id", what, why, hint)


def _free(name: str, kind: NewKind, there: Known) -> None:
    """Refuse an id that is taken, by an entry of any kind or as another name of a symptom."""
    for other, spots in there.spots.items():
        if name in spots:
            what = f"'{name}' is already the id of an entry under {other}, at {spots[name]}"
            hint = "choose another id"
            if other == kind.folder:
                hint += ", or change that entry; to put your own in its place, copy it into an overlay and list "
                hint += f"{other}/{name} there under replaces"
            _refuse(name, "duplicate-id", what, "two things of one name are mixed up sooner or later", hint)
    if real := there.aliases().get(name):
        what = f"'{name}' is another name of the symptom '{real}', at {there.spots['symptoms'].get(real)}"
        hint = f"use '{real}', or take the name out of its also_called first"
        _refuse(name, "alias-clash", what, "a name in a case file must mean one symptom", hint)


def _unlike_others(name: str, kind: NewKind, there: Known) -> None:
    """Refuse, unless it is meant, an id that could be taken for another of the same kind."""
    found = alike(name, there.spots[kind.folder])
    if found:
        others = " and ".join(f"'{other}' ({spot})" for other, spot in found.items())
        what = f"'{name}' is nearly the same as {others}"
        why = "two ids for one thing split its evidence, and a slip of the pen would go unnoticed"
        _refuse(name, "near-duplicate-id", what, why, "use that one; or, if it is truly another thing, add --anyway")


def alike(name: str, others: Mapping[str, Spot]) -> dict[str, Spot]:
    """The ids that could be taken for this one: nearly the same letters, or the same words in another order.

    >>> from lugwright.issues import Spot
    >>> list(alike("belt-edges-damage", {"belt-edge-damage": Spot("a"), "hub-hot": Spot("b")}))
    ['belt-edge-damage']
    """
    import difflib

    found = {}
    for other, spot in others.items():
        match = difflib.SequenceMatcher(None, name, other, autojunk=False)
        near = match.quick_ratio() >= _ALIKE and match.ratio() >= _ALIKE
        turned = sorted(name.split("-")) == sorted(other.split("-")) and "not" not in name.split("-")
        if turned or (near and not _told_apart(name, other)):
            found[other] = spot
    return found


_OPPOSITES = ({"in", "out"}, {"inboard", "outboard"}, {"left", "right"}, {"front", "rear"}, {"high", "low"},
              {"hot", "cold"}, {"rising", "falling"}, {"wide", "narrow"})  # fmt: skip


def _told_apart(name: str, other: str) -> bool:
    """Do two ids differ only by words nobody mixes up: opposites such as in and out, a `not`, or numbers?"""
    words, others = name.split("-"), other.split("-")
    odd = set(words) ^ set(others)
    if odd and (odd <= {"no", "not"} or all(word.isdigit() for word in odd)):
        return True
    return len(words) == len(others) and all(a == b or {a, b} in _OPPOSITES for a, b in zip(words, others, strict=True))


def _texts(kind: NewKind, name: str, folder: Path, there: Known) -> dict[Path, str]:
    """The files to be written; refuse where one of them is there already."""
    from lugwright.cli.rules.file_kinds import FILE_KINDS, SCHEMAS, wire_to
    from lugwright.rulebase.layout import wired
    from lugwright.rulebase.skeleton import skeleton
    from lugwright.rulebase.skeleton_cases import skeleton_cases

    made = {kind.folder: skeleton(kind.folder, name, there)}
    if cases := skeleton_cases(kind.folder, name, there):
        made["cases"] = cases
    files = {}
    for part, text in made.items():
        path = folder / part / f"{name}.yaml"
        if path.exists():
            what = "there is such a file already, and it holds other entries"
            _refuse(path.as_posix(), "cannot-write", what, "it would be overwritten", "rename it, or choose another id")
        files[path] = wired(text, wire_to(path, folder / SCHEMAS, FILE_KINDS[part]))
    return files


def _write(files: dict[Path, str]) -> None:
    """Write all files or none; a folder that was made for them goes again with them."""
    from lugwright.report.render import write_whole

    done: list[Path] = []
    made: list[Path] = []
    try:
        for path, text in files.items():
            if not path.parent.exists():
                path.parent.mkdir()
                made.append(path.parent)
            write_whole(path, text.encode())
            done.append(path)
    except BaseException as problem:
        for path in done:
            path.unlink(missing_ok=True)
        for parent in made:
            parent.rmdir()
        if isinstance(problem, OSError):
            why = problem.strerror or str(problem)
            _refuse(path.as_posix(), "cannot-write", f"this cannot be written: {why.lower()}", "nothing was kept", _OWN)
        raise


def _refresh_schemas(folder: Path, folders: Sequence[Path]) -> None:
    """Bring the schemas of a folder that has them up to date, so that an editor offers the new id."""
    from lugwright.cli.rules.file_kinds import SCHEMAS, kinds_for, write_schemas
    from lugwright.rulebase.known import known
    from lugwright.rulebase.listing import is_overlay

    target = folder / SCHEMAS
    if target.is_dir():
        fresh = known(folders)
        try:
            write_schemas(target, fresh, kinds_for(folder), overlay=is_overlay(folder))
        except OSError:
            typer.echo(f"{target}: the schemas were not brought up to date; they cannot be written", err=True)


def _next_steps(kind: NewKind, name: str, folder: Path, layers: Sequence[str], files: dict[Path, str]) -> None:
    from lugwright.cli.rules.file_kinds import SCHEMAS
    from lugwright.rulebase.unfilled import TODO

    shown = layers[-1]
    for path, text in files.items():
        blanks = sum(len(TODO.findall(line)) for line in text.splitlines() if not line.lstrip().startswith("#"))
        typer.echo(f"written: {shown}/{path.relative_to(folder).as_posix()} ({blanks} TODO)")
    typer.echo("\nNext:")
    steps = ["write something for every TODO"]
    if kind is NewKind.symptom:
        steps.append(f"let a cause show it: add {{symptom: {name}, how_often: ...}} under its shows")
    if kind is NewKind.check:
        steps.append(f"let a cause name it: split_by: {name}, under its look_alikes")
    if kind is NewKind.procedure:
        steps.append(f"let a cause name it: procedure: {name}")
    if kind is NewKind.context:
        steps.append(f"use it: in a chaining rule {{context: {name}, is: ...}}, or at a sign of a cause under given")
    if kind is NewKind.machine:
        steps.append(f"name it in a case file: sheet: {name}")
    steps.append(f"lugwright rules check {' '.join(layers)}")
    steps.append(f"lugwright rules test {' '.join(layers)}")
    for number, step in enumerate(steps, 1):
        typer.echo(f"  {number}. {step}")
    if not (folder / SCHEMAS).is_dir():
        where = "" if shown == "rules" else "".join(f" --rules {layer}" for layer in layers)
        typer.echo(f"A YAML editor offers ids and words after: lugwright rules schema -o {shown}/{SCHEMAS}{where}")
