"""Whether a reading lies too close to a limit for the rules to conclude from it, and what stays open by that."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from lugwright.chaining.conclude import Conclusions, place_of
from lugwright.chaining.facts import Fact
from lugwright.places import covers, place_from_key
from lugwright.rulebase.rules import Finding, ReadingIs, Verdict

if TYPE_CHECKING:
    from lugwright.casefile.load import Reading
    from lugwright.rulebase.load import RuleBase

#: What a computation says where the limit lies within the plus-or-minus of a reading.
TOO_CLOSE = "too-close"


def too_close(
    reading: Reading, derived: Mapping[str, float | str], concluded: Conclusions, rulebase: RuleBase
) -> tuple[str, ...] | None:
    """Symptoms of which nothing is known because a reading lies too close to a limit; None where it decides.

    derived: the fields of the reading and what its computation made of them. Empty where no sign but something else,
    such as what speaks for a cause, could not be concluded. A sign that is known otherwise is not open, nor is one that
    is there and not there, which is told by itself.
    """
    close = {name for name, value in derived.items() if value == TOO_CLOSE}
    if not close:
        return None
    known = {one.symptom for one in concluded.findings if covers(reading.place, one.place)}
    clash = {tuple(one.partition("@")[::2]) for one in concluded.contradictory}
    known |= {name for name, at in clash if covers(reading.place, place_from_key(at))}
    fired = {step.rule for step in concluded.steps if any(_is(one, reading) for one in step.used)}
    signs: dict[str, None] = {}
    more = False
    for name, rule in rulebase.rules.items():
        tests = [one for one in rule.when if isinstance(one, ReadingIs) and one.reading == reading.check]
        if name in fired or not any(close & set(one.with_) for one in tests):
            continue
        signs.update(dict.fromkeys(one.finding for one in rule.then if isinstance(one, Finding)))
        more = more or any(not isinstance(one, (Finding, Verdict)) for one in rule.then)
    left = tuple(sorted(one for one in signs if one not in known))
    return left if left or (more and not fired) else None


def _is(one: Fact, reading: Reading) -> bool:
    return one.kind == "reading" and one.get("check") == reading.check and place_of(one) == reading.place
