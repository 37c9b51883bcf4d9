"""Which rules must be finished before which: strata from who concludes what, and what the facts at hand can reach.

Two rules are linked when the fact one concludes could fit a pattern of the other. "Could fit" looks at the kind and at
every value written out in both (and at tests on it); a variable may be anything. So two rules that both conclude
findings, of different symptoms, are not taken for one another.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Mapping, Sequence

from lugwright.chaining.facts import Fact, Truth, Value, kept
from lugwright.chaining.rules import Pattern, Rule, RuleError, Template, Test, Variable

_Field = Value | Truth | Variable
_Links = dict[int, dict[int, bool]]  # producer -> reader -> whether through `unless`


class _Heads:
    """Facts and templates, found again by a value written in them."""

    def __init__(self) -> None:
        self._by_kind: dict[str, list[tuple[int, dict[str, _Field]]]] = defaultdict(list)
        self._written: dict[tuple[str, str, object], list[int]] = defaultdict(list)
        self._open: dict[tuple[str, str], list[int]] = defaultdict(list)

    def add(self, owner: int, head: Fact | Template) -> None:
        place = len(self._by_kind[head.kind])
        self._by_kind[head.kind].append((owner, dict(head.fields)))
        for name, value in head.fields:
            if isinstance(value, Variable):
                self._open[head.kind, name].append(place)
            else:
                self._written[head.kind, name, value].append(place)

    def fitting(self, pattern: Pattern) -> Iterable[int]:
        """The owners of heads that could fit, in the order they were added (an owner may come twice)."""
        heads = self._by_kind.get(pattern.kind, [])
        chosen: Iterable[int] = range(len(heads))
        size = len(heads)
        for name, part in pattern.fields:
            if not isinstance(part, (Variable, Test)):
                written = self._written.get((pattern.kind, name, part), [])
                variable = self._open.get((pattern.kind, name), [])
                if len(written) + len(variable) < size:
                    chosen, size = sorted([*written, *variable]), len(written) + len(variable)
        return (owner for owner, fields in (heads[place] for place in chosen) if _could_fit(pattern, fields))


def _could_fit(pattern: Pattern, fields: Mapping[str, _Field]) -> bool:
    for name, part in pattern.fields:
        if name not in fields:
            return False
        value = fields[name]
        if isinstance(value, Variable) or isinstance(part, Variable):
            continue
        if not part.holds(kept(value)) if isinstance(part, Test) else part != value:
            return False
    return True


def strata(rules: Sequence[Rule]) -> dict[str, int]:
    """The stratum of every rule, by id, counted from 0: lower strata are finished before higher ones begin.

    A rule comes no earlier than the rules that conclude what it reads, and later than those that conclude what its
    `unless` reads; a stage lies wholly above the stages before it.

    Raises  RuleError for an id used twice, a rule whose conclusion an earlier stage reads, and a circle through an
            `unless`, named as a path of ids.
    """
    seen: dict[str, Rule] = {}
    for rule in rules:
        if rule.id in seen:
            raise RuleError(rule, f"the id is used twice{_also(seen[rule.id])}. Each rule needs an id of its own")
        seen[rule.id] = rule
    links = _links(rules)
    ranks: dict[str, int] = {}
    base = 0
    for stage in sorted({rule.stage for rule in rules}):
        members = [n for n, rule in enumerate(rules) if rule.stage == stage]
        inside = {n: {m: neg for m, neg in links[n].items() if rules[m].stage == stage} for n in members}
        rank = _ranks(rules, inside)
        ranks.update({rules[n].id: base + rank[n] for n in members})
        base += 1 + max(rank.values())
    return ranks


def _links(rules: Sequence[Rule]) -> _Links:
    heads = _Heads()
    for n, rule in enumerate(rules):
        for template in rule.then:
            heads.add(n, template)
    links: _Links = {n: {} for n in range(len(rules))}
    for reader, rule in enumerate(rules):
        for patterns, negative in ((rule.when, False), (rule.unless, True)):
            for pattern in patterns:
                for producer in heads.fitting(pattern):
                    if rules[producer].stage > rule.stage:
                        raise RuleError(
                            rules[producer],
                            f"it stands in stage {rules[producer].stage}, but rule '{rule.id}' of stage {rule.stage} "
                            f"reads what it concludes ({pattern}) and is finished before. Move one of the two, or "
                            f"conclude something else",
                        )
                    links[producer][reader] = links[producer].get(reader, False) or negative
    return links


def _ranks(rules: Sequence[Rule], links: _Links) -> dict[int, int]:
    """Least rank per rule such that links never fall, and rise through an `unless`."""
    rank = dict.fromkeys(links, 0)
    waiting = deque(links)
    queued = set(links)
    while waiting:
        producer = waiting.popleft()
        queued.discard(producer)
        for reader, negative in links[producer].items():
            least = rank[producer] + negative
            if rank[reader] >= least:
                continue
            if least >= len(links):
                raise _circle(rules, links)
            rank[reader] = least
            if reader not in queued:
                queued.add(reader)
                waiting.append(reader)
    return rank


def _circle(rules: Sequence[Rule], links: _Links) -> RuleError:
    """The error that names the shortest circle through an `unless`, the first one in the order of the rules."""
    best: list[int] = []
    for producer, readers in links.items():
        for reader in (m for m, negative in readers.items() if negative):
            path = _path(links, reader, producer)
            if path and (not best or len(path) + 1 < len(best)):
                best = [producer, *path]
    start, reader = best[0], best[1]
    names = [rules[n].id for n in best]
    return RuleError(
        rules[reader],
        f"its 'unless' depends on its own conclusion, in a circle: {' -> '.join(names)}. Whether '{rules[reader].id}' "
        f"fires depends on what '{rules[start].id}' does not conclude, and that depends on '{rules[reader].id}' again. "
        f"Take the 'unless' out, or conclude something that no rule of the circle reads",
    )


def _path(links: _Links, start: int, goal: int) -> list[int]:
    """The shortest way along links from one rule to another, both named; [] where there is none."""
    came: dict[int, int] = {start: start}
    waiting = deque([start])
    while waiting:
        here = waiting.popleft()
        if here == goal:
            way = [here]
            while way[-1] != start:
                way.append(came[way[-1]])
            return way[::-1]
        for following in links[here]:
            if following not in came:
                came[following] = here
                waiting.append(following)
    return []


def _also(rule: Rule) -> str:
    return f", first at {rule.file}:{rule.line}" if rule.file and rule.line else ""


def reachable(rules: Sequence[Rule], facts: Iterable[Fact]) -> tuple[Rule, ...]:
    """The rules that facts at hand could ever make fire, in the order given: a superset, found without running.

    A rule is in reach when each pattern of `when` could fit a given fact or the conclusion of a rule in reach.
    """
    given, heads = _Heads(), _Heads()
    for one in facts:
        given.add(0, one)
    for n, rule in enumerate(rules):
        for template in rule.then:
            heads.add(n, template)
    missing: list[int] = []
    waiting: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for n, rule in enumerate(rules):
        open_patterns = [k for k, one in enumerate(rule.when) if next(iter(given.fitting(one)), None) is None]
        missing.append(len(open_patterns))
        for k in open_patterns:
            for producer in dict.fromkeys(heads.fitting(rule.when[k])):
                waiting[producer].append((n, k))
    ready = [n for n, count in enumerate(missing) if not count]
    reached = set(ready)
    met: set[tuple[int, int]] = set()
    while ready:
        for n, k in waiting[ready.pop()]:
            if (n, k) not in met:
                met.add((n, k))
                missing[n] -= 1
                if not missing[n]:
                    reached.add(n)
                    ready.append(n)
    return tuple(rule for n, rule in enumerate(rules) if n in reached)
