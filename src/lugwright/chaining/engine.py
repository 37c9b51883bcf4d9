"""Rules compiled to experta once, run on the facts of many cases; the same facts give the same steps, to the byte.

Of experta this uses the facts, the rules, the agenda and the loop that fires. Its own strategy loses track of cancelled
activations when many rules wait on the same facts, so that rules fire against their NOT; `TotalOrder` does not, and
leaves no ties. Rules fire in the order of stratum, then of the rule list, then of the facts used.
"""

from __future__ import annotations

import bisect
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from operator import attrgetter
from typing import Any, ClassVar

from lugwright.chaining.experta_door import ANDFC, NOT, KnowledgeEngine, L, P, Strategy, W
from lugwright.chaining.experta_door import Fact as ExpertaFact
from lugwright.chaining.experta_door import Rule as ExpertaRule
from lugwright.chaining.facts import Fact, Kept, canonical, kept, plain
from lugwright.chaining.matcher import IndexedMatcher
from lugwright.chaining.rules import Pattern, Rule, Step, Test, Variable
from lugwright.chaining.strata import reachable, strata

__all__ = ["Chained", "Engine", "StepLimitError", "reachable", "strata"]


class StepLimitError(RuntimeError):
    """A run was stopped at its limit. The message names the rules that fired most."""


@dataclass(frozen=True)
class Chained:
    """All facts that hold at the end, given and concluded, in canonical order; and every firing, in order."""

    facts: tuple[Fact, ...]
    steps: tuple[Step, ...]


_key = attrgetter("key")


class TotalOrder(Strategy):  # type: ignore[misc]
    """An agenda without ties, from which exactly what is cancelled is removed."""

    def _update_agenda(self, agenda: Any, added: Iterable[Any], removed: Iterable[Any]) -> None:
        waiting = agenda.activations
        for one in (*removed, *added):
            rule = one.rule
            ids = [-one.context[name].__factid__ for name in rule.captures]
            one.key = (rule.salience, -rule.ordinal, ids)
        for one in removed:
            place = bisect.bisect_left(waiting, one.key, key=_key)
            if place < len(waiting) and waiting[place].key == one.key:
                del waiting[place]
        for one in added:
            bisect.insort(waiting, one, key=_key)


class _Shell(KnowledgeEngine):  # type: ignore[misc]
    """experta's engine with our strategy and matcher, and the record of the run in progress."""

    __strategy__ = TotalOrder
    __matcher__ = IndexedMatcher

    def __init__(self, rules: Sequence[Any], read: frozenset[str]) -> None:
        self._rules = list(rules)  # handed out by get_rules, never class attributes: no rule can hide a method
        self._read = read
        self.known: dict[Fact, None] = {}
        self.steps: list[Step] = []
        super().__init__()

    def get_rules(self) -> list[Any]:
        return self._rules

    def begin(self, facts: Iterable[Fact]) -> None:
        """Start on a new case, whatever became of the last."""
        self.known, self.steps = {}, []
        self.reset()
        for one in sorted(set(facts), key=canonical):
            self.known[one] = None
        self.declare(*[_declared(one) for one in self.known if one.kind in self._read])

    def learn(self, one: Fact) -> bool:
        """Keep a fact; whether it is new. Only kinds that some rule reads go through experta."""
        if one in self.known:
            return False
        self.known[one] = None
        if one.kind in self._read:
            self.declare(_declared(one))
        return True


class Engine:
    """Rules ready to run. Build once, run for many cases; one engine per thread.

    rules:   ids must be unique. Their order settles which of several fires first.
    levels:  the stratum of each rule by id, as `strata` gives it; None works it out from these rules. Give the strata
             of the whole rule base when `rules` is only what a case can reach, and the steps come in the same order.
    Raises   RuleError for rules that cannot be ordered.
    """

    shell: ClassVar[Callable[[Sequence[Any], frozenset[str]], _Shell]] = _Shell

    def __init__(self, rules: Sequence[Rule], levels: Mapping[str, int] | None = None) -> None:
        self.rules = tuple(rules)
        own = strata(self.rules) if levels is None else levels
        read = frozenset(pattern.kind for rule in self.rules for pattern in (*rule.when, *rule.unless))
        compiled = [_compiled(rule, ordinal, own[rule.id]) for ordinal, rule in enumerate(self.rules)]
        self._shell = type(self).shell(compiled, read)

    def run(self, facts: Iterable[Fact], limit: int = 20000) -> Chained:
        """Fire until nothing is left to fire.

        facts:   what is known of one case, in any order; equal facts count once.
        limit:   the most steps allowed.
        Raises   StepLimitError at the limit; the engine can be used again afterwards.

        >>> from lugwright.chaining.rules import Pattern, Rule, Template, Variable, fact
        >>> unit = (("unit", Variable("u")),)
        >>> scuff = Rule("scuff", (Pattern("rubs", unit),), (Pattern("packed", unit),), (Template("scuffed", unit),))
        >>> done = Engine([scuff]).run([fact("rubs", unit="right"), fact("rubs", unit="left"),
        ...                             fact("packed", unit="left")])
        >>> [(step.number, step.rule, step.bindings, str(step.concluded[0])) for step in done.steps]
        [(1, 'scuff', (('u', 'right'),), 'scuffed(unit=right)')]
        >>> [str(pattern) for pattern in done.steps[0].absent]
        ['packed(unit=right)']
        """
        shell = self._shell
        shell.begin(facts)
        shell.run(limit)
        shell.strategy.update_agenda(shell.agenda, *shell.get_activations())
        if shell.agenda.activations:
            often = Counter(step.rule for step in shell.steps).most_common()
            often.sort(key=lambda pair: (-pair[1], pair[0]))
            raise StepLimitError(
                f"stopped after {limit} steps, and rules were still waiting to fire. Most firings: "
                + ", ".join(f"{rule} {count} times" for rule, count in often[:3])
                + ". A pattern that names too few fields fits too many facts: make it narrower, or raise the limit"
            )
        return Chained(tuple(sorted(shell.known, key=canonical)), tuple(shell.steps))


@cache
def _kind(name: str) -> Any:
    """One class of experta facts per kind, since experta matches by exact class."""
    return type(name, (ExpertaFact,), {})


def _declared(one: Fact) -> Any:
    made = _kind(one.kind).from_iter(one.fields)
    made.origin = one
    return made


@lru_cache(maxsize=4096)
def _predicate(test: Test) -> Any:
    """One function per test, so that equal tests are known to be equal."""
    return test.holds


def _condition(part: Any) -> Any:
    if isinstance(part, Variable):
        return W("v_" + part.name)
    return P(_predicate(part)) if isinstance(part, Test) else L(part)


def _pattern(pattern: Pattern) -> Any:
    fields: dict[str, list[Any]] = {}
    for name, part in pattern.fields:
        fields.setdefault(name, []).append(_condition(part))
    return _kind(pattern.kind).from_iter(
        (name, parts[0] if len(parts) == 1 else ANDFC(*parts)) for name, parts in fields.items()
    )


def _compiled(rule: Rule, ordinal: int, stratum: int) -> Any:
    captures = tuple(f"f{n}" for n in range(len(rule.when)))
    conditions = [name << _pattern(pattern) for name, pattern in zip(captures, rule.when, strict=True)]
    conditions += [NOT(_pattern(pattern)) for pattern in rule.unless]
    names = rule.variables
    heads = [(one.kind, [(name, part) for name, part in one.fields]) for one in rule.then]

    def fire(shell: Any, /, **context: Any) -> None:
        matched = [context[name] for name in captures]
        if any(shell.facts.get(one.__factid__) is not one for one in matched):
            raise RuntimeError(f"rule '{rule.id}' was about to fire on a fact that is not there any more")
        bound: dict[str, Kept] = {name: context["v_" + name] for name in names}
        concluded: list[Fact] = []
        confirmed: list[Fact] = []
        for kind, fields in heads:
            filled = tuple(
                [(name, bound[part.name] if isinstance(part, Variable) else kept(part)) for name, part in fields]
            )
            one = Fact.trusted(kind, filled)
            (concluded if shell.learn(one) else confirmed).append(one)
        shell.steps.append(
            Step(
                number=len(shell.steps) + 1,
                rule=rule.id,
                file=rule.file,
                line=rule.line,
                bindings=tuple([(name, plain(value)) for name, value in bound.items()]),
                used=tuple([one.origin for one in matched]),
                absent=tuple([pattern.filled(bound) for pattern in rule.unless]),
                concluded=tuple(concluded),
                confirmed=tuple(confirmed),
            )
        )

    fire.__name__ = rule.id
    fire.ordinal, fire.captures = ordinal, captures  # type: ignore[attr-defined]
    return ExpertaRule(*conditions, salience=-stratum)(fire)
