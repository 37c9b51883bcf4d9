"""A matcher for experta's engine, on its own hook for one: facts are found by their values, joins by their keys.

It knows the features this package compiles to and refuses all others: patterns of one kind whose fields are values,
bound or free wildcards, predicates, or several of these; one pattern under NOT, after the patterns that bind its
variables. Facts are only ever added. A match that an added fact rules out is therefore ruled out for good, and need not
be counted. Firings equal those of experta's own matcher (held by the tests).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial
from operator import eq, itemgetter
from typing import Any

from lugwright.chaining.experta_door import ANDFC, NOT, Activation, ConditionalElement, Fact, L, Matcher, P, W

_Token = tuple[Any, ...]  # the facts matched so far, in the order of the patterns
_Index = dict[Any, list[Any]]


def _nothing(_: Any) -> None:
    return None


def _key_of_fact(fields: tuple[str, ...]) -> Callable[[Any], Any]:
    return itemgetter(*fields) if fields else _nothing


def _key_of_token(sources: tuple[tuple[int, str], ...]) -> Callable[[_Token], Any]:
    """Reads the values of (position, field) out of a token, in the shape `_key_of_fact` gives."""
    if not sources:
        return _nothing
    if len(sources) == 1:
        position, field = sources[0]
        return lambda token: token[position][field]
    return lambda token: tuple([token[position][field] for position, field in sources])


class _Shape:
    """What one pattern asks of a fact by itself, and the variables it names."""

    def __init__(self, pattern: Any) -> None:
        if not isinstance(pattern, Fact):
            raise TypeError(f"this matcher takes plain patterns, not {type(pattern).__name__}")
        self.kind = type(pattern)
        self.capture: str = pattern.__bind__
        self.variables: dict[str, str] = {}  # variable -> the first field that binds it
        literals: dict[str, Any] = {}
        tests: list[tuple[str, Callable[[Any], bool]]] = []
        same: list[tuple[str, str]] = []
        present: dict[str, None] = {}
        for field, condition in pattern.items():
            if pattern.is_special(field):
                continue
            for part in condition if isinstance(condition, ANDFC) else (condition,):
                present[field] = None
                if isinstance(part, P):
                    tests.append((field, part.match))
                elif isinstance(part, W):
                    if part.__bind__ is not None and self.variables.setdefault(part.__bind__, field) != field:
                        same.append((self.variables[part.__bind__], field))
                elif isinstance(part, L) or not isinstance(part, ConditionalElement):
                    value = part.value if isinstance(part, L) else part
                    if literals.setdefault(field, value) != value:
                        tests.append((field, partial(eq, value)))
                else:
                    raise TypeError(f"this matcher cannot test {part!r}")
        written = sorted(literals)
        self.literals = (tuple(written), tuple(literals[field] for field in written))
        self.rest = (tuple(field for field in present if field not in literals), tuple(tests), tuple(same))


class _Alpha:
    """The facts that fit one shape, shared by all patterns of that shape, with an index per join key asked for."""

    def __init__(self, rest: Any) -> None:
        self._present, self._tests, self._same = rest
        self._indexes: dict[tuple[str, ...], tuple[Callable[[Any], Any], _Index]] = {}
        self.joins: list[_Join] = []
        self.bars: list[_Bar] = []

    def index(self, fields: tuple[str, ...]) -> _Index:
        return self._indexes.setdefault(fields, (_key_of_fact(fields), {}))[1]

    def takes(self, fact: Any) -> bool:
        return (
            all(field in fact for field in self._present)
            and all(test(fact[field]) for field, test in self._tests)
            and all(fact[one] == fact[other] for one, other in self._same)
        )

    def store(self, fact: Any) -> None:
        for key, index in self._indexes.values():
            index.setdefault(key(fact), []).append(fact)

    def clear(self) -> None:
        for _, index in self._indexes.values():
            index.clear()


class _Join:
    """One positive pattern of a rule: meets the matches of the patterns before it with the facts that fit its own."""

    def __init__(self, chain: _Chain, position: int, shape: _Shape, alpha: _Alpha) -> None:
        shared = sorted(name for name in shape.variables if name in chain.sources)
        fields = tuple(shape.variables[name] for name in shared)
        self.chain, self.position = chain, position
        self._fact_key = _key_of_fact(fields)
        self._token_key = _key_of_token(tuple(chain.sources[name] for name in shared))
        self._facts = alpha.index(fields)
        self.tokens: _Index = {}
        alpha.joins.append(self)

    def meet(self, fact: Any) -> None:
        """A fact has come that fits this pattern."""
        if not self.position:
            self.chain.extend((fact,))
        for token in self.tokens.get(self._fact_key(fact), ()):
            self.chain.extend((*token, fact))

    def take(self, token: _Token) -> None:
        """The patterns before have a new match."""
        key = self._token_key(token)
        self.tokens.setdefault(key, []).append(token)
        for fact in self._facts.get(key, ()):
            self.chain.extend((*token, fact))


class _Bar:
    """One pattern under NOT: no match lives beside a fact that fits it."""

    def __init__(self, chain: _Chain, shape: _Shape, alpha: _Alpha) -> None:
        names = sorted(shape.variables)
        if not all(name in chain.sources for name in names):
            raise TypeError(f"a variable under NOT is bound by no pattern before it: {names}")
        fields = tuple(shape.variables[name] for name in names)
        self._fact_key = _key_of_fact(fields)
        self.key = _key_of_token(tuple(chain.sources[name] for name in names))
        self.facts = alpha.index(fields)
        self.matches: dict[Any, list[_Match]] = {}
        self.chain = chain
        alpha.bars.append(self)

    def fall(self, fact: Any) -> None:
        """A fact has come that fits this pattern."""
        for match in self.matches.pop(self._fact_key(fact), ()):
            self.chain.drop(match)


class _Match(Activation):  # type: ignore[misc]
    """An activation that is itself and no other: two are never compared by what they hold."""

    def __init__(self, rule: Any, facts: _Token, context: dict[str, Any]) -> None:
        self.rule, self.facts, self.context, self.key, self.live = rule, facts, context, None, True

    __hash__ = object.__hash__

    def __eq__(self, other: object) -> bool:
        return self is other


class _Chain:
    """One rule: its positive patterns in order, then what bars it."""

    def __init__(self, matcher: IndexedMatcher, rule: Any) -> None:
        self._rule, self._matcher = rule, matcher
        self.sources: dict[str, tuple[int, str]] = {}  # variable -> position and field it is read from
        positive = [_Shape(one) for one in rule if not isinstance(one, NOT)]
        barred = [_Shape(one[0]) for one in rule if isinstance(one, NOT)]
        if not positive or any(isinstance(one, NOT) for one in rule[: len(positive)]):
            raise TypeError("this matcher takes rules that start with their positive patterns")
        self.joins: list[_Join] = []
        for position, shape in enumerate(positive):
            self.joins.append(_Join(self, position, shape, matcher.alpha(shape)))
            for name, field in shape.variables.items():
                self.sources.setdefault(name, (position, field))
        self._captures = [(shape.capture, position) for position, shape in enumerate(positive) if shape.capture]
        self.bars = [_Bar(self, shape, matcher.alpha(shape)) for shape in barred]

    def extend(self, token: _Token) -> None:
        if len(token) < len(self.joins):
            self.joins[len(token)].take(token)
            return
        keys = [bar.key(token) for bar in self.bars]
        if any(key in bar.facts for bar, key in zip(self.bars, keys, strict=True)):
            return
        context = {name: token[position][field] for name, (position, field) in self.sources.items()}
        context.update((name, token[position]) for name, position in self._captures)
        match = _Match(self._rule, token, context)
        for bar, key in zip(self.bars, keys, strict=True):
            bar.matches.setdefault(key, []).append(match)
        self._matcher.added[id(match)] = match

    def drop(self, match: _Match) -> None:
        if match.live:
            match.live = False
            if self._matcher.added.pop(id(match), None) is None:
                self._matcher.removed.append(match)


class IndexedMatcher(Matcher):  # type: ignore[misc]
    """Drop-in for experta's own matcher, for engines whose rules keep to the features named above."""

    def __init__(self, engine: Any) -> None:
        super().__init__(engine)
        self.added: dict[int, _Match] = {}
        self.removed: list[_Match] = []
        self._groups: dict[type, dict[tuple[str, ...], dict[Any, list[_Alpha]]]] = {}
        self._alphas: dict[Any, _Alpha] = {}
        self._chains = [_Chain(self, rule) for rule in engine.get_rules()]
        self._finders = {
            kind: [(_key_of_fact(fields), found) for fields, found in groups.items()]
            for kind, groups in self._groups.items()
        }

    def alpha(self, shape: _Shape) -> _Alpha:
        """The store for a shape, made once: by kind, the fields that hold a written value, and those values."""
        fields, values = shape.literals
        known = (shape.kind, fields, values, shape.rest)
        if known not in self._alphas:
            self._alphas[known] = _Alpha(shape.rest)
            key = values[0] if len(values) == 1 else values or None
            group = self._groups.setdefault(shape.kind, {}).setdefault(fields, {})
            group.setdefault(key, []).append(self._alphas[known])
        return self._alphas[known]

    def changes(self, adding: Iterable[Any] | None = None, deleting: Iterable[Any] | None = None) -> Any:
        """Matches that came and matches that went, for facts added since the last call."""
        if deleting:
            raise NotImplementedError("this matcher only adds: a rule never withdraws a fact")
        for fact in adding or ():
            self._add(fact)
        answer = (list(self.added.values()), self.removed)
        self.added, self.removed = {}, []
        return answer

    def _add(self, fact: Any) -> None:
        fitting: list[_Alpha] = []
        for key, found in self._finders.get(type(fact), ()):
            try:
                fitting += [alpha for alpha in found.get(key(fact), ()) if alpha.takes(fact)]
            except KeyError:  # a field that all these patterns name is missing
                continue
        for alpha in fitting:
            alpha.store(fact)
        # Last pattern first: the fact then meets only matches it is not yet part of, and finds itself, once, in the
        # stores of the patterns behind it.
        for join in sorted((join for alpha in fitting for join in alpha.joins), key=_late_first):
            join.meet(fact)
        for alpha in fitting:
            for bar in alpha.bars:
                bar.fall(fact)

    def reset(self) -> None:
        """Forget all facts and matches; the network stays."""
        self.added, self.removed = {}, []
        for alpha in self._alphas.values():
            alpha.clear()
        for chain in self._chains:
            for join in chain.joins:
                join.tokens.clear()
            for bar in chain.bars:
                bar.matches.clear()


def _late_first(join: _Join) -> int:
    return -join.position
