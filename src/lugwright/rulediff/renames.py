"""Entries that were only given another id, and what that does to everything that refers to them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from lugwright.rulediff.meaning import mark

Plain = Mapping[str, Mapping[str, dict[str, Any]]]  # kind -> id -> the entry as plain data
Names = Mapping[str, Mapping[str, str]]  # kind -> old id -> new id

#: Key of an entry or of a part of it -> the kind of entry that its id, its list of ids or its keys name.
_ONE = {
    "symptom": "symptoms", "seen": "symptoms", "absent": "symptoms", "finding": "symptoms", "cause": "causes",
    "excludes": "causes", "split_by": "checks", "reading": "checks", "void": "checks", "voids": "checks",
    "context": "context", "procedure": "procedures", "work": "procedures",
}  # fmt: skip
_LIST = {"decides": "symptoms", "not_while": "symptoms", "look_alikes": "symptoms", "feeds": "causes",
         "needs_first": "checks"}  # fmt: skip
_KEYS = {"given": "context", "unless": "context"}


def renames(old: Plain, new: Plain) -> dict[str, dict[str, str]]:
    """Old id -> new id for each kind: a symptom that keeps its old id as another name, or the same content.

    A rename is likely, not certain, when only the content says so. Where two entries that went, or two that came, have
    one content, nobody can say which became which, and none is taken for a rename.
    """
    gone = {kind: sorted(old[kind].keys() - new[kind].keys()) for kind in old}
    come = {kind: sorted(new[kind].keys() - old[kind].keys()) for kind in old}
    hidden = {kind: dict.fromkeys((*gone[kind], *come[kind]), "?") for kind in old}
    found: dict[str, dict[str, str]] = {kind: {} for kind in old}
    for name in come["symptoms"]:
        for other in new["symptoms"][name]["also_called"]:
            if other in gone["symptoms"] and other not in found["symptoms"]:
                found["symptoms"][other] = name
                break
    for kind in old:
        before = _by_content(old[kind], (one for one in gone[kind] if one not in found[kind]), hidden)
        taken = set(found[kind].values())
        after = _by_content(new[kind], (one for one in come[kind] if one not in taken), hidden)
        for content, names in before.items():
            if len(names) == 1 and len(after.get(content, ())) == 1:
                found[kind][names[0]] = after[content][0]
    return {kind: dict(sorted(names.items())) for kind, names in found.items() if names}


def _by_content(entries: Mapping[str, Any], names: Iterator[str], hidden: Names) -> dict[str, list[str]]:
    """Content without other names -> the ids that have it. Ids that came or went count as one and the same."""
    found: dict[str, list[str]] = {}
    for name in names:
        content = {key: value for key, value in entries[name].items() if key != "also_called"}
        found.setdefault(mark(referring_to(content, hidden)), []).append(name)
    return found


def referring_to(value: Any, names: Names) -> Any:
    """Plain data with every id it refers to replaced by its new name.

    >>> referring_to({"shows": [{"symptom": "a"}], "feeds": ["b"]}, {"symptoms": {"a": "z"}, "causes": {"b": "y"}})
    {'shows': [{'symptom': 'z'}], 'feeds': ['y']}
    """
    if isinstance(value, Mapping):
        return {key: _field(key, item, names) for key, item in value.items()}
    return [referring_to(item, names) for item in value] if isinstance(value, (list, tuple)) else value


def _field(key: str, value: Any, names: Names) -> Any:
    if isinstance(value, str):
        return names.get(_ONE.get(key, ""), {}).get(value, value)
    if isinstance(value, Mapping) and key in _KEYS:
        known = names.get(_KEYS[key], {})
        return {known.get(name, name): item for name, item in value.items()}
    if isinstance(value, (list, tuple)) and key in _LIST and all(isinstance(item, str) for item in value):
        known = names.get(_LIST[key], {})
        return [known.get(item, item) for item in value]
    return referring_to(value, names)
