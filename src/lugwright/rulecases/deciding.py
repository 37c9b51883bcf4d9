"""What decided a case: the finding that matters most, the reason of a verdict, or what kept a rule silent."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from lugwright.chaining.base_facts import base_facts
from lugwright.chaining.compile import compile_rules
from lugwright.chaining.conclude import fact_words
from lugwright.chaining.facts import Fact, kept
from lugwright.chaining.rules import Pattern, Test, Variable
from lugwright.rulecases.answer import Answer, fits
from lugwright.triage import triage

if TYPE_CHECKING:
    from pydantic import BaseModel

    from lugwright.casefile.load import CaseRecord
    from lugwright.diagnosis import Diagnosis, RankedCause
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulecases.compare import Outcome

_ABOUT_A_CAUSE = ("first", "among_first", "at_least", "at_most")


def deciding(case: CaseRecord, rulebase: RuleBase, answer: Answer, asked: Iterable[Outcome]) -> tuple[str, ...]:
    """In plain words, what decided the expectations asked about, one sentence each; empty where nothing can be named.

    The finding is the one of the `Diagnosis` that changes the cause in question most when it is left out.
    """
    asked = tuple(asked)
    said: list[str] = []
    rules = [one for one in asked if one.key in ("fires", "silent")]
    for one in rules:
        fired = one.about in answer.fired
        said.append(_why_fired(one.about, answer) if fired else _why_silent(one.about, case, rulebase, answer))
    if len(asked) > len(rules):
        diagnosis = triage(case, rulebase)
        if any(one.key == "verdict" for one in asked):
            reason = diagnosis.verdict.reasons[0]
            at = f", {reason.place_words}" if reason.place_words else ""
            rule = f" (rule {reason.rule})" if reason.rule else ""
            said.append(f"the verdict rests on: {reason.finding}{at}{rule}")
        about = [one.about for one in asked if one.key in _ABOUT_A_CAUSE and one.about]
        said += [words for words in map(_weightiest, _causes(diagnosis, about)) if words]
    return tuple(dict.fromkeys(said))


def _causes(diagnosis: Diagnosis, about: list[str]) -> list[RankedCause]:
    """The first cause, and those asked about, each at its likeliest place, where they are listed."""
    named = [[one for one in diagnosis.ranked if fits(text, (one.cause, one.place))][:1] for text in about]
    return list(dict.fromkeys([*diagnosis.ranked[:1], *(one for found in named for one in found)]))


def _weightiest(cause: RankedCause) -> str:
    single = [one for one in cause.without if one.finding != "all-absent"]
    if not single:
        return ""
    most = max(single, key=lambda one: abs(one.probability - cause.probability))
    return (
        f"{cause.key} is at {100 * cause.probability:.3g} %; without '{most.words}' "
        f"it would be at {100 * most.probability:.3g} %"
    )


def _why_fired(rule: str, answer: Answer) -> str:
    step = next(one for one in answer.concluded.steps if one.rule == rule)
    return f"{rule} fired on " + ", ".join(fact_words(one) for one in step.used)


def _why_silent(name: str, case: CaseRecord, rulebase: RuleBase, answer: Answer) -> str:
    """The first condition nothing fits by itself, or what may have blocked the rule, or that no one place fits all."""
    rule = next((one for one in compile_rules(rulebase, case.sheet) if one.id == name), None)
    if rule is None:
        return f"{name} needs a number this machine's sheet does not give"
    facts = [*base_facts(case, rulebase), *(new for step in answer.concluded.steps for new in step.concluded)]
    written = rulebase.rules[name]
    for condition, pattern in zip(written.when, rule.when, strict=True):
        if not any(_fits_alone(pattern, one) for one in facts):
            return f"{name} stayed silent: nothing fits its condition '{_as_written(condition)}'"
    blocked = [one for pattern in rule.unless for one in facts if _fits_alone(pattern, one)]
    if blocked:
        return f"{name} stayed silent: {fact_words(blocked[0])} may block it"
    return f"{name} stayed silent: each condition is met somewhere, but not all at one place"


def _as_written(condition: BaseModel) -> str:
    """A condition as it stands in the file, on one line."""
    plain = condition.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    return ", ".join(f"{key}: {_flow(value)}" for key, value in plain.items())


def _flow(value: object) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_flow(inner)}" for key, inner in value.items()) + "}"
    return str(value)


def _fits_alone(pattern: Pattern, one: Fact) -> bool:
    """Whether a fact fits a pattern whatever its variables stand for."""
    if one.kind != pattern.kind:
        return False
    held = dict(one.fields)
    for name, part in pattern.fields:
        if name not in held:
            return False
        if isinstance(part, Test):
            if not part.holds(kept(held[name])):
                return False
        elif not isinstance(part, Variable) and held[name] != part:
            return False
    return True
