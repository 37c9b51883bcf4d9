"""What the keys of a rule file may hold, word by word, as pieces of a schema."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeAlias

from pydantic import BaseModel

from lugwright.places import ALL_AXLES, ALL_UNITS, DRIVES, HANDS, LAYOUTS, SIDES
from lugwright.rulebase import rules
from lugwright.rulebase.known import Known
from lugwright.rulebase.schema import Cause, Check, ContextFact, LookAlike, Overlay, Procedure, Shows, Symptom
from lugwright.rulebase.words import Basis

Json: TypeAlias = dict[str, Any]
Fill: TypeAlias = Callable[[Known], Json]  # what a place may hold, given what is known

ID: Json = {"type": "string", "pattern": "^[a-z][a-z0-9]*(-[a-z0-9]+)*$", "maxLength": 60}


def ids(kind: str) -> Fill:
    """The ids of one kind, each with its plain name."""
    return lambda known: one_of(known.names(kind))


def one_of(words: Mapping[str, str]) -> Json:
    """One of these words, each with what it means; any id where there are none yet."""
    if not words:
        return dict(ID)
    return {"enum": list(words), "enumDescriptions": [words[word] or word for word in words]}


def place(*words: str) -> Fill:
    """A place word, or a variable that stands for one."""
    kind = next(name for name, known in _PLACES.items() if known == words)
    return lambda _: {"anyOf": [{"enum": [*words, f"${kind}"]}, {"type": "string", "pattern": "^\\$[a-z][a-z-]*$"}]}


def _context(*, derived: bool | None = None) -> Fill:
    def fill(known: Known) -> Json:
        names = known.names("context")
        return one_of({one: name for one, name in names.items() if derived in (None, known.derived(one))})

    return fill


def _answered(known: Known) -> Json:
    """A mapping from context entries with answers to one of their answers."""
    worded = {name: found for name in known.names("context") if (found := known.answers(name))}
    return {
        "type": "object",
        "properties": {name: {"description": known.names("context")[name], **one_of(found)} for name, found in
                       worded.items()},
        "additionalProperties": False,
    }  # fmt: skip


def _extent(known: Known) -> Json:
    return one_of(dict.fromkeys(known.words("extents"), "how far the sign goes"))


_PLACES: dict[str, tuple[str, ...]] = {"unit": ALL_UNITS, "axle": ALL_AXLES, "side": SIDES, "hand": HANDS}
_SYMPTOM, _CAUSE, _CHECK = ids("symptoms"), ids("causes"), ids("checks")

#: What the id or word at (shape, key) may be. A test insists that every id of a shape is here or among the free ones.
FILLS: dict[tuple[type[BaseModel], str], Fill] = {
    (Symptom, "look_alikes"): _SYMPTOM,
    (Shows, "symptom"): _SYMPTOM,
    (Shows, "given"): _answered,
    (Shows, "unless"): _answered,
    (LookAlike, "cause"): _CAUSE,
    (LookAlike, "split_by"): _CHECK,
    (Cause, "procedure"): ids("procedures"),
    (Cause, "feeds"): _CAUSE,
    (Check, "needs_first"): _CHECK,
    (Check, "decides"): _SYMPTOM,
    (Check, "not_while"): _SYMPTOM,
    (Procedure, "not_while"): _SYMPTOM,
    (rules.Seen, "seen"): _SYMPTOM,
    (rules.Seen, "extent"): _extent,
    (rules.Absent, "absent"): _SYMPTOM,
    (rules.ContextIs, "context"): _context(),
    (rules.ReadingIs, "reading"): _CHECK,
    (rules.Void, "void"): _CHECK,
    (rules.Finding, "finding"): _SYMPTOM,
    (rules.Finding, "extent"): _extent,
    (rules.CauseShift, "cause"): _CAUSE,
    (rules.Excludes, "excludes"): _CAUSE,
    (rules.Voids, "voids"): _CHECK,
    (rules.Verdict, "work"): ids("procedures"),
    (rules.ContextBecomes, "context"): _context(derived=True),
    (Overlay, "replaces"): lambda known: _keys(known),
    (Overlay, "retires"): lambda known: _keys(known),
    **{
        (shape, slot): place(*_PLACES[slot])
        for shape in (*rules.CONDITIONS.values(), *rules.CONCLUSIONS.values())
        for slot in _PLACES
        if slot in shape.model_fields
    },
}


def _keys(known: Known) -> Json:
    return one_of({f"{kind}/{one}": name for kind in known.entries for one, name in known.names(kind).items()})


def when(key: str, words: Sequence[str | bool], then: Json) -> Json:
    """A condition of a schema: where `key` is one of these words, `then` must hold."""
    return {"if": {"properties": {key: {"enum": list(words)}}, "required": [key]}, "then": then}


def symptom_sides(known: Known) -> list[Json]:
    """A sign noted per side needs its side; another must not have one."""
    sided = [one for one, entry in known.entries["symptoms"].items() if _where(entry) == "side"]
    others = [one for one, entry in known.entries["symptoms"].items() if _where(entry) in ("unit", "axle", "machine")]
    found = [when("symptom", sided, {"required": ["side"]})] if sided else []
    return found + ([when("symptom", others, {"properties": {"side": False}})] if others else [])


def _where(entry: Any) -> Any:
    return entry.get("where") if isinstance(entry, dict) else None


def _context_tests(known: Known) -> list[Json]:
    """Where a context entry has answers, `is` is one of them; where it is a number, it is compared."""
    numbers = dict.fromkeys(("above", "below", "at_least", "at_most"), False)
    found = []
    for name in known.names("context"):
        answers = known.answers(name)
        tests = {"is": one_of(answers), **numbers} if answers else {"is": False}
        found.append(when("context", [name], {"properties": tests}))
    return found


#: What must hold between the keys of a shape.
RULES: dict[type[BaseModel], Callable[[Known], list[Json]]] = {
    Basis: lambda _: [when("kind", ["published"], {"required": ["source"]})],
    Symptom: lambda _: [when("directed", [True, "yes", "on"], {"properties": {"where": {"const": "side"}}})],
    Cause: lambda _: [
        when("oriented", ["side"], {"properties": {"acts_on": {"const": "unit"}}}),
        when("oriented", ["hand"], {"properties": {"acts_on": {"const": "machine"}}}),
    ],
    ContextFact: lambda _: [{"oneOf": [{"required": ["answers"]}, {"required": ["quantity"]}]}],
    Shows: symptom_sides,
    rules.ContextIs: _context_tests,
    rules.ContextBecomes: lambda known: [
        when("context", [name], {"properties": {"is": one_of(answers)}})
        for name in known.names("context")
        if (answers := known.answers(name)) and known.derived(name)
    ],
    rules.ReadingIs: lambda known: [
        when("reading", [name], {"properties": {"with": {"propertyNames": {"enum": known.offered(name)}}}})
        for name in known.names("checks")
        if known.offered(name)
    ],
    rules.MachineIs: lambda _: [
        when("machine", ["layout"], {"properties": {"is": {"enum": list(LAYOUTS)}}}),
        when("machine", ["drive"], {"properties": {"is": {"enum": list(DRIVES)}}}),
    ],
    rules.Verdict: lambda _: [when("verdict", ["limit-use"], {"required": ["limit"]})],
}
