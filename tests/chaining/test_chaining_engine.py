"""The engine against CLIPS, against a naive evaluator and against experta's own matcher; the agenda defect; order."""

from __future__ import annotations

import random
import threading

import pytest
from chaining_programs import SHAPES, Clips, StockEngine, firings, naive, programs
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.chaining.engine import Engine, StepLimitError, reachable, strata
from lugwright.chaining.experta_door import NOT, KnowledgeEngine
from lugwright.chaining.experta_door import Fact as ExpertaFact
from lugwright.chaining.experta_door import Rule as ExpertaRule
from lugwright.chaining.facts import Fact, fact
from lugwright.chaining.rules import Bound, Pattern, Rule, Template, Test, Variable

U = Variable("u")


class A(ExpertaFact):
    pass


class B(ExpertaFact):
    pass


def _stock_rule(number: int, fired: list[int]) -> ExpertaRule:
    def body(self: object) -> None:
        fired.append(number)

    return ExpertaRule(A(), NOT(B(i=number)))(body)


def _wrong_on_stock_experta(count: int) -> int:
    fired: list[int] = []
    engine = type("Stock", (KnowledgeEngine,), {f"rule{n}": _stock_rule(n, fired) for n in range(count)})()
    wrong = 0
    for blocked in range(count):
        fired.clear()
        engine.reset()
        engine.declare(A())
        engine.declare(B(i=blocked))
        engine.run()
        wrong += blocked in fired
    return wrong


def _wrong_here(count: int) -> int:
    wrong = 0
    upper = [
        Rule(f"upper{n}", (Pattern("a"),), (Pattern("b", (("i", n),)),), (Template("d", (("i", n),)),))
        for n in range(count)
    ]
    for blocked in range(count):
        lower = Rule("lower", (Pattern("a"),), (), (Template("b", (("i", blocked),)),))
        done = Engine([*upper, lower]).run([fact("a")])
        assert len(done.steps) == count
        wrong += f"upper{blocked}" in [step.rule for step in done.steps]
    return wrong


@pytest.mark.outside
@pytest.mark.parametrize(("rules", "wrong"), [(4, 1), (20, 17)])
def test_the_stock_agenda_fires_blocked_rules_and_ours_does_not(rules: int, wrong: int) -> None:
    # Of activations with equal salience and facts, the stock strategy finds the first two and the last when it
    # cancels; those between stay, whatever order they stand in.
    assert _wrong_on_stock_experta(rules) == wrong
    assert _wrong_here(rules) == 0


@pytest.mark.outside
@pytest.mark.parametrize("shape", SHAPES)
def test_random_programs_agree_with_clips(shape: str) -> None:
    # source: CLIPS 6.4 through clipspy, same rules and facts
    pytest.importorskip("clips")
    total = 0
    for rules, facts in programs(shape, 40):
        done = Engine(rules).run(facts)
        known, fired = Clips(rules, facts).run(facts)
        assert done.facts == known
        assert firings(done.steps) == fired
        total += len(done.steps)
    assert total > 100  # the programs do something


@pytest.mark.parametrize("shape", SHAPES)
def test_the_whole_trace_equals_a_naive_evaluation(shape: str) -> None:
    for rules, facts in programs(shape, 6):
        assert Engine(rules).run(facts) == naive(rules, facts)


@pytest.mark.outside
@pytest.mark.parametrize("shape", SHAPES)
def test_the_indexed_matcher_gives_the_trace_of_the_stock_matcher(shape: str) -> None:
    # source: experta's own RETE matcher under our agenda strategy
    for rules, facts in programs(shape, 25):
        assert repr(Engine(rules).run(facts)) == repr(StockEngine(rules).run(facts))


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(SHAPES)), st.integers(0, 10**6), st.randoms(use_true_random=False))
def test_the_order_and_repetition_of_facts_never_matter(shape: str, seed: int, pick: random.Random) -> None:
    rules, facts = SHAPES[shape](random.Random(seed))
    engine = Engine(rules)
    expected = repr(engine.run(facts))
    again = facts + pick.choices(facts, k=3)
    pick.shuffle(again)
    assert repr(engine.run(again)) == expected


@pytest.mark.parametrize("shape", SHAPES)
def test_the_rules_in_reach_give_the_trace_of_all_rules(shape: str) -> None:
    left_out = 0
    for rules, facts in programs(shape, 15):
        facts = facts[: 1 + len(facts) // 3]
        chosen = reachable(rules, facts)
        left_out += len(rules) - len(chosen)
        assert Engine(chosen, strata(rules)).run(facts) == Engine(rules).run(facts)
        assert {step.rule for step in Engine(rules).run(facts).steps} <= {rule.id for rule in chosen}
    assert left_out or shape in ("crowded", "pairs")


def _simple(name: str, kind: str, head: str, **more: object) -> Rule:
    return Rule(name, (Pattern(kind, (("u", U),)),), (), (Template(head, (("u", U),)),), **more)  # type: ignore[arg-type]


def test_only_what_the_facts_can_reach_is_reachable() -> None:
    toe = Rule("toe", (Pattern("reading", (("check", "toe"), ("total", Test("gt", 4)))),), (), (Template("out"),))
    then = Rule("then", (Pattern("out"), Pattern("belt")), (Pattern("never"),), (Template("done"),))
    camber = Rule("camber", (Pattern("reading", (("check", "camber"),)),), (), (Template("out"),))
    rules = [then, camber, toe]
    belt, low, high = fact("belt"), fact("reading", check="toe", total=3), fact("reading", check="toe", total=6)
    assert reachable(rules, [belt, high]) == (then, toe)
    assert reachable(rules, [high]) == (toe,)
    assert reachable(rules, [belt, low]) == ()


def test_a_step_holds_all_that_an_audit_asks_for() -> None:
    over = Bound(Variable("t"), (Test("gt", 4),))
    rule = Rule(
        id="toe-out",
        when=(Pattern("reading", (("check", "toe"), ("axle", Variable("a")), ("total", over))), Pattern("belt")),
        unless=(Pattern("void", (("axle", Variable("a")), ("check", "toe"))),),
        then=(Template("cause", (("axle", Variable("a")),)), Template("belt"), Template("stop")),
        file="chaining/toe.yaml",
        line=7,
    )
    read = [fact("reading", check="toe", axle=axle, total=total) for axle, total in [("rear", 6), ("front", 5)]]
    done = Engine([rule]).run([*read, fact("belt"), fact("void", check="toe", axle="middle")])
    assert [str(one) for one in done.facts] == [
        "belt()",
        "cause(axle=front)",
        "cause(axle=rear)",
        "reading(axle=front, check=toe, total=5.0)",
        "reading(axle=rear, check=toe, total=6.0)",
        "stop()",
        "void(axle=middle, check=toe)",
    ]
    first, second = done.steps
    assert (first.number, first.rule, first.file, first.line) == (1, "toe-out", "chaining/toe.yaml", 7)
    assert first.bindings == (("a", "front"), ("t", 5.0))
    assert first.used == (read[1], fact("belt"))
    assert [str(pattern) for pattern in first.absent] == ["void(axle=front, check=toe)"]
    assert first.concluded == (fact("cause", axle="front"), fact("stop"))
    assert first.confirmed == (fact("belt"),)
    assert second.concluded == (fact("cause", axle="rear"),)
    assert second.confirmed == (fact("belt"), fact("stop"))


def test_a_blocked_rule_never_fires() -> None:
    rule = Rule("r", (Pattern("a", (("u", U),)),), (Pattern("b", (("u", U),)),), (Template("d", (("u", U),)),))
    done = Engine([rule]).run([fact("a", u=1), fact("a", u=2), fact("b", u=1)])
    assert [step.bindings for step in done.steps] == [(("u", 2.0),)]


def test_a_lower_stage_is_finished_before_a_higher_one_begins() -> None:
    rules = [_simple("late", "a", "x", stage=2), _simple("second", "b", "c"), _simple("first", "a", "b")]
    assert [step.rule for step in Engine(rules).run([fact("a", u=1)]).steps] == ["first", "second", "late"]


def test_truth_values_and_numbers_do_not_match_each_other() -> None:
    rules = [Rule(f"is-{n}", (Pattern("a", (("x", n),)),), (), (Template("d"),)) for n in (1, True, "1.0")]
    engine = Engine(rules)
    assert [step.rule for step in engine.run([fact("a", x=1)]).steps] == ["is-1"]
    assert [step.rule for step in engine.run([fact("a", x=True)]).steps] == ["is-True"]
    assert [step.rule for step in engine.run([fact("a", x="1.0"), fact("a", x=False)]).steps] == ["is-1.0"]


def test_names_that_would_break_experta_are_harmless() -> None:
    rules = [
        Rule(
            name, (Pattern("Fact", (("self", Variable("self")),)),), (), (Template(name, (("ke", Variable("self")),)),)
        )
        for name in ("run", "facts", "declare", "reset", "agenda", "get_rules")
    ]
    assert len(Engine(rules).run([fact("Fact", self="engine")]).steps) == 6


def test_a_field_named_twice_must_pass_all_its_conditions() -> None:
    between = (("n", Test("gt", 1)), ("n", Test("lt", 5)), ("n", Variable("n")), ("n", Test("ne", 3)))
    rule = Rule("r", (Pattern("a", between),), (), (Template("d", (("n", Variable("n")),)),))
    for engine in (Engine([rule]), StockEngine([rule])):
        done = engine.run([fact("a", n=n) for n in range(7)])
        assert [step.bindings for step in done.steps] == [(("n", 2.0),), (("n", 4.0),)]


def test_two_values_written_for_one_field_never_match() -> None:
    rule = Rule("r", (Pattern("a", (("n", 1), ("n", "one"))),), (), (Template("d"),))
    for engine in (Engine([rule]), StockEngine([rule])):
        assert engine.run([fact("a", n=1), fact("a", n="one")]).steps == ()


def test_a_run_that_reaches_its_limit_says_so_and_the_engine_can_go_on() -> None:
    engine = Engine([_simple("copy", "a", "b"), _simple("again", "a", "c")])
    facts = [fact("a", u=n) for n in range(10)]
    with pytest.raises(StepLimitError) as caught:
        engine.run(facts, limit=19)
    assert str(caught.value) == (
        "stopped after 19 steps, and rules were still waiting to fire. Most firings: copy 10 times, again 9 times. "
        "A pattern that names too few fields fits too many facts: make it narrower, or raise the limit"
    )
    assert len(engine.run(facts, limit=20).steps) == 20


def test_an_engine_forgets_the_case_before() -> None:
    engine = Engine([_simple("copy", "a", "b")])
    first = engine.run([fact("a", u=1)])
    assert engine.run([fact("a", u=2)]).facts == (fact("a", u=2), fact("b", u=2))
    assert engine.run([]).facts == ()
    assert engine.run([fact("a", u=1)]) == first


def test_a_match_of_the_case_before_cancels_nothing() -> None:
    upper = Rule("upper", (Pattern("a", (("u", U),)),), (Pattern("b", (("u", U),)),), (Template("d", (("u", U),)),))
    engine = Engine([_simple("lower", "c", "b"), upper])
    engine.run([fact("a", u=1)])
    done = engine.run([fact("a", u=2), fact("c", u=1)])
    assert [step.rule for step in done.steps] == ["lower", "upper"]


@pytest.mark.parametrize("shape", SHAPES)
def test_an_engine_used_before_gives_the_trace_of_a_new_one(shape: str) -> None:
    for rules, facts in programs(shape, 8):
        used = Engine(rules)
        for some in (facts[::2], facts[1::2], facts):
            assert used.run(some) == Engine(rules).run(some)


def test_a_rule_refuses_to_fire_on_a_fact_that_is_not_there() -> None:
    engine = Engine([_simple("copy", "a", "b")])
    engine.run([fact("a", u=1)])
    of_the_case_before = engine._shell.facts[1]
    engine.run([fact("a", u=1)])
    (rule,) = engine._shell.get_rules()
    with pytest.raises(RuntimeError) as caught:
        rule(engine._shell, f0=of_the_case_before, v_u=1.0)
    assert str(caught.value) == "rule 'copy' was about to fire on a fact that is not there any more"


def test_one_engine_per_thread_gives_the_same_steps() -> None:
    rules, facts = SHAPES["many"](random.Random(3))
    expected, found = Engine(rules).run(facts), []

    def work() -> None:
        engine = Engine(rules)
        found.extend(engine.run(facts) for _ in range(5))

    threads = [threading.Thread(target=work) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == [expected] * 20


def test_many_facts_join_without_trying_every_pair() -> None:
    calls = []

    class Counting(str):
        def __eq__(self, other: object) -> bool:
            calls.append(other)
            return str.__eq__(self, other)

        __hash__ = str.__hash__

    bears = [Fact.trusted("bears", (("cause", f"c{n}"), ("sign", Counting(f"s{n % 40}")))) for n in range(600)]
    seen = [Fact.trusted("finding", (("sign", Counting(f"s{n}")),)) for n in range(40)]
    sign = ("sign", Variable("s"))
    rule = Rule(
        "b",
        (Pattern("bears", (sign, ("cause", Variable("c")))), Pattern("finding", (sign,))),
        (),
        (Template("evidence", (sign, ("cause", Variable("c")))),),
    )
    assert len(Engine([rule]).run(bears + seen).steps) == 600
    assert len(calls) < 24000  # 40 x 600 pairs; an index compares each fact only with those of its own key
