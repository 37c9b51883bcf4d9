"""Random stratified rule programs, and two other ways to run them: a naive evaluator, and CLIPS through clipspy."""

from __future__ import annotations

import itertools
import random
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from lugwright.chaining.engine import Chained, Engine, _Shell, strata
from lugwright.chaining.experta_door import KnowledgeEngine
from lugwright.chaining.facts import Fact, Kept, Truth, canonical, fact, plain
from lugwright.chaining.rules import Bound, Pattern, Rule, Step, Template, Test, Variable


class StockShell(_Shell):
    __matcher__ = KnowledgeEngine.__matcher__


class StockEngine(Engine):
    """The engine on experta's own matcher, with our agenda: the second opinion on `IndexedMatcher`."""

    shell = StockShell


U, S, N, T = Variable("u"), Variable("s"), Variable("n"), Variable("t")
UNITS, SIDES, NUMBERS = ("left", "right"), ("inboard", "outboard"), (0.0, 1.0, 2.5, 4.0, 7.0)


def mixed(pick: random.Random, rules: int = 8, share_not: float = 0.5) -> tuple[list[Rule], list[Fact]]:
    """Three layers of kinds; a rule reads its own layer and those below, and denies only those below."""
    layers = [["a", "b", "c"], ["d", "e"], ["g", "h"], ["k"]]

    own = {"unit": U, "side": S, "n": N, "up": T}

    def pattern(kind: str, bound: list[Variable], free: bool) -> Pattern:
        fields: list[tuple[str, Any]] = []
        for name, values in (("unit", UNITS), ("side", SIDES), ("n", NUMBERS), ("up", (True, False))):
            if pick.random() < (0.9 if name == "up" else 0.5):
                continue
            kindly = pick.random()
            if kindly < 0.2:
                fields.append((name, pick.choice(values)))
            elif kindly < 0.4:
                ops = [("ne", pick.choice(values)), ("in", tuple(values[:2]))]
                ops += [(op, pick.choice(NUMBERS)) for op in ("gt", "ge", "lt", "le")] if name == "n" else []
                fields.append((name, Test(*pick.choice(ops))))
            elif free or bound:
                usual = [own[name]] * 6 if free or own[name] in bound else []
                chosen = pick.choice(usual + ([U, S, N, T] if free else bound))
                test = (Test("ne", pick.choice(values)),)
                fields.append((name, Bound(chosen, test) if pick.random() < 0.2 else chosen))
        return Pattern(kind, tuple(fields))

    made = []
    for number in range(rules):
        layer = pick.randint(1, 3)
        below = [kind for kinds in layers[:layer] for kind in kinds]
        when = tuple(pattern(pick.choice(below + layers[layer]), [], True) for _ in range(pick.choice((1, 1, 2, 2, 3))))
        when += (pattern(pick.choice(below), [], True),) if len(when) == 1 and pick.random() < 0.5 else ()
        parts = [part for one in when for _, part in one.fields]
        bound = list(dict.fromkeys(part for part in parts if isinstance(part, Variable)))
        unless = ()
        if pick.random() < share_not:
            unless = tuple(pattern(pick.choice(below), bound, False) for _ in range(pick.choice((1, 1, 2))))
        then = tuple(
            Template(
                pick.choice(layers[layer]),
                tuple(
                    (name, own[name] if own[name] in bound and pick.random() < 0.8 else pick.choice([*bound, *values]))
                    for name, values in (("unit", UNITS), ("side", SIDES), ("n", NUMBERS))
                    if pick.random() < 0.85
                ),
            )
            for _ in range(pick.choice((1, 1, 2)))
        )
        made.append(Rule(f"r{number:02d}", when, unless, then, stage=layer))
    return made, random_facts(pick, layers[0], pick.randint(6, 14))


def random_facts(pick: random.Random, kinds: Sequence[str], count: int) -> list[Fact]:
    facts = []
    for _ in range(count):
        fields: dict[str, Any] = {"unit": pick.choice(UNITS), "side": pick.choice(SIDES), "n": pick.choice(NUMBERS)}
        if pick.random() < 0.4:
            fields["up"] = pick.choice((True, False))
        if pick.random() < 0.3:
            del fields[pick.choice(sorted(fields))]
        facts.append(fact(pick.choice(kinds), **fields))
    return facts


def crowded(pick: random.Random) -> tuple[list[Rule], list[Fact]]:
    """18 to 30 rules on the same facts, most with an `unless` that lower rules may make true: ties on the agenda."""
    rules = [
        Rule(f"lower{k:02d}", (Pattern("a", (("unit", U),)),), (), (Template("b", (("unit", U), ("n", k))),))
        for k in pick.sample(range(30), pick.randint(3, 12))
    ]
    for k in range(pick.randint(18, 30)):
        unless = (Pattern("b", (("unit", U), ("n", k))),) if pick.random() < 0.8 else ()
        rules.append(Rule(f"upper{k:02d}", (Pattern("a", (("unit", U),)),), unless, (Template("d", (("n", k),)),)))
    pick.shuffle(rules)
    return rules, random_facts(pick, ["a"], pick.randint(1, 4))


def chained_pairs(pick: random.Random) -> tuple[list[Rule], list[Fact]]:
    """Recursion over pairs, a self-join, and a denial on top of it."""
    link = lambda x, y: Pattern("link", (("x", x), ("y", y)))  # noqa: E731
    way = lambda x, y: Pattern("way", (("x", x), ("y", y)))  # noqa: E731
    there = Template("way", (("x", U), ("y", T)))
    rules = [
        Rule("step", (link(U, T),), (), (there,)),
        Rule("far", (link(U, S), way(S, T)), (), (there,)),
        Rule("twice", (way(U, S), way(S, T)), (), (there,)),
        Rule("round", (way(U, U),), (), (Template("round", (("x", U),)),)),
        Rule("one-way", (way(U, T),), (way(T, U),), (Template("one-way", (("x", U), ("y", T))),)),
        Rule("both", (Pattern("round", (("x", U),)), Pattern("round", (("x", S),))), (), (Template("any"),)),
    ]
    pick.shuffle(rules)
    nodes = "pqrst"[: pick.randint(2, 5)]
    return rules, [fact("link", x=pick.choice(nodes), y=pick.choice(nodes)) for _ in range(pick.randint(1, 5))]


SHAPES: dict[str, Callable[[random.Random], tuple[list[Rule], list[Fact]]]] = {
    "mixed": mixed,
    "crowded": crowded,
    "pairs": chained_pairs,
    "many": lambda pick: mixed(pick, rules=24, share_not=0.7),
}


def programs(shape: str, count: int) -> Iterator[tuple[list[Rule], list[Fact]]]:
    for seed in range(count):
        yield SHAPES[shape](random.Random(f"{shape}-{seed}"))


Firing = tuple[str, tuple[tuple[str, Any], ...], tuple[Fact, ...]]


def firings(steps: Sequence[Step]) -> Counter[Firing]:
    return Counter((step.rule, step.bindings, step.used) for step in steps)


def _match(pattern: Pattern, one: Fact, env: dict[str, Kept]) -> dict[str, Kept] | None:
    fields, env = dict(one.fields), dict(env)
    if one.kind != pattern.kind or not all(name in fields for name, _ in pattern.fields):
        return None
    for name, part in pattern.fields:
        if isinstance(part, Variable):
            if env.setdefault(part.name, fields[name]) != fields[name]:
                return None
        elif not part.holds(fields[name]) if isinstance(part, Test) else part != fields[name]:
            return None
    return env


def naive(rules: Sequence[Rule], facts: Sequence[Fact]) -> Chained:
    """Every match looked for anew before every firing; the least by (stratum, rule, facts) fires. Slow and plain."""
    level = strata(rules)
    known = {one: number for number, one in enumerate(sorted(set(facts), key=canonical))}
    fired: set[Any] = set()
    steps: list[Step] = []
    while True:
        waiting = []
        for ordinal, rule in enumerate(rules):
            found: list[tuple[tuple[Fact, ...], dict[str, Kept]]] = [((), {})]
            for pattern in rule.when:
                met = ((used, one, _match(pattern, one, env)) for used, env in found for one in known)
                found = [((*used, one), grown) for used, one, grown in met if grown is not None]
            for used, env in found:
                key = (level[rule.id], ordinal, tuple(known[one] for one in used))
                barred = any(_match(pattern, one, env) is not None for pattern in rule.unless for one in known)
                if key not in fired and not barred:
                    waiting.append((key, rule, used, env))
        if not waiting:
            return Chained(tuple(sorted(known, key=canonical)), tuple(steps))
        key, rule, used, env = min(waiting, key=lambda one: one[0])
        fired.add(key)
        concluded: list[Fact] = []
        confirmed: list[Fact] = []
        for template in rule.then:
            fields = [(n, env[part.name] if isinstance(part, Variable) else part) for n, part in template.fields]
            head = Fact(template.kind, tuple(fields))
            (confirmed if head in known else concluded).append(head)
            known.setdefault(head, len(known))
        bindings = tuple((name, plain(env[name])) for name in sorted(env))
        absent = tuple(pattern.filled(env) for pattern in rule.unless)
        spot = (len(steps) + 1, rule.id, rule.file, rule.line)
        steps.append(Step(*spot, bindings, used, absent, tuple(concluded), tuple(confirmed)))


class Clips:
    """The same rules in CLIPS, each firing reported to Python. A missing field is the symbol `nil` there."""

    def __init__(self, rules: Sequence[Rule], facts: Sequence[Fact]) -> None:
        import clips

        self._clips = clips
        self.env = clips.Environment()
        slots: dict[str, set[str]] = {}
        heads = [*facts, *(one for rule in rules for one in (*rule.when, *rule.unless, *rule.then))]
        for one in heads:
            slots.setdefault(one.kind, set()).update(name for name, _ in one.fields)
        for kind, names in sorted(slots.items()):
            self.env.build(f"(deftemplate k-{kind} {' '.join(f'(slot {name})' for name in sorted(names))})")
        self.env.define_function(self._fired, name="fired")
        level = strata(rules)
        for number, rule in enumerate(rules):
            self.env.build(self._text(number, rule, level[rule.id]))
        self.rules, self.full = tuple(rules), False
        self.steps: list[Firing] = []
        self.raw: list[Any] = []
        self.templates = {kind: self.env.find_template(f"k-{kind}") for kind in slots}

    def run(self, facts: Sequence[Fact]) -> tuple[tuple[Fact, ...], Counter[Firing]]:
        self.full = True
        self.start(facts)
        self.full = False
        found = (self._fact(one) for one in self.env.facts() if one.template.name.startswith("k-"))
        return tuple(sorted(found, key=canonical)), Counter(self.steps)

    def start(self, facts: Sequence[Fact]) -> None:
        """Run with the least record of a firing that CLIPS could give: for a fair comparison of times."""
        self.steps.clear()
        self.raw.clear()
        self.env.reset()
        for one in facts:
            self.templates[one.kind].assert_fact(**{name: self._out(value) for name, value in one.fields})
        self.env.run()

    def _fired(self, number: int, *parts: Any) -> None:
        if not self.full:
            self.raw.append((number, parts))
            return
        rule = self.rules[int(number)]
        used = tuple(self._fact(one) for one in parts[: len(rule.when)])
        values = (plain(self._in(value)) for value in parts[len(rule.when) :])
        self.steps.append((rule.id, tuple(zip(rule.variables, values, strict=True)), used))

    def _in(self, value: Any) -> Kept:
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            return float(value)
        if isinstance(value, bool):
            return Truth.TRUE if value else Truth.FALSE
        return {"TRUE": Truth.TRUE, "FALSE": Truth.FALSE}.get(str(value), str(value))

    def _out(self, value: Any) -> Any:
        return value if isinstance(value, float) else self._clips.Symbol(_word(value))

    def _fact(self, one: Any) -> Fact:
        fields = ((name, self._in(value)) for name, value in one if value is not None and str(value) != "nil")
        return Fact.trusted(one.template.name[2:], tuple(sorted(fields)))

    def _text(self, number: int, rule: Rule, stratum: int) -> str:
        count = itertools.count()
        lines = [f"?f{n} <- {_pattern(one, count)}" for n, one in enumerate(rule.when)]
        lines += [f"(not {_pattern(one, count)})" for one in rule.unless]
        call = " ".join([*(f"?f{n}" for n in range(len(rule.when))), *(f"?v-{name}" for name in rule.variables)])
        heads = (f"(assert (k-{one.kind} {' '.join(_slot(n, _plain(p)) for n, p in one.fields)}))" for one in rule.then)
        body = "\n".join([*lines, "=>", f"(fired {number} {call})", *heads])
        return f"(defrule r{number} (declare (salience {-stratum}))\n{body})"


def _word(value: Any) -> str:
    return value.name if isinstance(value, Truth) else str(value)


def _plain(part: Any) -> str:
    return f"?v-{part.name}" if isinstance(part, Variable) else _word(part)


def _slot(name: str, text: str) -> str:
    return f"({name} {text})"


def _pattern(pattern: Pattern, count: Iterator[int]) -> str:
    fields: dict[str, list[str]] = {}
    number: dict[str, int] = {}  # tests on one field share its variable
    for name, part in pattern.fields:
        text = _test(part, number.setdefault(name, next(count))) if isinstance(part, Test) else _plain(part)
        fields.setdefault(name, []).append(text)
    return f"(k-{pattern.kind} {' '.join(_slot(name, '&'.join([*parts, '~nil'])) for name, parts in fields.items())})"


def _test(test: Test, number: int) -> str:
    if isinstance(test.value, tuple):
        return f"?t{number}&:(or {' '.join(f'(eq ?t{number} {_word(one)})' for one in test.value)} FALSE)"
    if test.op == "ne":
        return f"~{_word(test.value)}"
    sign = {"gt": ">", "ge": ">=", "lt": "<", "le": "<="}[test.op]
    return f"?t{number}&:(and (numberp ?t{number}) ({sign} ?t{number} {test.value}))"
