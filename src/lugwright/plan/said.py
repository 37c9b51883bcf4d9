"""A fact that a rule used, in words for a person, or by its ids with a unit at every figure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.chaining.conclude import fact_words, place_of
from lugwright.chaining.facts import Fact, Value
from lugwright.places import Place
from lugwright.quantities import show
from lugwright.rulebase.reading_fields import field_quantities

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

#: Fields of a reading that say where it was taken and of which check, not what it read.
PLACE_FIELDS = ("check", "unit", "axle", "side", "hand")
#: Facts that say how the places of a machine relate.
RELATIONS = ("partner", "hand", "opposite-side", "axle", "is-axle")


def said(one: Fact, rulebase: RuleBase) -> str:
    """A fact in words: a sign or a measurement with its place, an answer with its question; else as rules name it.

    Empty for how places relate, which is the same on every machine.
    """
    named = one.as_dict()
    if one.kind in RELATIONS:
        return ""
    if one.kind == "finding" and str(named.get("symptom")) in rulebase.symptoms:
        state = "" if named["state"] == "seen" else "not found: "
        return f"{state}{rulebase.symptoms[str(named['symptom'])].name}{_at(place_of(one))}"
    if one.kind == "reading" and str(named.get("check")) in rulebase.checks:
        check = rulebase.checks[str(named["check"])]
        read = [f"{name} {text}" for name, text in _fields(one, rulebase).items() if name in check.reading]
        return f"{check.name}{_at(place_of(one))}: {', '.join(read)}"
    if one.kind == "context" and str(named.get("name")) in rulebase.context:
        question = rulebase.context[str(named["name"])]
        value = named["value"]
        if isinstance(value, str):
            return f"{question.name}: {question.answers.get(value, value).split(';')[0]}"
        return f"{question.name}: {show(float(value), question.quantity or '')}"
    if one.kind == "machine":
        return ", ".join(f"{name} {_machine(name, value)}" for name, value in named.items())
    if one.kind == "void" and str(named.get("check")) in rulebase.checks:
        return f"{rulebase.checks[str(named['check'])].name}{_at(place_of(one))}: a reading there means nothing"
    return fact_words(one)


def by_ids(one: Fact, rulebase: RuleBase) -> str:
    """A fact as rules name it, in one line, each figure with its unit."""
    named = one.as_dict()
    if one.kind == "reading" and str(named.get("check")) in rulebase.checks:
        place = place_of(one)
        at = "" if place == Place() else f"@{place.key}"
        return f"reading {named['check']}{at} " + ", ".join(f"{k}={v}" for k, v in _fields(one, rulebase).items())
    if one.kind == "context" and str(named.get("name")) in rulebase.context and not isinstance(named["value"], str):
        quantity = rulebase.context[str(named["name"])].quantity or ""
        return f"context {named['name']} {show(float(named['value']), quantity)}"
    if one.kind == "machine":
        return "machine " + " ".join(f"{name}={_machine(name, value)}" for name, value in named.items())
    return fact_words(one)


def _at(place: Place) -> str:
    return "" if place == Place() else f", {place.words}"


def _machine(name: str, value: Value) -> str:
    return show(float(value), "hours") if name == "hours" else str(value)


def _fields(one: Fact, rulebase: RuleBase) -> dict[str, str]:
    """The fields of a reading with their units."""
    quantities = field_quantities(rulebase.checks[str(one.get("check"))])
    return {
        name: show(value, quantities[name]) if isinstance(value, float) and name in quantities else str(value)
        for name, value in one.as_dict().items()
        if name not in PLACE_FIELDS
    }
