"""What changed in knowledge between two rule bases: by meaning, not by line."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from lugwright.diagnosis import RulebaseLabel
from lugwright.rulebase.base import KINDS
from lugwright.rulediff.fields import changes
from lugwright.rulediff.meaning import plain, with_names_of
from lugwright.rulediff.renames import referring_to, renames
from lugwright.rulediff.shape import EntryChange, RuleDiff

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

_Plain = Mapping[str, Mapping[str, dict[str, Any]]]


def compare(old: RuleBase, new: RuleBase) -> RuleDiff:
    """Entries that were added, removed, changed or renamed, and every number of the scales that moved.

    What an entry says about another one follows that one's new id, so a rename is told once, not at every mention.
    Entries stand by kind and then by id; the answer is the same to the byte for the same two rule bases.
    """
    before, after = _entries(old), _entries(new)
    moved = renames(before, after)
    before = referring_to(before, moved)
    found = [*_single("about", _about(old), _about(new)), *_single("scales", _scales(old), _scales(new))]
    for kind in KINDS:
        found += _kind(kind, before[kind], after[kind], moved.get(kind, {}), old, new)
    return RuleDiff(old=_label(old), new=_label(new), same=not found, entries=tuple(found))


def _label(rulebase: RuleBase) -> RulebaseLabel:
    return RulebaseLabel(version=rulebase.about.version, fingerprint=rulebase.fingerprint)


def _entries(rulebase: RuleBase) -> _Plain:
    return {kind: {name: plain(entry) for name, entry in rulebase.entries(kind).items()} for kind in KINDS}


def _about(rulebase: RuleBase) -> dict[str, Any]:
    return plain(rulebase.about)


def _scales(rulebase: RuleBase) -> dict[str, Any]:
    data = plain(rulebase.scales)
    return {**data, "probability_words": {one["word"]: one["at_least"] for one in data["probability_words"]}}


def _single(kind: str, old: dict[str, Any], new: dict[str, Any]) -> Iterator[EntryChange]:
    said = changes(kind, kind, old, new)
    if said:
        name = {"about": "About the rule base", "scales": "Words and their numbers"}[kind]
        yield EntryChange(kind=kind, id=kind, name=name, how="changed", where=f"{kind}.yaml", changes=said)


def _kind(
    kind: str,
    before: Mapping[str, dict[str, Any]],
    after: Mapping[str, dict[str, Any]],
    moved: Mapping[str, str],
    old: RuleBase,
    new: RuleBase,
) -> Iterator[EntryChange]:
    was = {new_id: old_id for old_id, new_id in moved.items()}
    for name in sorted({*before, *after} - set(moved)):
        source = was.get(name, name)
        if name not in after:
            yield EntryChange(
                kind=kind, id=name, name=before[name]["name"], how="removed", where=_where(old, kind, name)
            )
            continue
        here = {"kind": kind, "id": name, "name": after[name]["name"], "where": _where(new, kind, name)}
        if source not in before:
            yield EntryChange(**here, how="added")
            continue
        one: Mapping[str, Any] = before[source]
        if kind == "chaining":
            one = with_names_of(one, after[name])
        said = changes(kind, name, one, after[name])
        if source != name:
            yield EntryChange(**here, how="renamed", was=source, changes=said)
        elif said:
            yield EntryChange(**here, how="changed", changes=said)


def _where(rulebase: RuleBase, kind: str, name: str) -> str:
    spot = rulebase.spots.get(f"{kind}/{name}")
    return str(spot) if spot else ""
