"""Loading a rule base: all of it, checked whole, or every fault at once.

A rule base that passed its checks is kept as JSON in the user's cache folder, so that a command that follows need not
read YAML (see `lugwright.rulebase.cache`).
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.rulebase import cache
from lugwright.rulebase.base import KINDS, Content, RuleBase, fingerprint
from lugwright.rulebase.listing import listing

_SHOWN = 100  # faults of one code told for one file
_LARGEST = 2_000_000  # bytes of one file; a larger one is left to the reader to refuse

__all__ = ["RuleBase", "inspect", "load", "shipped_folder"]


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


def load(folder: Path | None = None) -> RuleBase:
    """The rule base in a folder, or the one that comes with the package. Raises UnusableInput with every fault."""
    rulebase, issues = inspect(folder)
    if rulebase is None:
        raise UnusableInput(issues)
    return rulebase


def inspect(folder: Path | None = None) -> tuple[RuleBase | None, tuple[Issue, ...]]:
    """The rule base and no fault, or no rule base and every fault that was found, in the order of the files."""
    home = shipped_folder() if folder is None else Path(folder)
    shown = "rules" if folder is None else home.as_posix()
    files, issues = listing(home, shown)
    if not files:
        return None, tuple(sorted(set(issues)))
    raw = _read(files)
    key = cache.key_for(raw) if not issues and len(raw) == len(files) else ""
    if key and (kept := cache.fetch(key)) and (found := _from_cache(kept, home, shown)):
        return found, ()
    return _from_files(files, raw, issues, home, shown, key)


def _read(files: Mapping[str, Path]) -> dict[str, bytes]:
    """The bytes of every ordinary file that is not too large."""
    raw: dict[str, bytes] = {}
    for name, path in files.items():
        try:
            if path.is_file() and path.stat().st_size <= _LARGEST:
                raw[name] = path.read_bytes()
        except OSError:
            continue
    return raw


def _from_files(
    files: Mapping[str, Path], raw: Mapping[str, bytes], issues: list[Issue], home: Path, shown: str, key: str
) -> tuple[RuleBase | None, tuple[Issue, ...]]:
    from lugwright.rulebase.agree import disagreements
    from lugwright.rulebase.gather import gather

    draft = gather(files, raw, shown)
    disagreements(draft)
    found = _shortened({*issues, *draft.issues})
    if found or draft.about is None or draft.scales is None:
        return None, found
    entries: dict[str, Any] = {kind: dict(sorted(draft.entries[kind].items())) for kind in KINDS}
    content = Content.model_construct(None, about=draft.about, scales=draft.scales, **entries)
    plain = content.plain()
    mark = fingerprint(plain)
    spots = draft.places()
    if key:
        places = {name: [spot.file.removeprefix(f"{shown}/"), spot.line, spot.column] for name, spot in spots.items()}
        cache.keep(key, {"content": plain, "fingerprint": mark, "spots": places})
    return RuleBase.of(content, mark, spots, home, shown), ()


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


def _from_cache(kept: bytes, home: Path, shown: str) -> RuleBase | None:
    """The rule base from kept JSON; None where the JSON is not what it should be."""
    try:
        data = json.loads(kept)
        content = Content.model_validate(data["content"])
        spots = {name: Spot(f"{shown}/{file}", line, column) for name, (file, line, column) in data["spots"].items()}
        mark = str(data["fingerprint"])
    except (ValueError, KeyError, TypeError):
        return None
    return RuleBase.of(content, mark, spots, home, shown)
