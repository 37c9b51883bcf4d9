"""Facts and rules as values, and every rule that is refused, with the whole message."""

from __future__ import annotations

import enum
import math
import re
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lugwright.chaining.engine import Engine, strata
from lugwright.chaining.facts import NAME_HINT, Fact, canonical, fact
from lugwright.chaining.rules import Bound, Pattern, Rule, RuleError, Template, Test, Variable

texts = st.text('aZ1_.- \u00e9"\\', max_size=4) | st.sampled_from(["true", "false", "inf", "nan", "1.0", "-1", "$u"])
values = st.one_of(texts, st.floats(allow_nan=False), st.integers(-5, 5), st.booleans())
U = Variable("u")
A, D = Pattern("a"), Template("d")


def _rule(name: str = "r", **parts: Any) -> Rule:
    return Rule(name, **{"when": (A,), "unless": (), "then": (D,), "file": "chaining/x.yaml", "line": 4, **parts})


def _reads(name: str, reads: str, denies: str, gives: str, stage: int = 0) -> Rule:
    unless = (Pattern(denies),) if denies else ()
    return Rule(name, (Pattern(reads),), unless, (Template(gives),), "chaining/x.yaml", len(name), stage)


REFUSED: dict[str, tuple[Callable[[], object], str, str]] = {
    "no condition": (
        lambda: _rule(when=(), unless=(A,)),
        "r",
        "rule 'r' (chaining/x.yaml:4): there is no condition under 'when'. What is absent cannot start a rule alone: "
        "name at least one thing that must be there",
    ),
    "no conclusion": (
        lambda: _rule(then=(), file=""),
        "r",
        "rule 'r': there is no conclusion under 'then'. Say what follows, or remove the rule",
    ),
    "unbound in then": (
        lambda: _rule(then=(Template("d", (("unit", U),)),), line=0),
        "r",
        "rule 'r' (chaining/x.yaml): 'then' uses $u in d(unit=$u), but no condition under 'when' binds it. Use $u in a "
        "condition too, or write the value itself",
    ),
    "unbound in unless": (
        lambda: _rule(unless=(Pattern("b", (("unit", U), ("side", "inboard"))),)),
        "r",
        "rule 'r' (chaining/x.yaml:4): 'unless' uses $u in b(side=inboard, unit=$u), but no condition under 'when' "
        "binds it. Use $u in a condition too; if any value will do, leave the field out",
    ),
    "unknown test": (
        lambda: _rule(when=(Pattern("a", (("n", Test("above", 3)),)),)),
        "r",
        "rule 'r' (chaining/x.yaml:4): field 'n' of 'a': 'above' is not a test; the tests are gt, ge, lt, le, ne, in",
    ),
    "test of order on text": (
        lambda: _rule(when=(Pattern("a", (("n", Test("gt", "toe")),)),)),
        "r",
        "rule 'r' (chaining/x.yaml:4): field 'n' of 'a': the test 'gt' needs a number, not toe",
    ),
    "in without several": (
        lambda: _rule(unless=(Pattern("a", (("n", Test("in", "toe")),)),)),
        "r",
        "rule 'r' (chaining/x.yaml:4): field 'n' of 'a': the test 'in' needs several values",
    ),
    "several without in": (
        lambda: _rule(when=(Pattern("a", (("n", Bound(U, (Test("ne", ("toe", 1)),))),)),)),
        "r",
        "rule 'r' (chaining/x.yaml:4): field 'n' of 'a': the test 'ne' needs one value",
    ),
    "in nothing": (
        lambda: _rule(when=(Pattern("a", (("n", Test("in", ())),)),)),
        "r",
        "rule 'r' (chaining/x.yaml:4): field 'n' of 'a': the test 'in' has no values to choose from",
    ),
    "not a number": (
        lambda: _rule(when=(Pattern("a", (("n", math.nan),)),)),
        "r",
        "rule 'r' (chaining/x.yaml:4): field 'n' of 'a': 'not a number' cannot be a value: it equals nothing, not even "
        "itself",
    ),
    "not a value": (
        lambda: _rule(then=(Template("d", (("n", None),)),)),  # type: ignore[arg-type]
        "r",
        "rule 'r' (chaining/x.yaml:4): field 'n' of 'd': None is neither text, a number nor a truth value",
    ),
    "not a name": (
        lambda: _rule(when=(Pattern("a", (("two__parts", 1),)),)),
        "r",
        "rule 'r' (chaining/x.yaml:4): 'two__parts' cannot name a kind or a field of a fact: " + NAME_HINT,
    ),
    "not the name of a variable": (
        lambda: _rule(when=(Pattern("a", (("n", Variable("$u")),)),)),
        "r",
        "rule 'r' (chaining/x.yaml:4): '$u' cannot name a variable: " + NAME_HINT,
    ),
    "field given twice": (
        lambda: _rule(then=(Template("d", (("n", 1), ("n", 2))),)),
        "r",
        "rule 'r' (chaining/x.yaml:4): 'then' gives a field twice in d(n=1.0, n=2.0). A fact has each field once",
    ),
    "test in a conclusion": (
        lambda: _rule(then=(Template("d", (("n", Test("gt", 2)),)),)),  # type: ignore[arg-type]
        "r",
        "rule 'r' (chaining/x.yaml:4): 'then' has a test in 'd'. Only conditions can test; a conclusion names values",
    ),
    "id used twice": (
        lambda: strata([_rule(), _rule(line=9)]),
        "r",
        "rule 'r' (chaining/x.yaml:9): the id is used twice, first at chaining/x.yaml:4. Each rule needs an id of "
        "its own",
    ),
    "own absence": (
        lambda: Engine([_reads("self", "a", "d", "d")]),
        "self",
        "rule 'self' (chaining/x.yaml:4): its 'unless' depends on its own conclusion, in a circle: self -> self. "
        "Whether 'self' fires depends on what 'self' does not conclude, and that depends on 'self' again. Take the "
        "'unless' out, or conclude something that no rule of the circle reads",
    ),
    "circle through an unless": (
        lambda: strata(
            [
                _reads("aside", "a", "", "x"),
                _reads("one", "a", "x", "b"),
                _reads("two", "b", "", "c"),
                _reads("three", "c", "", "x"),
                _reads("after", "x", "", "y"),
            ]
        ),
        "one",
        "rule 'one' (chaining/x.yaml:3): its 'unless' depends on its own conclusion, in a circle: three -> one -> two "
        "-> three. Whether 'one' fires depends on what 'three' does not conclude, and that depends on 'one' again. "
        "Take the 'unless' out, or conclude something that no rule of the circle reads",
    ),
    "back into an earlier stage": (
        lambda: strata([_reads("late", "a", "", "b", stage=2), _reads("early", "b", "", "c", stage=1)]),
        "late",
        "rule 'late' (chaining/x.yaml:4): it stands in stage 2, but rule 'early' of stage 1 reads what it concludes "
        "(b()) and is finished before. Move one of the two, or conclude something else",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_rule_that_cannot_be_right_is_refused_by_name(name: str) -> None:
    make, rule, message = REFUSED[name]
    with pytest.raises(RuleError) as caught:
        make()
    assert str(caught.value) == message
    assert caught.value.rule == rule


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: fact("a", n=math.nan), "'not a number' cannot be a value: it equals nothing, not even itself"),
        (lambda: fact("a", n=[1]), "[1] is neither text, a number nor a truth value"),
        (lambda: fact("a", n=None), "None is neither text, a number nor a truth value"),
        (lambda: Fact("a", (("n", 1), ("n", 2))), "a: a fact has each field once, but was given n, n"),
        (
            lambda: Fact("a b"),
            "'a b' cannot name a kind or a field of a fact: " + NAME_HINT,
        ),
        (
            lambda: Fact("a", (("__factid__", 1),)),
            "'__factid__' cannot name a kind or a field of a fact: " + NAME_HINT,
        ),
    ],
)
def test_a_fact_that_cannot_be_kept_is_refused(make: Callable[[], object], message: str) -> None:
    with pytest.raises(ValueError, match=re.escape(message)) as caught:
        make()
    assert str(caught.value) == message


class Word(str, enum.Enum):
    TOE = "toe"


def test_facts_are_equal_when_their_values_are() -> None:
    assert fact("a", n=1, m=2) == fact("a", m=2.0, n=1.0)
    assert fact("a", up=True) != fact("a", up=1)
    assert fact("a", up=True) != fact("a", up="true")
    assert str(fact("a", n=-0.0)) == "a(n=0.0)"
    assert fact("a", check=Word.TOE) == fact("a", check="toe")
    assert str(fact("a", check=Word.TOE)) == "a(check=toe)"
    assert fact("a", up=True, n=2).as_dict() == {"n": 2.0, "up": True}
    assert (fact("a", up=False).get("up"), fact("a").get("up")) == (False, None)


@given(st.dictionaries(st.sampled_from("xyz"), values), st.dictionaries(st.sampled_from("xyz"), values))
def test_facts_print_alike_and_sort_alike_only_when_equal(one: dict[str, Any], other: dict[str, Any]) -> None:
    first, second = fact("a", **one), fact("a", **other)
    assert (str(first) == str(second)) == (first == second)
    assert (canonical(first) == canonical(second)) == (first == second)


@given(st.dictionaries(st.sampled_from("xyz"), values))
def test_a_fact_gives_back_the_values_it_was_made_of(fields: dict[str, Any]) -> None:
    back = fact("a", **fields).as_dict()
    assert back == fields
    assert all(isinstance(back[name], bool) == isinstance(value, bool) for name, value in fields.items())


@given(values, values)
def test_a_test_never_raises_and_ne_is_the_opposite_of_a_value(value: Any, other: Any) -> None:
    one = dict(fact("a", n=value).fields)["n"]
    same = fact("a", n=value) == fact("a", n=other)
    assert Test("ne", other).holds(one) is not same
    assert Test("in", (other,)).holds(one) is same
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    assert Test("ge", 0).holds(one) is (number and value >= 0)


def test_patterns_and_rules_are_values() -> None:
    over = Bound(Variable("t"), (Test("gt", 4), Test("in", (5, 6))))
    pattern = Pattern("reading", (("total", over), ("check", "two words")))
    assert str(pattern) == 'reading(check="two words", total=$t, total > 4.0, total in (5.0, 6.0))'
    assert str(pattern.filled({"t": 6.0})) == (
        'reading(check="two words", total=6.0, total > 4.0, total in (5.0, 6.0))'
    )
    assert pattern == Pattern("reading", (("check", "two words"), ("total", over)))
    rule = _rule(when=(pattern,), then=(Template("d", (("total", Variable("t")),)),))
    assert rule.variables == ("t",)
    assert {rule} == {_rule(when=(pattern,), then=(Template("d", (("total", Variable("t")),)),))}


def test_strata_rise_only_through_unless() -> None:
    rules = [
        _reads("three", "c", "b", "e"),
        _reads("two", "b", "", "c"),
        _reads("one", "a", "x", "b"),
        _reads("cause", "a", "", "x"),
        _reads("loop", "c", "", "b"),
        _reads("next", "a", "", "z", stage=3),
    ]
    assert strata(rules) == {"cause": 0, "one": 1, "two": 1, "loop": 1, "three": 2, "next": 3}


def test_conclusions_that_differ_in_a_written_value_are_not_taken_for_one_another() -> None:
    def of(symptom: str, **more: Any) -> tuple[tuple[str, Any], ...]:
        return (("symptom", symptom), *more.items())

    rules = [
        Rule("torn", (A,), (Pattern("finding", of("hot")),), (Template("finding", of("torn")),)),
        Rule("hot", (Pattern("finding", of("torn", n=Test("gt", 3))),), (), (Template("finding", of("hot", n=2)),)),
        Rule("more", (Pattern("finding", of("torn", n=1)),), (), (Template("finding", of("hot")),)),
    ]
    assert strata(rules) == {"torn": 1, "hot": 0, "more": 0}
    any_symptom = Rule("any", (Pattern("finding", (("symptom", U),)),), (), (Template("finding", (("symptom", U),)),))
    with pytest.raises(RuleError, match="circle: any -> torn -> any"):
        strata([*rules, any_symptom])
