"""Signs, look-alikes and rule parts: lists whose items belong together although they have no ids of their own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from lugwright.rulediff.meaning import mark
from lugwright.rulediff.shape import FieldChange
from lugwright.rulediff.words import from_to, part_subject, part_words, value_words, where_words

Item = Mapping[str, Any]
Pair = tuple[Item | None, Item | None]
_PLACE = ("side", "units", "layout", "drive", "given", "unless")


def paired(old: Sequence[Item], new: Sequence[Item], subject: Callable[[Item], object]) -> list[Pair]:
    """Items that differ, old beside new: of one subject, those that differ in the fewest keys go together.

    Equal items are left out. An item without a partner stands beside None. Exchanging old and new exchanges the pairs.
    """
    called = {mark(item): item for item in (*old, *new)}
    before, after = (Counter(mark(item) for item in items) for items in (old, new))
    gone = [called[key] for key in sorted((before - after).elements())]
    come = [called[key] for key in sorted((after - before).elements())]
    pairs: list[Pair] = []
    candidates = sorted(
        (_distance(one, two), sorted((mark(one), mark(two))), i, j)
        for i, one in enumerate(gone)
        for j, two in enumerate(come)
        if subject(one) == subject(two)
    )
    left, right = set(range(len(gone))), set(range(len(come)))
    for _, _, i, j in candidates:
        if i in left and j in right:
            left.remove(i)
            right.remove(j)
            pairs.append((gone[i], come[j]))
    pairs += [(gone[i], None) for i in sorted(left)]
    pairs += [(None, come[j]) for j in sorted(right)]
    return sorted(pairs, key=lambda pair: (str(subject(pair[0] or pair[1] or {})), mark(pair[0]), mark(pair[1])))


def _distance(one: Item, two: Item) -> int:
    return sum(mark(one.get(key), key) != mark(two.get(key), key) for key in {*one, *two})


def sign_changes(cause: str, field: str, old: Sequence[Item], new: Sequence[Item]) -> Iterator[FieldChange]:
    """What a cause shows differently: signs that came or went, how often, where, when, and how sure that is."""
    against = field == "never_shows"
    for before, after in paired(old, new, lambda show: show["symptom"]):
        if before is None or after is None:
            show = before or after or {}
            yield _sign_came_or_went(cause, field, show, against, came=before is None)
            continue
        symptom, place = after["symptom"], where_words(after)
        under = f"{symptom} speaks against {cause}" if against else f"{symptom} is seen under {cause}"
        at = f", {place}" if place else ""
        if before["how_often"] != after["how_often"]:
            yield _changed(field, f"how often {under}", before["how_often"], after["how_often"], at)
        if any(mark(before[key]) != mark(after[key]) for key in _PLACE):
            yield _changed(field, f"where {under}", where_words(before) or "plainly", place or "plainly")
        for key, said in (
            ("appears", f"when {symptom} comes under {cause}"),
            ("confidence", f"trust in how often {under}"),
        ):
            if before[key] != after[key]:
                usual = "as usual for the symptom" if key == "appears" else "as for the whole cause"
                yield _changed(field, said, before[key] or usual, after[key] or usual, at)
        if mark(before["because"]) != mark(after["because"]):
            yield _changed(field, f"why {under}", before["because"], after["because"], at)


def _sign_came_or_went(cause: str, field: str, show: Item, against: bool, *, came: bool) -> FieldChange:
    place = where_words(show)
    at = f", {place}" if place else ""
    symptom, often = show["symptom"], show["how_often"]
    if against:
        says = f"{symptom} {'now speaks' if came else 'no longer speaks'} against {cause}{at}"
    elif came:
        says = f"{symptom} is now a sign of {cause}: {often}{at}"
    else:
        says = f"{symptom} is no longer a sign of {cause} (was {often}{at})"
    words = f"{symptom}: {often}{at}"
    return _one_sided(field, says, words, came)


def look_alike_changes(cause: str, field: str, old: Sequence[Item], new: Sequence[Item]) -> Iterator[FieldChange]:
    """Causes that this one is taken for, and the checks that split them."""
    for before, after in paired(old, new, lambda one: one["cause"]):
        if before is None or after is None:
            one = before or after or {}
            other, check, came = one["cause"], one["split_by"], before is None
            says = f"{cause} {'may now' if came else 'may no longer'} be taken for {other}; split by {check}"
            yield _one_sided(field, says, f"{other}, split by {check}", came)
            continue
        other = after["cause"]
        if before["split_by"] != after["split_by"]:
            yield _changed(field, f"what splits {cause} from {other}", before["split_by"], after["split_by"])
        if mark(before["how"]) != mark(after["how"]):
            yield _changed(field, f"how {cause} is told from {other}", before["how"], after["how"])


def rule_part_changes(rule: str, field: str, old: Sequence[Item], new: Sequence[Item]) -> Iterator[FieldChange]:
    """Conditions, what blocks the rule, and conclusions."""
    kind = {"when": "condition", "unless": "what blocks it", "then": "conclusion"}[field]
    for before, after in paired(old, new, part_subject):
        if before is not None and after is not None:
            yield _changed(field, f"rule {rule}: {kind} changed", part_words(before), part_words(after))
            continue
        came = before is None
        says = f"rule {rule}: {kind} {'added' if came else 'removed'}: {part_words(before or after or {})}"
        yield _one_sided(field, says, part_words(before or after or {}), came)


def _changed(field: str, said: str, old: object, new: object, at: str = "") -> FieldChange:
    return FieldChange(
        field=field, how="changed", says=f"{said}: {from_to(old, new)}{at}", old=value_words(old), new=value_words(new)
    )


def _one_sided(field: str, says: str, words: str, came: bool) -> FieldChange:
    if came:
        return FieldChange(field=field, how="added", says=says, new=words)
    return FieldChange(field=field, how="removed", says=says, old=words)
