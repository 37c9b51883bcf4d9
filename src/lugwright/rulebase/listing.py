"""Which files make up a rule base or an overlay, and what lies in its folder without belonging there."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from lugwright.issues import Issue, Spot, did_you_mean
from lugwright.rulebase.base import KINDS

#: The file that makes a folder an overlay.
OVERLAY = "overlay.yaml"

_SINGLE = {"about.yaml": "it says which rule base this is", "scales.yaml": "it gives every word its number"}
_OF_OVERLAY = (OVERLAY, "scales.yaml")


def is_overlay(folder: Path) -> bool:
    """Whether a folder is meant as an overlay."""
    return (folder / OVERLAY).exists()


def listing(folder: Path, shown: str) -> tuple[dict[str, Path], list[Issue]]:
    """The files of a rule base or an overlay by their names inside it, and what does not belong there.

    Names that begin with a dot and `README.md` are passed over; `cases/` is read by the rule tests, not here.
    """
    if not folder.is_dir():
        what = "there is no such folder" if not folder.exists() else "this is a file; a rule base is a folder"
        why = "a rule base is a folder of YAML files"
        return {}, [Issue(Spot(shown), "not-a-rule-base", what, why, "name the folder")]
    top = {path.name: path for path in _sorted(folder)}
    overlay = OVERLAY in top
    if not overlay and not ({*_SINGLE, *KINDS} & set(top)):
        what = "this folder holds no rule base"
        why = "it has neither about.yaml and scales.yaml nor any of the folders " + ", ".join(KINDS)
        hint = "name the folder that holds about.yaml or overlay.yaml"
        return {}, [Issue(Spot(shown), "not-a-rule-base", what, why, hint)]
    files: dict[str, Path] = {}
    issues: list[Issue] = []
    single = _OF_OVERLAY if overlay else tuple(_SINGLE)
    if overlay and "about.yaml" in top:
        what = "this folder has an about.yaml and an overlay.yaml"
        why = "a whole rule base lies at the bottom and an overlay lies over one; it cannot be both"
        hint = "delete about.yaml to make it an overlay, or overlay.yaml to make it a rule base of its own"
        issues.append(Issue(Spot(f"{shown}/about.yaml"), "wrong-layers", what, why, hint))
        del top["about.yaml"]
    for name, why in _SINGLE.items():
        if name not in top and not overlay:
            issues.append(Issue(Spot(shown), "missing-part", f"{name} is missing", why, f"write {shown}/{name}"))
    for name, path in top.items():
        if name in single:
            files[name] = path
        elif name in KINDS and path.is_dir():
            for inner in _sorted(path):
                if inner.suffix == ".yaml" and not inner.is_dir():
                    files[f"{name}/{inner.name}"] = inner
                else:
                    issues.append(_stranger(f"{shown}/{name}/{inner.name}", inner, ()))
        elif name != "cases" or not path.is_dir():
            issues.append(_stranger(f"{shown}/{name}", path, (*KINDS, "cases", *single)))
    return files, issues


def _sorted(folder: Path) -> Iterator[Path]:
    inside = sorted(folder.iterdir(), key=lambda path: path.name)
    return (path for path in inside if not path.name.startswith(".") and path.name != "README.md")


def _stranger(shown: str, path: Path, known: tuple[str, ...]) -> Issue:
    kind = "folder" if path.is_dir() else "file"
    hint = did_you_mean(path.name, known) if known else ""
    if path.suffix in (".yml", ".YAML", ".YML"):
        hint = "call it .yaml"
    why = "a file nobody reads is a mistake that stays hidden" if kind == "file" else "nothing in it would be read"
    what = f"this {kind} has no place in a rule base"
    return Issue(Spot(shown), "unknown-file", what, why, hint or "move it elsewhere")
