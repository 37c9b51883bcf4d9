"""Which folders make up a rule base: one whole rule base at the bottom, overlays over it, each above the one before.

Only the folders and the names of their files are looked at here, so that a kept rule base need not be read again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.rulebase.listing import is_overlay, listing

_LARGEST = 2_000_000  # bytes of one file; a larger one is left to the reader to refuse
_BOTTOM = "one whole rule base lies at the bottom, and each overlay lies over what was named before it"


@dataclass(frozen=True)
class Home:
    """One folder that takes part: its files by their names inside it, and their bytes where they can be read.

    shown: how messages name the folder.
    """

    folder: Path
    shown: str
    overlay: bool
    files: dict[str, Path] = field(repr=False)
    raw: dict[str, bytes] = field(default_factory=dict, repr=False)


def shipped_folder() -> Path:
    """The folder of the rule base that comes with the package: inside it, or beside it in a checkout.

    Raises UnusableInput when neither is there.
    """
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "shipped_rules", package.parent.parent / "rules"):
        if folder.is_dir():
            return folder
    why = "it belongs to the installed package"
    issue = Issue(Spot("rules"), "not-a-rule-base", "the rule base of the package is missing", why, "install it again")
    raise UnusableInput([issue])


def homes(folders: Sequence[Path]) -> tuple[list[Home], list[Issue]]:
    """The folders from the bottom up, and what is wrong with them or lies in them without belonging there.

    Where no whole rule base is named, the one that comes with the package lies at the bottom, named `rules`. No folder
    is handed back where they do not make up a rule base.
    """
    named = [(Path(folder), Path(folder).as_posix()) for folder in folders]
    if not named or is_overlay(named[0][0]):
        # a folder of the workshop that is called rules too is told apart by the dot before it
        named = [(folder, "./rules" if shown == "rules" else shown) for folder, shown in named]
        named.insert(0, (shipped_folder(), "rules"))
    found: list[Home] = []
    wrong: list[Issue] = []
    strange: list[Issue] = []
    for folder, shown in named:
        files, issues = listing(folder, shown)
        if files:
            strange += issues
            found.append(Home(folder, shown, is_overlay(folder), files))
        else:
            wrong += issues
    wrong += _order(found, named_first=Path(folders[0]) if folders else None)
    if wrong:
        return [], wrong
    return [replace(home, raw=_read(home.files)) for home in found], strange


def _order(found: Sequence[Home], named_first: Path | None) -> list[Issue]:
    """What is wrong with the choice and the order of the folders."""
    issues: list[Issue] = []
    first: dict[Path, Home] = {}
    whole: Home | None = None
    for home in found:
        place = home.folder.resolve()
        if not home.overlay and whole and whole.folder != named_first:
            what = "this whole rule base is named after an overlay"
            hint = f"name it first: --rules {home.shown} --rules {found[1].shown}"
            issues.append(Issue(Spot(home.shown), "wrong-layers", what, _BOTTOM, hint))
        elif place in first:
            what, hint = "this folder is named twice", "name it once"
            issues.append(Issue(Spot(home.shown), "wrong-layers", what, "a layer can lie in one place only", hint))
        elif not home.overlay and whole:
            what = f"this is a second whole rule base; {whole.shown} is the first"
            hint = "to lay it over the other, give it an overlay.yaml instead of about.yaml and scales.yaml"
            issues.append(Issue(Spot(home.shown), "wrong-layers", what, _BOTTOM, hint))
        first.setdefault(place, home)
        whole = whole or (None if home.overlay else home)
    return issues


def _read(files: dict[str, Path]) -> dict[str, bytes]:
    """The bytes of every ordinary file that is not too large."""
    raw: dict[str, bytes] = {}
    for name, path in files.items():
        try:
            if path.is_file() and path.stat().st_size <= _LARGEST:
                raw[name] = path.read_bytes()
        except OSError:
            continue
    return raw
