"""The difference between two rule bases as one frozen object: the keys of `lugwright rules diff --json`."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict

from lugwright.diagnosis import RulebaseLabel


class Frozen(BaseModel):
    """A closed, frozen shape."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class FieldChange(Frozen):
    """One thing an entry says differently.

    field:    the key of the entry, e.g. `sound` or `shows`.
    how:      `added` and `removed` speak of one item of a list or one key; everything else is `changed`.
    says:     the change as a sentence that stands by itself.
    old, new: what stood there and what stands there now; empty where there was or is nothing.
    """

    field: str
    how: Literal["added", "removed", "changed"]
    says: str
    old: str = ""
    new: str = ""


class EntryChange(Frozen):
    """One entry that came, went, changed or was given another id.

    was:   the old id of a renamed entry, else empty.
    where: file, line and column in the new rule base; in the old one for a removed entry; empty where it is not known.
    """

    kind: str
    id: str
    name: str
    how: Literal["added", "removed", "changed", "renamed"]
    was: str = ""
    where: str = ""
    changes: tuple[FieldChange, ...] = ()


class FirstCause(Frozen):
    """What a triage puts first: a cause at its place, or `no-fault`, with its probability under both rule bases.

    old, new: probability from 0 to 1; None where the cause is not among those listed, being unknown or too unlikely.
    """

    key: str
    words: str
    old: float | None
    new: float | None


class FirstCheck(Frozen):
    """The check to do next: what it is expected to tell, in bits, and the minutes it takes."""

    key: str
    words: str
    gain_bits: float
    minutes: float


class CaseChange(Frozen):
    """One case whose first cause, verdict or first next check is another one under the new rule base."""

    case: str
    file: str
    changed: tuple[Literal["first cause", "verdict", "next check"], ...]
    first_old: FirstCause
    first_new: FirstCause
    verdict_old: str
    verdict_new: str
    check_old: FirstCheck | None
    check_new: FirstCheck | None


class CaseNotRead(Frozen):
    """One case that cannot be used under one rule base or under both, with the reasons."""

    file: str
    under: Literal["old", "new", "both"]
    reasons: tuple[str, ...]


class CaseEffect(Frozen):
    """What the change does to a folder of cases."""

    total: int
    unchanged: int
    changed: tuple[CaseChange, ...]
    not_read: tuple[CaseNotRead, ...]


class RuleDiff(Frozen):
    """Everything that two rule bases say differently.

    same: no entry, number or text differs in meaning. Order, layout and the spelling of numbers do not count.
    """

    old: RulebaseLabel
    new: RulebaseLabel
    same: bool
    entries: tuple[EntryChange, ...]
    cases: CaseEffect | None = None

    @property
    def renames(self) -> dict[str, dict[str, str]]:
        """Kind -> old id -> new id."""
        found: dict[str, dict[str, str]] = {}
        for one in self.entries:
            if one.how == "renamed":
                found.setdefault(one.kind, {})[one.was] = one.id
        return found
