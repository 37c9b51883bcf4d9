"""A rule base with what several lints need: who shows, reads and concludes a sign, and where a link reaches."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from lugwright.belief.placing import applies, cause_places, show_places
from lugwright.places import DRIVES, LAYOUTS, Place
from lugwright.rulebase import rules as written

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import Cause, MachineSheet, Shows, Symptom

_T = TypeVar("_T")

#: Every kind of machine: layout and drive.
MACHINES = tuple((layout, drive) for layout in LAYOUTS for drive in DRIVES)
#: How-often words from the rarest up.
WORDS_UP = ("never", "rarely", "sometimes", "often", "usually", "almost-always")


@dataclass(frozen=True, eq=False)
class Link:
    """One sign of a cause. key: `causes/id/shows/n` or `causes/id/never_shows/n`."""

    cause: str
    key: str
    show: Shows
    never: bool


#: Links by the symptom and the place they reach.
Profile = Mapping[tuple[str, Place], tuple[Link, ...]]


class Whole:
    """A loaded rule base, looked at as a whole. Everything is worked out at most once."""

    def __init__(self, rulebase: RuleBase) -> None:
        self.rulebase = rulebase
        self._profiles: dict[tuple[str, Place, str, str], Profile] = {}

    @cached_property
    def links(self) -> tuple[Link, ...]:
        """Every link of every cause, in the order of the files' ids."""
        found = []
        for name, cause in self.rulebase.causes.items():
            for field, never in (("shows", False), ("never_shows", True)):
                for n, show in enumerate(getattr(cause, field)):
                    found.append(Link(name, f"causes/{name}/{field}/{n}", show, never))
        return tuple(found)

    @cached_property
    def links_of(self) -> Mapping[str, tuple[Link, ...]]:
        """The links of each symptom."""
        return _grouped((link.show.symptom, link) for link in self.links)

    @cached_property
    def links_from(self) -> Mapping[str, tuple[Link, ...]]:
        """The links of each cause."""
        return _grouped((link.cause, link) for link in self.links)

    @cached_property
    def readers(self) -> Mapping[str, tuple[str, ...]]:
        """Symptom -> rules with a condition on it."""
        return _grouped(
            (one.seen if isinstance(one, written.Seen) else one.absent, name)
            for name, rule in self.rulebase.rules.items()
            for one in (*rule.when, *rule.unless)
            if isinstance(one, (written.Seen, written.Absent))
        )

    @cached_property
    def conclusions(self) -> tuple[tuple[str, int, object], ...]:
        """Rule, number and conclusion, of all rules."""
        return tuple((name, n, one) for name, rule in self.rulebase.rules.items() for n, one in enumerate(rule.then))

    @cached_property
    def concluded(self) -> Mapping[str, tuple[str, ...]]:
        """Symptom -> rules that conclude it, seen or absent."""
        return _grouped((one.finding, name) for name, _, one in self.conclusions if isinstance(one, written.Finding))

    @cached_property
    def rules_on(self) -> Mapping[str, tuple[str, ...]]:
        """Check -> rules with a condition under `when` on a reading of it."""
        return _grouped(
            (one.reading, name)
            for name, rule in self.rulebase.rules.items()
            for one in rule.when
            if isinstance(one, written.ReadingIs)
        )

    @cached_property
    def voided(self) -> frozenset[str]:
        """Checks whose readings some rule makes void."""
        return frozenset(one.voids for _, _, one in self.conclusions if isinstance(one, written.Voids))

    @cached_property
    def answers(self) -> Mapping[str, tuple[str, ...]]:
        """Derived context -> the answers that rules conclude."""
        found = [one for _, _, one in self.conclusions if isinstance(one, written.ContextBecomes)]
        return _grouped((one.context, one.is_) for one in found)

    @cached_property
    def sheets(self) -> tuple[MachineSheet | None, ...]:
        """No sheet, and every machine sheet: the numbers a rule may be compared with."""
        return (None, *self.rulebase.machines.values())

    def machines_of(self, *entries: Cause | Symptom) -> Iterator[tuple[str, str]]:
        """The kinds of machine on which all of some causes and symptoms exist."""
        return ((lay, drive) for lay, drive in MACHINES if all(applies(entry, lay, drive) for entry in entries))

    def profile(self, cause: str, place: Place, layout: str, drive: str) -> Profile:
        """Where a cause at a place shows what, on one kind of machine, whatever the context."""
        key = (cause, place, layout, drive)
        if key not in self._profiles:
            found: dict[tuple[str, Place], list[Link]] = defaultdict(list)
            for link in self.links_from.get(cause, ()):
                for target in self.reach(link, place, layout, drive):
                    found[link.show.symptom, target].append(link)
            self._profiles[key] = {sign: tuple(links) for sign, links in found.items()}
        return self._profiles[key]

    def reach(self, link: Link, place: Place, layout: str, drive: str) -> Iterator[Place]:
        """The places a link reaches from a cause at a place; none where the sign or the link does not exist."""
        symptom = self.rulebase.symptoms[link.show.symptom]
        show = link.show
        if applies(symptom, layout, drive) and show.layout in (None, layout) and show.drive in (None, drive):
            yield from dict.fromkeys(show_places(show, symptom, place, layout))

    def places(self, cause: str) -> Iterator[tuple[str, str, Place]]:
        """Layout, drive and place, wherever a cause can act."""
        entry = self.rulebase.causes[cause]
        for layout, drive in self.machines_of(entry):
            for place in cause_places(entry, layout):
                yield layout, drive, place


def together(one: Shows, other: Shows) -> bool:
    """Whether two links can hold in the same context.

    >>> from lugwright.rulebase.schema import Shows
    >>> reverse = Shows(symptom="scuff", how_often="often", given={"travel": "reverse"})
    >>> together(reverse, Shows(symptom="scuff", how_often="often", unless={"travel": "reverse"}))
    False
    """
    for first, second in ((one, other), (other, one)):
        for question, answer in first.given.items():
            if second.given.get(question, answer) != answer or second.unless.get(question) == answer:
                return False
    return True


def named(ids: Iterable[str]) -> str:
    """Ids in quotes, at most three, then how many more.

    >>> named(["a", "b"]), named(["a", "b", "c", "d"])
    ("'a' and 'b'", "'a', 'b', 'c' and 1 more")
    """
    words = [f"'{one}'" for one in ids]
    if len(words) > 3:
        return f"{', '.join(words[:3])} and {len(words) - 3} more"
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _grouped(pairs: Iterable[tuple[str, _T]]) -> dict[str, tuple[_T, ...]]:
    found: dict[str, dict[_T, None]] = defaultdict(dict)
    for key, value in pairs:
        found[key][value] = None
    return {key: tuple(values) for key, values in found.items()}
