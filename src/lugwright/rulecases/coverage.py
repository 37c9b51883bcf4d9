"""What no case exercises: causes, chaining rules, links from a cause to a sign, checks."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from pydantic import BaseModel, ConfigDict

from lugwright.rulecases.agree import expected_causes
from lugwright.rulecases.answer import Answer

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulecases.book import LoadedCase

#: The kinds of case every cause should have.
CAUSE_KINDS = ("typical", "mild", "look-alike")


class Part(BaseModel):
    """How many of something some case exercises, and the others by name."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    exercised: int
    total: int
    missing: tuple[str, ...]


class Coverage(BaseModel):
    """What the cases exercise.

    causes:       `cause (kind)` for each of typical, mild and look-alike; exercised by a case that is for the cause.
    rules_fire:   rules that some case names and that fire in it; rules_silent: rules a case expects to stay silent.
    links:        `cause: symptom`, exercised when the cause is expected high and the symptom is seen in that case.
    checks:       a check is exercised by a case with a reading of it, or one that expects it next.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    causes: Part
    rules_fire: Part
    rules_silent: Part
    links: Part
    checks: Part


def coverage(rulebase: RuleBase, answers: Iterable[tuple[LoadedCase, Answer]]) -> Coverage:
    """What these cases exercise of a rule base, whether or not they pass."""
    causes: set[str] = set()
    fired: set[str] = set()
    silent: set[str] = set()
    links: set[str] = set()
    checks: set[str] = set()
    for case, answer in answers:
        written = case.written
        causes |= {f"{name} ({written.kind})" for name in written.for_}
        fired |= answer.fired & {*written.for_, *written.expect.fires}
        silent |= set(written.expect.silent) - answer.fired
        links |= {f"{cause}: {sign}" for cause in expected_causes(written.expect) for sign in answer.seen}
        checks |= {reading.check for reading in case.record.readings}
        checks |= {written.expect.next_check} if written.expect.next_check else set()
    every_link = dict.fromkeys(f"{name}: {show.symptom}" for name, one in rulebase.causes.items() for show in one.shows)
    return Coverage(
        causes=_part([f"{name} ({kind})" for name in rulebase.causes for kind in CAUSE_KINDS], causes),
        rules_fire=_part(rulebase.rules, fired),
        rules_silent=_part(rulebase.rules, silent),
        links=_part(every_link, links),
        checks=_part(rulebase.checks, checks),
    )


def _part(every: Iterable[str], exercised: set[str]) -> Part:
    names = tuple(every)
    missing = tuple(name for name in names if name not in exercised)
    return Part(exercised=len(names) - len(missing), total=len(names), missing=missing)
