"""Rules, and the record of a firing, in plain frozen values that any engine can run."""

from __future__ import annotations

import operator
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from lugwright.chaining.facts import (
    NAME_HINT,
    Fact,
    Kept,
    Truth,
    Value,
    fact,
    good_name,
    kept,
    shown,
)

__all__ = [
    "Bound", "Condition", "Fact", "Pattern", "Rule", "RuleError", "Step", "Template", "Test", "Truth", "Value",
    "Variable", "fact",
]  # fmt: skip

_NUMBER_TESTS = {"gt": operator.gt, "ge": operator.ge, "lt": operator.lt, "le": operator.le}
_SIGNS = {"gt": ">", "ge": ">=", "lt": "<", "le": "<=", "ne": "is not", "in": "in"}
OPS = tuple(_SIGNS)


@dataclass(frozen=True)
class Variable:
    """Stands for one value, the same wherever the name occurs in a rule."""

    name: str

    def __str__(self) -> str:
        return f"${self.name}"


@dataclass(frozen=True)
class Test:
    """A test on the value of a field.

    op:     `gt`, `ge`, `lt`, `le` against a number (text never passes them), `ne` (any other value passes),
            `in` (one of several).
    value:  a number, text, or for `in` a tuple of either.
    """

    __test__ = False  # not a test of this package: pytest must not collect it
    op: str
    value: Value | Truth | tuple[Value | Truth, ...]

    def __post_init__(self) -> None:
        values = self.value if isinstance(self.value, tuple) else (self.value,)
        kept_values = tuple(_kept_or_raw(one) for one in values)
        object.__setattr__(self, "value", kept_values if isinstance(self.value, tuple) else kept_values[0])

    def fault(self) -> str:
        """What is wrong with the test in words, or nothing."""
        if self.op not in OPS:
            return f"{self.op!r} is not a test; the tests are {', '.join(OPS)}"
        if isinstance(self.value, tuple) != (self.op == "in"):
            return f"the test '{self.op}' needs {'several values' if self.op == 'in' else 'one value'}"
        values = self.value if isinstance(self.value, tuple) else (self.value,)
        if self.op in _NUMBER_TESTS and not isinstance(self.value, float):
            return f"the test '{self.op}' needs a number, not {shown(self.value)}"
        if not values:
            return f"the test '{self.op}' has no values to choose from"
        return next((why for why in map(_value_fault, values) if why), "")

    def holds(self, value: Kept) -> bool:
        """Whether a kept value passes; a value of the wrong type fails and never raises.

        >>> Test("gt", 4).holds(6.0), Test("gt", 4).holds("toe"), Test("ne", "toe").holds("camber")
        (True, False, True)
        """
        if isinstance(self.value, tuple):
            return value in self.value
        if self.op == "ne":
            return value != self.value
        if not isinstance(value, float) or not isinstance(self.value, float):
            return False
        return bool(_NUMBER_TESTS[self.op](value, self.value))

    def __str__(self) -> str:
        values = self.value if isinstance(self.value, tuple) else (self.value,)
        text = ", ".join(shown(one) for one in values)
        return f"{_SIGNS.get(self.op, self.op)} {f'({text})' if self.op == 'in' else text}"


@dataclass(frozen=True)
class Bound:
    """A variable whose value must also pass tests."""

    variable: Variable
    tests: tuple[Test, ...]


Condition = Value | Truth | Variable | Bound | Test


@dataclass(frozen=True)
class Pattern:
    """Facts of a kind whose named fields all fit; fields not named may hold anything, or be missing.

    A named field must be there. It may be named more than once: then all must hold. `Bound` is kept as its variable
    and its tests, one by one.

    >>> str(Pattern("reading", (("total", Bound(Variable("t"), (Test("gt", 4),))), ("check", "toe"))))
    'reading(check=toe, total=$t, total > 4.0)'
    """

    kind: str
    fields: tuple[tuple[str, Condition], ...] = ()

    def __post_init__(self) -> None:
        flat: list[tuple[str, Condition]] = []
        for name, condition in self.fields:
            if isinstance(condition, Bound):
                flat.append((name, condition.variable))
                flat.extend((name, test) for test in condition.tests)
            else:
                flat.append((name, condition if isinstance(condition, (Variable, Test)) else _kept_or_raw(condition)))
        object.__setattr__(self, "fields", tuple(sorted(dict.fromkeys(flat), key=lambda pair: pair[0])))

    def filled(self, bindings: Mapping[str, Kept]) -> Pattern:
        """The same pattern with the bound variables replaced by their values."""
        return Pattern(self.kind, tuple((name, _fill(part, bindings)) for name, part in self.fields))

    def __str__(self) -> str:
        parts = (f"{name} {part}" if isinstance(part, Test) else f"{name}={_shown(part)}" for name, part in self.fields)
        return f"{self.kind}({', '.join(parts)})"


@dataclass(frozen=True)
class Template:
    """The fact a rule concludes: values, and variables that its conditions bind."""

    kind: str
    fields: tuple[tuple[str, Value | Truth | Variable], ...] = ()

    def __post_init__(self) -> None:
        flat = ((name, part if isinstance(part, Variable) else _kept_or_raw(part)) for name, part in self.fields)
        object.__setattr__(self, "fields", tuple(sorted(flat, key=lambda pair: pair[0])))

    def __str__(self) -> str:
        return f"{self.kind}({', '.join(f'{name}={_shown(part)}' for name, part in self.fields)})"


class RuleError(ValueError):
    """A rule that cannot be right as written. `rule` is its id; the message says what to do."""

    def __init__(self, rule: Rule, what: str) -> None:
        self.rule = rule.id
        spot = f" ({rule.file}:{rule.line})" if rule.file and rule.line else f" ({rule.file})" if rule.file else ""
        super().__init__(f"rule '{rule.id}'{spot}: {what}")


@dataclass(frozen=True)
class Rule:
    """When all of `when` hold and nothing of `unless` holds, then `then` follows.

    id:     unique within a rule base.
    file, line: where it is written, for messages and the record.
    stage:  all that rules of a lower stage can conclude is concluded before a rule of a higher stage fires.
    Raises  RuleError for a rule that cannot be right, naming it.
    """

    id: str
    when: tuple[Pattern, ...]
    unless: tuple[Pattern, ...]
    then: tuple[Template, ...]
    file: str = ""
    line: int = 0
    stage: int = 0

    def __post_init__(self) -> None:
        fault = next(_faults(self), None)
        if fault:
            raise RuleError(self, fault)

    @property
    def variables(self) -> tuple[str, ...]:
        """The variables its conditions bind, sorted."""
        return tuple(sorted({name for pattern in self.when for name in _variables(pattern)}))


@dataclass(frozen=True)
class Step:
    """One firing, readable without the engine.

    number:     counted from 1 in the order of firing.
    used:       the facts that fitted `when`, in the order of its patterns.
    absent:     the patterns of `unless`, bindings filled in: nothing like them was there.
    concluded:  the facts that were new; `confirmed`: those already known, for a second reason counts too.
    """

    number: int
    rule: str
    file: str
    line: int
    bindings: tuple[tuple[str, Value], ...]
    used: tuple[Fact, ...]
    absent: tuple[Pattern, ...]
    concluded: tuple[Fact, ...]
    confirmed: tuple[Fact, ...]


def _kept_or_raw(value: Value | Truth) -> Value | Truth:
    """A value kept where it can be; what cannot is left for `Rule` to report under its own name."""
    return value if _value_fault(value) else kept(value)


def _value_fault(value: object) -> str:
    try:
        kept(value)  # type: ignore[arg-type]
    except (ValueError, OverflowError) as problem:
        return str(problem)
    return ""


def _shown(part: object) -> str:
    return str(part) if isinstance(part, Variable) else shown(part)


def _fill(part: Condition, bindings: Mapping[str, Kept]) -> Condition:
    return bindings.get(part.name, part) if isinstance(part, Variable) else part


def _variables(one: Pattern | Template) -> Iterator[str]:
    return (part.name for _, part in one.fields if isinstance(part, Variable))


def _faults(rule: Rule) -> Iterator[str]:
    if not rule.when:
        yield (
            "there is no condition under 'when'. What is absent cannot start a rule alone: name at least one thing "
            "that must be there"
        )
    if not rule.then:
        yield "there is no conclusion under 'then'. Say what follows, or remove the rule"
    ones: tuple[Pattern | Template, ...] = (*rule.when, *rule.unless, *rule.then)
    for one in ones:
        for name in (one.kind, *(name for name, _ in one.fields)):
            if not good_name(name):
                yield f"{name!r} cannot name a kind or a field of a fact: {NAME_HINT}"
        for name, part in one.fields:
            if isinstance(part, Variable):
                if not good_name(part.name):
                    yield f"{part.name!r} cannot name a variable: {NAME_HINT}"
                continue
            why = part.fault() if isinstance(part, Test) else _value_fault(part)
            if why:
                yield f"field '{name}' of '{one.kind}': {why}"
    bound = set(rule.variables)
    for template in rule.then:
        names = [name for name, _ in template.fields]
        if len(set(names)) < len(names):
            yield f"'then' gives a field twice in {template}. A fact has each field once"
        if any(isinstance(part, (Test, Bound)) for _, part in template.fields):
            yield f"'then' has a test in '{template.kind}'. Only conditions can test; a conclusion names values"
        for name in _variables(template):
            if name not in bound:
                yield (
                    f"'then' uses ${name} in {template}, but no condition under 'when' binds it. Use ${name} in a "
                    f"condition too, or write the value itself"
                )
    for pattern in rule.unless:
        for name in _variables(pattern):
            if name not in bound:
                yield (
                    f"'unless' uses ${name} in {pattern}, but no condition under 'when' binds it. Use ${name} in a "
                    f"condition too; if any value will do, leave the field out"
                )
