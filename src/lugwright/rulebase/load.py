"""Loading a rule base: all of it, checked whole, or every fault at once.

A rule base that passed its checks is kept as JSON in the user's cache folder, so that a command that follows need not
read YAML (see `lugwright.rulebase.cache`).
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.rulebase import cache
from lugwright.rulebase.base import KINDS, Content, Layer, RuleBase, fingerprint
from lugwright.rulebase.layers import Home, homes, shipped_folder

_SHOWN = 100  # faults of one code told for one file

__all__ = ["RuleBase", "inspect", "inspect_layers", "load", "load_layers", "shipped_folder"]


def load(folder: Path | None = None) -> RuleBase:
    """The rule base in a folder, or the one that comes with the package; an overlay lies over the latter.

    Raises UnusableInput with every fault.
    """
    return load_layers([] if folder is None else [folder])


def load_layers(folders: Sequence[Path]) -> RuleBase:
    """A whole rule base with overlays over it, from the bottom up; what comes later wins.

    Where the first folder is an overlay, or none is named, the rule base that comes with the package lies at the
    bottom. Raises UnusableInput with every fault of every layer.
    """
    rulebase, issues = inspect_layers(folders)
    if rulebase is None:
        raise UnusableInput(issues)
    return rulebase


def inspect(folder: Path | None = None) -> tuple[RuleBase | None, tuple[Issue, ...]]:
    """The rule base and no fault, or no rule base and every fault that was found, in the order of the files."""
    return inspect_layers([] if folder is None else [folder])


def inspect_layers(folders: Sequence[Path]) -> tuple[RuleBase | None, tuple[Issue, ...]]:
    """As `load_layers`, but hand back the faults instead of raising."""
    found, issues = homes(folders)
    if not found:
        return None, tuple(sorted(set(issues)))
    readable = all(len(home.raw) == len(home.files) for home in found)
    key = cache.key_for([home.raw for home in found]) if not issues and readable else ""
    if key and (kept := cache.fetch(key)) and (rulebase := _from_cache(kept, found)):
        return rulebase, ()
    return _from_files(found, issues, key)


def _from_files(found: Sequence[Home], issues: Sequence[Issue], key: str) -> tuple[RuleBase | None, tuple[Issue, ...]]:
    from lugwright.rulebase.agree import disagreements
    from lugwright.rulebase.gather import gather
    from lugwright.rulebase.merge import merged

    draft, layers = merged(found, [gather(home.files, home.raw, home.shown) for home in found])
    disagreements(draft)
    faults = _shortened({*issues, *draft.issues})
    if faults or draft.about is None or draft.scales is None:
        return None, faults
    entries: dict[str, Any] = {kind: dict(sorted(draft.entries[kind].items())) for kind in KINDS}
    content = Content.model_construct(None, about=draft.about, scales=draft.scales, **entries)
    plain = content.plain()
    mark = fingerprint(plain)
    spots = draft.places()
    if key:
        cache.keep(key, {"content": plain, "fingerprint": mark, **_kept_parts(spots, layers)})
    return RuleBase.of(content, mark, spots, found[0].folder, found[0].shown, layers), ()


def _kept_parts(spots: Mapping[str, Spot], layers: Sequence[Layer]) -> dict[str, Any]:
    """Spots and layers as plain data. A file is named by its layer and its name inside it, wherever that may lie."""
    homes_shown = [f"{layer.shown}/" for layer in layers]
    places: dict[str, list[Any]] = {}
    for name, spot in spots.items():
        inside = [at for at, home in enumerate(homes_shown) if spot.file.startswith(home)]
        at = max(inside, key=lambda at: len(homes_shown[at]))
        places[name] = [at, spot.file.removeprefix(homes_shown[at]), spot.line, spot.column]
    told = [[one.title, one.version, one.overlay, one.adds, one.replaces, one.retires] for one in layers]
    return {"spots": places, "layers": told}


def _shortened(issues: Iterable[Issue]) -> tuple[Issue, ...]:
    """The faults in order; of one code in one file at most a hundred, then how many more there are."""
    kept: list[Issue] = []
    count: Counter[tuple[str, str]] = Counter()
    for issue in sorted(issues):
        count[issue.spot.file, issue.code] += 1
        if count[issue.spot.file, issue.code] <= _SHOWN:
            kept.append(issue)
    for (file, code), number in count.items():
        if number > _SHOWN:
            what = f"{number - _SHOWN} more faults like the {_SHOWN} shown for this file"
            kept.append(Issue(Spot(file), code, what, "one repair may mend many of them"))
    return tuple(sorted(kept))


def _from_cache(kept: bytes, found: Sequence[Home]) -> RuleBase | None:
    """The rule base from kept JSON; None where the JSON is not what it should be."""
    try:
        data = json.loads(kept)
        content = Content.model_validate(data["content"])
        homes_shown = [f"{home.shown}/" for home in found]
        spots = {
            name: Spot(homes_shown[at] + file, line, column) for name, (at, file, line, column) in data["spots"].items()
        }
        layers = tuple(
            Layer(title, version, home.folder, home.shown, overlay, tuple(adds), tuple(replaces), tuple(retires))
            for home, (title, version, overlay, adds, replaces, retires) in zip(found, data["layers"], strict=True)
        )
        mark = str(data["fingerprint"])
    except (ValueError, KeyError, TypeError, IndexError):
        return None
    return RuleBase.of(content, mark, spots, found[0].folder, found[0].shown, layers)
