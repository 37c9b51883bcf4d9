"""Lints of words: unfinished and copied texts, names and ids too close to one another, things listed twice."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import combinations
from typing import Any

from lugwright.rulebase.base import KINDS
from lugwright.rulebase.schema import Entry
from lugwright.rulelint.registry import Flaw, lint
from lugwright.rulelint.whole import Whole

_UNFINISHED = re.compile(r"\b(FIXME|TBD|XXX)\b|\?\?\?|\blorem ipsum\b|<[a-z][a-z -]*>")
#: Shorter ids are not compared letter by letter.
SHORTEST = 5


def texts(entry: Entry) -> Iterator[tuple[str, str]]:
    """Every text of an entry with the way to it, as `shows/2/because`."""

    def walk(value: Any, way: str) -> Iterator[tuple[str, str]]:
        if isinstance(value, str):
            yield way, value
        elif isinstance(value, Mapping):
            for key, inner in value.items():
                yield from walk(inner, f"{way}/{key}".lstrip("/"))
        elif isinstance(value, (list, tuple)):
            for n, inner in enumerate(value):
                yield from walk(inner, f"{way}/{n}")

    yield from walk(entry.model_dump(exclude_defaults=True, by_alias=True), "")


@lint("unfinished-text", "error")
def unfinished_text(whole: Whole) -> Iterator[Flaw]:
    """A text that somebody meant to come back to."""
    for kind in KINDS:
        for name, entry in whole.rulebase.entries(kind).items():
            for way, text in texts(entry):
                if found := _UNFINISHED.search(text):
                    yield Flaw(
                        f"{kind}/{name}/{way}",
                        f"'{found[0]}' stands in {_field(way)} of '{name}'",
                        "it would be printed as it is",
                        "write what is meant",
                    )


def _field(way: str) -> str:
    return f"'{way.rpartition('/')[2]}'" if not way.rpartition("/")[2].isdigit() else f"'{way.partition('/')[0]}'"


@lint("because-copied", "warning")
def because_copied(whole: Whole) -> Iterator[Flaw]:
    """A mechanism in the very words of another entry."""
    yield from _copies(whole, "because", ("symptoms", "causes", "context", "chaining", "checks", "procedures"))


@lint("recognise-copied", "warning")
def recognise_copied(whole: Whole) -> Iterator[Flaw]:
    """Two symptoms recognised in the very same words."""
    yield from _copies(whole, "recognise", ("symptoms",))


def _copies(whole: Whole, field: str, kinds: tuple[str, ...]) -> Iterator[Flaw]:
    first: dict[str, tuple[str, str]] = {}
    for kind in kinds:
        for name, entry in whole.rulebase.entries(kind).items():
            text = " ".join(getattr(entry, field).split()).lower()
            told, other = first.setdefault(text, (kind, name))
            if (told, other) != (kind, name) and not _siblings(whole, kind, name, told, other):
                yield Flaw(
                    f"{kind}/{name}",
                    f"'{field}' of '{name}' is word for word that of '{other}'",
                    "it was copied and not yet written anew, or the two are one",
                    "say what holds here",
                )


def _siblings(whole: Whole, kind: str, name: str, told: str, other: str) -> bool:
    """Rules of one file that conclude the same kind of thing may share a mechanism, as for the two sides."""
    if (kind, told) != ("chaining", "chaining"):
        return False
    spots = [whole.rulebase.spots.get(f"chaining/{one}") for one in (name, other)]
    heads = [[type(one) for one in whole.rulebase.rules[one].then] for one in (name, other)]
    return bool(spots[0] and spots[1] and spots[0].file == spots[1].file and heads[0] == heads[1])


@lint("same-name", "error")
def same_name(whole: Whole) -> Iterator[Flaw]:
    """Two entries of one kind with the same plain name."""
    for kind in ("symptoms", "causes", "checks", "procedures", "machines", "context"):
        first: dict[str, str] = {}
        for name, entry in whole.rulebase.entries(kind).items():
            other = first.setdefault(entry.name.lower(), name)
            if other != name:
                yield Flaw(
                    f"{kind}/{name}",
                    f"'{name}' and '{other}' are both called '{entry.name}'",
                    "in a report nobody could tell which is meant",
                    "give each a name of its own",
                )


@lint("ids-too-close", "warning")
def ids_too_close(whole: Whole) -> Iterator[Flaw]:
    """Two ids of one kind that differ by one letter, by singular and plural, or by the order of their words."""
    for kind in KINDS:
        near: dict[str, list[str]] = defaultdict(list)
        for name in whole.rulebase.entries(kind):
            for key in dict.fromkeys(_likenesses(name)):
                near[key].append(name)
        for one, other in sorted({pair for names in near.values() for pair in combinations(names, 2)}):
            if _close(one, other, kind):
                yield Flaw(
                    f"{kind}/{other}",
                    f"the ids '{one}' and '{other}' are nearly the same",
                    "one slip of the finger turns the one into the other, and nobody sees it",
                    "rename one of them, or make them one entry",
                )


def _likenesses(name: str) -> Iterator[str]:
    """Keys that two close ids share: the words in order of the alphabet without a final s, and one letter left out."""
    yield " ".join(sorted(word.removesuffix("s") for word in name.split("-")))
    if len(name) >= SHORTEST:
        yield name
        yield from (name[:n] + name[n + 1 :] for n in range(len(name)))


def _close(one: str, other: str, kind: str) -> bool:
    """Whether two ids that share a likeness are one slip apart; differing digits are meant.

    The ids of rules are small sentences, in which the order of the words may make all the difference.
    """
    words = [sorted(word.removesuffix("s") for word in each.split("-")) for each in (one, other)]
    if words[0] == words[1]:
        return kind != "chaining" or one.replace("s", "") == other.replace("s", "")
    if len(one) != len(other):
        longer, shorter = sorted((one, other), key=len, reverse=True)
        return any(longer[:n] + longer[n + 1 :] == shorter for n in range(len(longer)))
    at = [n for n, (a, b) in enumerate(zip(one, other, strict=True)) if a != b]
    if all(one[n].isdigit() and other[n].isdigit() for n in at):
        return False
    return len(at) == 1 or (
        len(at) == 2 and at[1] == at[0] + 1 and one[at[0]] + one[at[1]] == other[at[1]] + other[at[0]]
    )


@lint("alias-of-another-kind", "warning")
def alias_of_another_kind(whole: Whole) -> Iterator[Flaw]:
    """Another name of a symptom, or its id, that is the id of a cause or a check."""
    for name, symptom in whole.rulebase.symptoms.items():
        for word in (name, *symptom.also_called):
            for kind, one in (("causes", "cause"), ("checks", "check")):
                if word in whole.rulebase.entries(kind):
                    what = f"'{word}' is a name of the symptom '{name}' and the id of a {one}"
                    why = "in a case file and on a page nobody could tell which is meant"
                    yield Flaw(f"symptoms/{name}", what, why, "rename one of the two")


@lint("listed-twice", "error")
def listed_twice(whole: Whole) -> Iterator[Flaw]:
    """The same item twice in one list of an entry."""
    for kind in KINDS:
        for name, entry in whole.rulebase.entries(kind).items():
            for field in type(entry).model_fields:
                values = getattr(entry, field)
                for n, one in enumerate(values) if isinstance(values, tuple) else ():
                    if one in values[:n]:
                        yield Flaw(
                            f"{kind}/{name}/{field}/{n}",
                            f"this stands twice under {field}: of '{name}'",
                            "a second time adds nothing, so something else may be meant",
                            "delete it, or write what is meant",
                        )
