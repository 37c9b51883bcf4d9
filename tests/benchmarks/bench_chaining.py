"""How long chaining takes beside CLIPS with a trace, and beside experta's own matcher: ratios of one run.

python tests/benchmarks/bench_chaining.py

Synthetic rule base, not trade knowledge: 25 kinds of sign x 2 units x 2 sides; 2 or 3 conditions that share unit and
side; 3 in 10 rules with an `unless`; two stages. Every engine records each firing. Best of several turns, thread time.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "chaining"))

from chaining_programs import Clips, StockEngine, firings

from lugwright.chaining.engine import Engine, reachable, strata
from lugwright.chaining.facts import Fact, fact
from lugwright.chaining.rules import Pattern, Rule, Template, Variable

PLACE = (("unit", Variable("u")), ("side", Variable("s")))
UNITS, SIDES = ("left", "right"), ("inboard", "outboard")


def rule_base(count: int, seed: int = 1) -> list[Rule]:
    pick = random.Random(seed)
    rules = []
    for number in range(count):
        upper = number >= count * 0.6
        kinds = [f"sign{k}" for k in range(25)] + ([f"suspect{k}" for k in range(10)] * 3 if upper else [])
        when = tuple(Pattern(kind, PLACE) for kind in pick.sample(sorted(set(kinds)), pick.choice((2, 3))))
        unless = (Pattern(pick.choice(kinds), PLACE),) if pick.random() < 0.3 else ()
        head = f"cause{pick.randrange(10)}" if upper else f"suspect{pick.randrange(10)}"
        rules.append(Rule(f"r{number:03d}", when, unless, (Template(head, PLACE),), stage=int(upper)))
    return rules


def case(count: int, seed: int) -> list[Fact]:
    every = [fact(f"sign{k}", unit=unit, side=side) for k in range(25) for unit in UNITS for side in SIDES]
    return random.Random(seed).sample(every, count)


def best(work: Callable[[], object], turns: int) -> float:
    """The shortest of several turns, in milliseconds of this thread."""
    times = []
    for _ in range(turns):
        start = time.thread_time()
        work()
        times.append(time.thread_time() - start)
    return min(times) * 1000


def compare(rules: int, facts: int, cases: int = 3, turns: int = 5) -> None:
    base = rule_base(rules)
    given = [case(facts, seed) for seed in range(cases)]
    ours, stock, clips = Engine(base), StockEngine(base), Clips(base, [one for facts in given for one in facts])
    total = 0
    for one in given:
        done = ours.run(one)
        known, fired = clips.run(one)
        assert (done.facts, firings(done.steps)) == (known, fired)
        assert stock.run(one) == done
        total += len(done.steps)
    here = best(lambda: [ours.run(one) for one in given], turns) / cases
    there = best(lambda: [clips.start(one) for one in given], turns) / cases
    slow = best(lambda: [stock.run(one) for one in given], 2) / cases
    print(
        f"{rules:5} {facts:5} {total // cases:7} {here:8.2f} {there:8.2f} {here / there:11.1f} {slow / here:14.1f}",
        flush=True,
    )


def building(rules: int) -> None:
    base = rule_base(rules)
    given = case(20, 0)
    levels, reached = strata(base), len(reachable(base, given))
    build, order = best(lambda: Engine(base, levels), 3), best(lambda: strata(base), 3)
    reach, slow = best(lambda: reachable(base, given), 3), best(lambda: StockEngine(base, levels), 1)
    print(
        f"{rules} rules: build {build:.1f} ms (with the stock matcher {slow:.1f} ms), strata {order:.1f} ms, "
        f"reachable {reach:.1f} ms (finds {reached} rules)"
    )


def evidence() -> None:
    """One general rule over 600 links and 40 findings, whose conclusions nobody reads."""
    links = [fact("bears", sign=f"s{n % 40}", cause=f"c{n}") for n in range(600)]
    seen = [fact("finding", sign=f"s{n}", state="seen") for n in range(40)]
    sign, cause = ("sign", Variable("s")), ("cause", Variable("c"))
    when = (Pattern("bears", (sign, cause)), Pattern("finding", (sign, ("state", "seen"))))
    rule = Rule("bears-on", when, (), (Template("evidence", (sign, cause)),))
    engine, stock, clips = Engine([rule]), StockEngine([rule]), Clips([rule], links + seen)
    assert len(engine.run(links + seen).steps) == 600
    here, slow = best(lambda: engine.run(links + seen), 5), best(lambda: stock.run(links + seen), 2)
    there = best(lambda: clips.start(links + seen), 5)
    print(f"40 findings x 600 links, 600 firings: {here:.1f} ms, CLIPS {there:.1f} ms, stock matcher {slow:.1f} ms")


if __name__ == "__main__":
    print("rules facts firings  ours ms clips ms ours:clips stock matcher:ours")
    for size in (50, 100, 200, 400):
        for amount in (20, 40, 80):
            compare(size, amount)
    evidence()
    for size in (100, 400):
        building(size)
