"""What one entry says differently, field by field, each change as a sentence of its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from difflib import SequenceMatcher
from typing import Any

from lugwright.rulediff.labels import inner, label
from lugwright.rulediff.meaning import mark, same
from lugwright.rulediff.parts import look_alike_changes, rule_part_changes, sign_changes
from lugwright.rulediff.shape import FieldChange
from lugwright.rulediff.words import from_to, value_words

Changes = Iterator[FieldChange]


def changes(kind: str, name: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> tuple[FieldChange, ...]:
    """Every change of one entry, in the order of its fields. Both entries are plain data of the same kind."""
    return tuple(one for field in new for one in _field(kind, name, field, old.get(field), new[field]))


def _field(kind: str, name: str, field: str, old: Any, new: Any) -> Changes:
    if same(old, new, field):
        return
    special: dict[tuple[str, str], Callable[[str, str, Any, Any], Changes]] = {
        ("causes", "shows"): sign_changes,
        ("causes", "never_shows"): sign_changes,
        ("causes", "look_alikes"): look_alike_changes,
        ("chaining", "when"): rule_part_changes,
        ("chaining", "unless"): rule_part_changes,
        ("chaining", "then"): rule_part_changes,
    }
    if (kind, field) in special:
        yield from special[kind, field](name, field, old, new)
    elif field == "steps":
        yield from _steps(label(kind, field, name), field, old, new)
    elif field == "basis":
        for key in ("kind", "source", "confidence"):
            yield from _leaf(label(kind, f"basis {key}", name), field, old[key], new[key])
    else:
        yield from _any(label(kind, field, name), field, old, new)


def _any(said: str, field: str, old: Any, new: Any) -> Changes:
    """A value of any shape: a list is a set of items, a mapping is compared key by key."""
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        for key in sorted({*old, *new}):
            yield from _key(inner(said, key), key, field, old, new)
    elif isinstance(old, (list, tuple)) and isinstance(new, (list, tuple)):
        words = {mark(item): value_words(item) for item in (*old, *new)}
        before, after = (Counter(mark(item) for item in items) for items in (old, new))
        for key in sorted((after - before).elements()):
            yield FieldChange(field=field, how="added", says=f"{said}: now also {words[key]}", new=words[key])
        for key in sorted((before - after).elements()):
            yield FieldChange(field=field, how="removed", says=f"{said}: no longer {words[key]}", old=words[key])
    else:
        yield from _leaf(said, field, old, new)


def _key(said: str, key: str, field: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> Changes:
    if key not in old:
        words = value_words(new[key])
        yield FieldChange(field=field, how="added", says=f"{said}: new, {words}", new=words)
    elif key not in new:
        words = value_words(old[key])
        yield FieldChange(field=field, how="removed", says=f"{said}: gone (was {words})", old=words)
    elif not same(old[key], new[key], key):
        yield from _any(said, field, old[key], new[key])


def _leaf(said: str, field: str, old: Any, new: Any) -> Changes:
    if old != new:
        words = from_to(old, new)
        yield FieldChange(
            field=field, how="changed", says=f"{said}: {words}", old=value_words(old), new=value_words(new)
        )


def _steps(said: str, field: str, old: Any, new: Any) -> Changes:
    """Steps have an order: what was put in, taken out, reworded, or moved."""
    before, after = [_step(one) for one in old], [_step(one) for one in new]
    if sorted(before) == sorted(after):
        order = ", ".join(str(before.index(text) + 1) for text in after)
        yield FieldChange(
            field=field,
            how="changed",
            says=f"{said}: same steps in another order, now {order}",
            old="\n".join(before),
            new="\n".join(after),
        )
        return
    for word, i, j, k, m in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if word == "equal":
            continue
        pairs = min(j - i, m - k)
        for n in range(pairs):
            one, two = before[i + n], after[k + n]
            yield FieldChange(
                field=field, how="changed", says=f"{said}, step {k + n + 1}: {from_to(one, two)}", old=one, new=two
            )
        for n in range(i + pairs, j):
            yield FieldChange(
                field=field, how="removed", says=f"{said}: step {n + 1} taken out: {before[n]}", old=before[n]
            )
        for n in range(k + pairs, m):
            yield FieldChange(field=field, how="added", says=f"{said}: new step {n + 1}: {after[n]}", new=after[n])


def _step(step: Any) -> str:
    if isinstance(step, Mapping):
        return f"{'caution: ' + value_words(step['caution']) + ' ' if step['caution'] else ''}{value_words(step['do'])}"
    return value_words(step)
