"""Which rules bear on a cause: on its rate, on its signs, and on whether the machine may run while it shows them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from lugwright.rulebase import rules as parts
from lugwright.rulebase.words import SEVERITY

if TYPE_CHECKING:
    from lugwright.rulebase.base import RuleBase


@dataclass(frozen=True)
class Bearing:
    """The rules that bear on one cause. Every tuple is in the order of the ids."""

    rulebase: RuleBase
    cause: str

    @cached_property
    def signs(self) -> frozenset[str]:
        """The symptoms the cause shows or speaks against."""
        entry = self.rulebase.causes[self.cause]
        return frozenset(show.symptom for show in (*entry.shows, *entry.never_shows))

    @cached_property
    def on_rate(self) -> tuple[tuple[str, parts.CauseShift | parts.Excludes], ...]:
        """Rules that make the cause more or less likely or rule it out, each with that conclusion."""
        return tuple(
            (name, one)
            for name, rule in self.rulebase.rules.items()
            for one in rule.then
            if self.cause in (getattr(one, "cause", ""), getattr(one, "excludes", ""))
            and isinstance(one, (parts.CauseShift, parts.Excludes))
        )

    @cached_property
    def verdicts(self) -> dict[str, tuple[str, ...]]:
        """Rules of each verdict that one of the signs it shows takes part in, the most severe verdict first."""
        shown = {show.symptom for show in self.rulebase.causes[self.cause].shows}
        bearing = {
            name: {one.verdict for one in rule.then if isinstance(one, parts.Verdict)}
            for name, rule in self.rulebase.rules.items()
            if any(isinstance(one, parts.Seen) and one.seen in shown for one in rule.when)
        }
        return {action: tuple(name for name, said in bearing.items() if action in said) for action in SEVERITY}

    def taken_for(self) -> Iterator[tuple[str, str, str, bool]]:
        """Causes it is taken for: (cause, check, what the check shows, whether it is the other cause that says so).

        What the cause says itself comes first, in its own order; then what only the other cause says.
        """
        named = set()
        for alike in self.rulebase.causes[self.cause].look_alikes:
            named.add((alike.cause, alike.split_by))
            yield alike.cause, alike.split_by, alike.how, False
        for other, entry in self.rulebase.causes.items():
            for alike in entry.look_alikes:
                if alike.cause == self.cause and (other, alike.split_by) not in named:
                    yield other, alike.split_by, alike.how, True

    def disputed(self) -> tuple[str, ...]:
        """What stands on its page and is marked as a point on which practice differs, as `kind/id`."""
        entry = self.rulebase.causes[self.cause]
        rules = [name for name, _ in self.on_rate] + [name for found in self.verdicts.values() for name in found]
        keys = [f"causes/{self.cause}", *(f"symptoms/{name}" for name in sorted(self.signs))]
        keys += sorted({f"checks/{check}" for _, check, _, _ in self.taken_for()})
        keys += [f"procedures/{entry.procedure}"] if entry.procedure else []
        keys += sorted({f"chaining/{name}" for name in rules})
        return tuple(key for key in keys if _differs(self.rulebase, key))


def _differs(rulebase: RuleBase, key: str) -> bool:
    kind, _, name = key.partition("/")
    entry = rulebase.entries(kind).get(name)
    return bool(entry and entry.practice_differs)


def subject(rule: parts.ChainingRule) -> str:
    """What kind of thing a rule concludes, by its first conclusion: a key of `rules.CONCLUSIONS`."""
    return next(key for key, kind in parts.CONCLUSIONS.items() if isinstance(rule.then[0], kind))
