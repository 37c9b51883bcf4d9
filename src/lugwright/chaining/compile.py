"""From a trainer's YAML rules to rules the engine runs. Fact kinds and fields are named in `base_facts`."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from lugwright.chaining.rules import Bound, Pattern, Rule, Template, Test, Value, Variable
from lugwright.quantities import parse
from lugwright.rulebase import rules as written
from lugwright.rulebase.reading_fields import field_quantities

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import MachineSheet

PLACES = ("unit", "axle", "side", "hand", "other")
OPS = {"above": "gt", "below": "lt", "at_least": "ge", "at_most": "le"}
SHEET = re.compile(r"sheet:(?P<name>[a-z0-9-]+)(?:\s+else\s+(?P<otherwise>.+))?$")


class NotOnSheet(Exception):
    """A rule compares with a number this machine's sheet does not give; the rule cannot fire for this machine."""


def compile_rules(rulebase: RuleBase, sheet: MachineSheet | None) -> tuple[Rule, ...]:
    """Every chaining rule of the rule base, in id order, with this machine's numbers filled in.

    A rule that needs a number the sheet does not give, and that names no other figure, is left out.
    """
    compiled = []
    for name, rule in rulebase.rules.items():
        spot = rulebase.spots.get(f"chaining/{name}")
        try:
            when = [pattern for one in rule.when for pattern in _condition(one, rulebase, sheet)]
            unless = [_condition(one, rulebase, sheet)[0] for one in rule.unless]
        except NotOnSheet:
            continue
        for _, one in rule.unspoiled:
            unless.append(Pattern("void", (("check", one.reading), ("unit", _term(one.unit or "")))))
        then = tuple(_conclusion(one) for one in rule.then)
        compiled.append(
            Rule(name, tuple(when), tuple(unless), then, file=spot.file if spot else "", line=spot.line if spot else 0)
        )
    return tuple(compiled)


def _term(word: str) -> str | Variable:
    """A place word, or the variable it binds."""
    return Variable(word[1:]) if word.startswith("$") else word


def _places(one: object) -> list[tuple[str, str | Variable]]:
    """The places a condition or conclusion names."""
    named = ((name, getattr(one, name, None)) for name in PLACES)
    return [(name, _term(word)) for name, word in named if word is not None]


def _tests(one: object, quantity: str, sheet: MachineSheet | None) -> tuple[Test, ...]:
    """Number tests of a comparison, in base units."""
    texts = ((op, getattr(one, name, None)) for name, op in OPS.items())
    return tuple(Test(op, number(text, quantity, sheet)) for op, text in texts if text is not None)


def number(text: str, quantity: str, sheet: MachineSheet | None) -> float:
    """A limit in base units: a quantity as written, or the sheet's number, or what stands after `else`.

    >>> number("1/4 in", "length", None), number("sheet:toe-limit else 6 mm", "length", None)
    (6.35, 6.0)
    """
    found = SHEET.match(text.strip())
    if not found:
        return parse(text, quantity)
    if sheet and found["name"] in sheet.numbers:
        return parse(sheet.numbers[found["name"]].value, quantity)
    if found["otherwise"] is None:
        raise NotOnSheet(found["name"])
    return parse(found["otherwise"], quantity)


def _condition(one: object, rulebase: RuleBase, sheet: MachineSheet | None) -> list[Pattern]:
    if isinstance(one, (written.Seen, written.Absent)):
        seen = isinstance(one, written.Seen)
        symptom = one.seen if isinstance(one, written.Seen) else one.absent
        fields: list[tuple[str, object]] = [
            ("symptom", symptom),
            ("state", "seen" if seen else "absent"),
            *_places(one),
        ]
        if isinstance(one, written.Seen) and one.extent:
            fields.append(("extent", one.extent))
        return [Pattern("finding", tuple(fields))]  # type: ignore[arg-type]
    if isinstance(one, written.ContextIs):
        quantity = rulebase.context[one.context].quantity
        tests: tuple[object, ...] = (one.is_,) if one.is_ is not None else _tests(one, quantity or "count", sheet)
        return [Pattern("context", (("name", one.context), *(("value", test) for test in tests)))]  # type: ignore[arg-type]
    if isinstance(one, written.ReadingIs):
        quantities = field_quantities(rulebase.checks[one.reading])
        fields = [("check", one.reading), *_places(one)]
        for name, compare in one.with_.items():
            if compare.is_ is not None:
                fields.append((name, compare.is_))
            fields += [(name, test) for test in _tests(compare, quantities[name], sheet)]
        return [Pattern("reading", tuple(fields))]  # type: ignore[arg-type]
    if isinstance(one, written.MachineIs):
        value = (one.is_,) if one.is_ is not None else _tests(one, "hours", sheet)
        return [Pattern("machine", tuple((one.machine, test) for test in value))]
    if isinstance(one, written.Void):
        return [Pattern("void", (("check", one.void), *_places(one)))]
    assert isinstance(one, written.Relation)
    return [Pattern(one.relation, tuple(_places(one)))]


def _template(kind: str, one: object, places: tuple[str, ...], **fields: str) -> Template:
    """A concluded fact; places the rule does not name stand empty."""
    named = dict(_places(one))
    every: list[tuple[str, Value | Variable]] = [(name, named.get(name, "")) for name in places]
    every += list(fields.items())
    return Template(kind, tuple(every))


def _conclusion(one: object) -> Template:
    spot = ("unit", "axle", "side")
    makers: dict[type, Callable[..., Template]] = {
        written.Finding: lambda x: _template("finding", x, spot, symptom=x.finding, state=x.is_, extent=x.extent or ""),
        written.CauseShift: lambda x: _template("shift", x, (*spot, "hand"), cause=x.cause, becomes=x.becomes),
        written.Excludes: lambda x: _template("excluded", x, (*spot, "hand"), cause=x.excludes),
        written.Voids: lambda x: _template("void", x, ("unit",), check=x.voids),
        written.ContextBecomes: lambda x: Template("context", (("name", x.context), ("value", x.is_))),
        written.Verdict: lambda x: _template("verdict", x, spot, action=x.verdict, limit=x.limit, number=x.number),
    }
    return makers[type(one)](one)


#: One general rule carries every link of every cause: the link is a fact, not a rule of its own.
BEARING = Rule(
    "sign-bears-on-cause",
    when=(
        Pattern(
            "bears", (("sign", Variable("sign")), ("cause", Variable("cause")), ("how-often", Variable("how-often")))
        ),
        Pattern("finding", (("sign", Variable("sign")), ("state", "seen"))),
    ),
    unless=(),
    then=(
        Template(
            "evidence", (("sign", Variable("sign")), ("cause", Variable("cause")), ("how-often", Variable("how-often")))
        ),
    ),
    file="causes",
)

__all__ = ["BEARING", "Bound", "compile_rules", "number"]
