"""The links of a rule base as rows: which cause shows which symptom, how often and where, and what is taken for what.

Pictures, tables and indented text are all views of these rows, so that they cannot tell different stories.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, get_args

from lugwright.report.rule_pages import place_words
from lugwright.rulebase.words import Component, HowOften

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import Shows

COMPONENTS: tuple[str, ...] = get_args(Component)
WORDS: tuple[str, ...] = get_args(HowOften)  # the most frequent first
SCOPES = {"unit": "acts on one unit", "axle": "acts on an axle", "machine": "acts on the whole machine"}
MOST_IN_GROUP = 8  # causes; a group with more is no longer read at a glance

_SIDES = {"same": "same side", "opposite": "opposite side", "inboard": "inboard", "outboard": "outboard",
          "both": "both sides", "either": "either side"}  # fmt: skip


@dataclass(frozen=True)
class Link:
    """A cause and one of its signs.

    how_often: the word of the link; `never` where the sign speaks against the cause.
    where:     place and circumstances relative to the cause, in words; empty where nothing needs to be said.
    spot:      file, line and column.
    """

    cause: str
    symptom: str
    how_often: str
    where: str
    against: bool
    spot: str


def links(rulebase: RuleBase, *, cause: str = "", symptom: str = "") -> tuple[Link, ...]:
    """Every link, or those of one cause or one symptom: by component, then the most frequent first, then by id."""
    found = []
    for name, entry in rulebase.causes.items():
        for field, against in (("shows", False), ("never_shows", True)):
            for index, show in enumerate(getattr(entry, field)):
                if cause in ("", name) and symptom in ("", show.symptom):
                    spot = _spot(rulebase, f"causes/{name}/{field}/{index}")
                    found.append(Link(name, show.symptom, show.how_often, where_words(show), against, spot))
    return tuple(sorted(found, key=lambda one: _order(rulebase, one)))


def _order(rulebase: RuleBase, link: Link) -> tuple[object, ...]:
    component = COMPONENTS.index(rulebase.symptoms[link.symptom].component)
    return component, link.against, WORDS.index(link.how_often), link.symptom, link.cause, link.where, link.spot


def where_words(show: Shows) -> str:
    """Where a sign is seen relative to its cause; a sign on the cause's own units says nothing about units."""
    side = _SIDES.get(show.side or "", "")
    rest = place_words(show.model_copy(update={"side": None}))
    return ", ".join(part for part in (side, rest) if part)


def _spot(rulebase: RuleBase, key: str) -> str:
    while key not in rulebase.spots and "/" in key:
        key = key.rpartition("/")[0]
    return str(rulebase.spots[key]) if key in rulebase.spots else ""


@dataclass(frozen=True)
class Alike:
    """Two causes that are taken for one another, and a check that splits them.

    one, two: cause ids, in order.
    named_by: the causes that name the other one, one of them or both; spots: where each of them does.
    """

    one: str
    two: str
    check: str
    named_by: tuple[str, ...]
    spots: tuple[str, ...]

    def other(self, cause: str) -> str:
        """The cause that `cause` is taken for."""
        return self.two if cause == self.one else self.one


def alikes(rulebase: RuleBase) -> tuple[Alike, ...]:
    """Every pair of look-alikes and the check that splits it; a pair split by two checks stands twice."""
    found: dict[tuple[str, str, str], dict[str, str]] = {}
    for name, cause in rulebase.causes.items():
        for index, alike in enumerate(cause.look_alikes):
            one, two = sorted((name, alike.cause))
            spot = _spot(rulebase, f"causes/{name}/look_alikes/{index}")
            found.setdefault((one, two, alike.split_by), {}).setdefault(name, spot)
    return tuple(Alike(*key, tuple(named), tuple(named.values())) for key, named in sorted(found.items()))


def look_alike_groups(pairs: Sequence[Alike]) -> tuple[tuple[str, ...], ...]:
    """Causes put together so that most look-alikes stand in one group; at most eight to a group, largest group first.

    Groups are merged two by two, each time the pair that gains most modularity, ties by id, while any merger gains.
    Source: greedy modularity merging, Newman 2004 (from memory), with a cap on the size.

    >>> look_alike_groups([Alike("a", "b", "x", (), ()), Alike("b", "c", "x", (), ()), Alike("d", "e", "x", (), ())])
    (('a', 'b', 'c'), ('d', 'e'))
    """
    joined = sorted({(pair.one, pair.two) for pair in pairs})
    names = sorted({name for pair in joined for name in pair})
    degree = {name: sum(name in pair for pair in joined) for name in names}
    groups: list[tuple[str, ...]] = [(name,) for name in names]
    while best := _best_merger(groups, joined, degree):
        one, two = best
        groups = sorted([group for group in groups if group not in (one, two)] + [tuple(sorted((*one, *two)))])
    return tuple(sorted(groups, key=lambda group: (-len(group), group)))


def _best_merger(
    groups: Sequence[tuple[str, ...]], joined: Sequence[tuple[str, str]], degree: dict[str, int]
) -> tuple[tuple[str, ...], tuple[str, ...]] | None:
    """The two groups whose merger gains most, or None where no merger gains. Gains are counted in whole numbers."""
    at = {name: index for index, group in enumerate(groups) for name in group}
    between: dict[tuple[int, int], int] = {}
    for one, two in joined:
        if at[one] != at[two]:
            key = (min(at[one], at[two]), max(at[one], at[two]))
            between[key] = between.get(key, 0) + 1
    weight = [sum(degree[name] for name in group) for group in groups]
    gains = [
        (2 * len(joined) * count - weight[i] * weight[j], -i, -j)
        for (i, j), count in between.items()
        if len(groups[i]) + len(groups[j]) <= MOST_IN_GROUP
    ]
    gain, i, j = max(gains, default=(0, 0, 0))
    return (groups[-i], groups[-j]) if gain > 0 else None
