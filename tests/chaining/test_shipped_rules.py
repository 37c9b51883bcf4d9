"""The shipped rules, compiled, against CLIPS on random cases: the same concluded facts.

source: CLIPS 6.4 through clipspy, a general-purpose rule engine of its own descent.
"""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from chaining_programs import Clips

from lugwright.chaining.base_facts import relations
from lugwright.chaining.compile import compile_rules
from lugwright.chaining.engine import Engine, strata
from lugwright.chaining.facts import Fact, canonical, fact
from lugwright.chaining.rules import Pattern, Rule, Template, Test
from lugwright.places import AXLES, SIDES, UNITS
from lugwright.rulebase.load import load
from lugwright.rulebase.reading_fields import field_quantities

RULEBASE = load()
RULES = compile_rules(RULEBASE, RULEBASE.machines["demo-four-track"])


class Tokens:
    """Text as symbols that CLIPS can hold: one token for each text, spaces and empty text included."""

    def __init__(self) -> None:
        self._of: dict[str, str] = {}
        self._back: dict[str, str] = {}

    def of(self, value: object) -> object:
        if isinstance(value, Test):
            inner = tuple(map(self.of, value.value)) if isinstance(value.value, tuple) else self.of(value.value)
            return Test(value.op, inner)  # type: ignore[arg-type]
        if not isinstance(value, str):
            return value
        token = self._of.setdefault(value, f"w{len(self._of)}")
        self._back[token] = value
        return token

    def fact(self, one: Fact) -> Fact:
        return Fact(one.kind, tuple((name, self.of(value)) for name, value in one.fields))  # type: ignore[misc]

    def plain(self, one: Fact) -> Fact:
        return Fact(one.kind, tuple((n, self._back[v] if isinstance(v, str) else v) for n, v in one.fields))

    def rule(self, rule: Rule) -> Rule:
        def pattern(one: Pattern) -> Pattern:
            return Pattern(one.kind, tuple((name, self.of(part)) for name, part in one.fields))  # type: ignore[misc]

        def template(one: Template) -> Template:
            return Template(one.kind, tuple((name, self.of(part)) for name, part in one.fields))  # type: ignore[misc]

        return replace(
            rule,
            when=tuple(map(pattern, rule.when)),
            unless=tuple(map(pattern, rule.unless)),
            then=tuple(map(template, rule.then)),
        )


def random_case(pick: random.Random, layout: str) -> list[Fact]:
    """Base facts of an arbitrary machine: findings, answers and readings drawn over the whole rule base."""
    facts = [fact("machine", layout=layout, drive=pick.choice(("friction", "positive", "none"))), *relations(layout)]
    symptoms = sorted(RULEBASE.symptoms)
    for name in pick.sample(symptoms, 35):
        symptom = RULEBASE.symptoms[name]
        unit = pick.choice(UNITS[layout]) if symptom.where in ("unit", "side") else ""
        facts.append(
            fact(
                "finding",
                symptom=name,
                state=pick.choice(("seen", "seen", "absent")),
                extent=pick.choice(("", "few", "several", "many")),
                unit=unit,
                axle=pick.choice(AXLES[layout]) if symptom.where == "axle" else "",
                side=pick.choice(SIDES) if symptom.where == "side" else "",
            )
        )
    for name, asked in RULEBASE.context.items():
        value = pick.choice(sorted(asked.answers)) if asked.answers else round(pick.uniform(0, 900), 1)
        facts.append(fact("context", name=name, value=value))
    for name, check in RULEBASE.checks.items():
        if not check.reading:
            continue
        fields = {}
        for field, quantity in field_quantities(check).items():
            words = ("inboard", "outboard", "both", "none", "below", "inside", "above")
            fields[field] = pick.choice(words) if quantity == "word" else round(pick.uniform(-20, 120), 2)
        unit = pick.choice(UNITS[layout]) if check.where == "unit" else ""
        facts.append(fact("reading", check=name, unit=unit, axle=pick.choice(AXLES[layout]), **fields))
    return facts


@pytest.mark.parametrize("layout", sorted(UNITS))
def test_the_shipped_rules_conclude_the_same_facts_as_in_clips(layout: str) -> None:
    pytest.importorskip("clips")
    pick = random.Random(f"shipped {layout}")
    tokens = Tokens()
    rules = [tokens.rule(rule) for rule in RULES]
    engine = Engine(RULES, strata(RULES))
    cases = [random_case(pick, layout) for _ in range(12)]
    coded = [[tokens.fact(one) for one in case] for case in cases]
    clips = Clips(rules, [one for case in coded for one in case])
    fired = set()
    for case, code in zip(cases, coded, strict=True):
        ours = engine.run(case)
        theirs, _ = clips.run(sorted(set(code), key=canonical))
        assert set(ours.facts) == {tokens.plain(one) for one in theirs}
        fired |= {step.rule for step in ours.steps}
    assert len(fired) > len(RULES) // 3, "too few rules fired for the comparison to mean much"


def test_only_the_rules_a_case_can_reach_are_built_and_the_steps_stay_the_same() -> None:
    from lugwright.chaining.engine import reachable

    facts = random_case(random.Random("reach"), "four-track")
    few = reachable(RULES, facts)
    assert Engine(few, strata(RULES)).run(facts).steps == Engine(RULES, strata(RULES)).run(facts).steps
