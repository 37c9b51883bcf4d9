"""JSON Schema (2020-12) of the files a trainer writes, so that a YAML editor offers ids and words and shows what they mean.

Made from the declared shapes; the ids come from the rule base in use. A schema says what one entry may look like by
itself. Whether entries agree with one another is for `lugwright rules check`.

A YAML editor guesses: it takes `12` for a number and `true` for a truth value where we read text. So every text may be
written as a number or a truth value here, and every truth value as yes or no.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import UnionType
from typing import Any, TypeAlias, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema, models_json_schema

from lugwright.places import ALL_AXLES, ALL_UNITS, DRIVES, HANDS, LAYOUTS, SIDES
from lugwright.rulebase import rules
from lugwright.rulebase.known import Known
from lugwright.rulebase.schema import Cause, Check, ContextFact, LookAlike, Overlay, Shows, Symptom
from lugwright.rulebase.words import Basis, HowOften
from lugwright.shapes import bare

Json: TypeAlias = dict[str, Any]
Fill: TypeAlias = Callable[[Known], Json]  # what a place may hold, given what is known

ID = {"type": "string", "pattern": "^[a-z][a-z0-9]*(-[a-z0-9]+)*$", "maxLength": 60}
YES_OR_NO = {"enum": [True, False, "yes", "no", "on", "off"]}


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
    return one_of({word: "how far the sign goes" for word in known.words("extents")})


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


def when(key: str, words: list[str], then: Json) -> Json:
    """A condition of a schema: where `key` is one of these words, `then` must hold."""
    return {"if": {"properties": {key: {"enum": words}}, "required": [key]}, "then": then}


def _symptom_sides(known: Known) -> list[Json]:
    sided = [one for one, entry in known.entries["symptoms"].items() if _where(entry) == "side"]
    others = [one for one, entry in known.entries["symptoms"].items() if _where(entry) in ("unit", "axle", "machine")]
    found = [when("symptom", sided, {"required": ["side"]})] if sided else []
    return found + ([when("symptom", others, {"properties": {"side": False}})] if others else [])


def _where(entry: Any) -> Any:
    return entry.get("where") if isinstance(entry, dict) else None


def _context_tests(known: Known) -> list[Json]:
    """Where a context entry has answers, `is` is one of them; where it is a number, it is compared."""
    numbers = {key: False for key in ("above", "below", "at_least", "at_most")}
    found = []
    for name in known.names("context"):
        answers = known.answers(name)
        tests = {"is": one_of(answers), **numbers} if answers else {"is": False}
        found.append(when("context", [name], {"properties": tests}))
    return found


#: What must hold between the keys of a shape.
RULES: dict[type[BaseModel], Callable[[Known], list[Json]]] = {
    Basis: lambda _: [when("kind", ["published"], {"required": ["source"]})],
    Symptom: lambda _: [when("directed", [True, "yes", "on"], {"properties": {"where": {"const": "side"}}})],  # type: ignore[list-item]
    Cause: lambda _: [
        when("oriented", ["side"], {"properties": {"acts_on": {"const": "unit"}}}),
        when("oriented", ["hand"], {"properties": {"acts_on": {"const": "machine"}}}),
    ],
    ContextFact: lambda _: [{"oneOf": [{"required": ["answers"]}, {"required": ["quantity"]}]}],
    Shows: _symptom_sides,
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


@dataclass(frozen=True)
class FileKind:
    """One kind of file.

    name:   what the command line and the schema file call it.
    shape:  the shape of the file, or of each of its entries where it is `keyed` by id.
    about:  what the file holds, in a sentence.
    fills, rules: what is known beside the shapes of the rule base, as in FILLS and RULES.
    change: a last touch on the shapes, by name.
    """

    name: str
    shape: type[BaseModel]
    keyed: bool
    about: str
    fills: Mapping[tuple[type[BaseModel], str], Fill] = field(default_factory=dict)
    rules: Mapping[type[BaseModel], Callable[[Known], list[Json]]] = field(default_factory=dict)
    change: Callable[[Json], None] = lambda _: None


def file_schema(kind: FileKind, known: Known) -> Json:
    """The schema of one kind of file.

    >>> from lugwright.rulebase.schema import About
    >>> made = file_schema(FileKind("about", About, False, "Which rule base this is."), Known())
    >>> made["$ref"], made["$defs"]["About"]["required"]
    ('#/$defs/About', ['title', 'version'])
    """
    _, made = models_json_schema([(kind.shape, "validation")], ref_template="#/$defs/{model}")
    shapes = {shape.__name__: shape for shape in models_in(kind.shape)}
    completed = {}
    fills, between = {**FILLS, **kind.fills}, {**RULES, **kind.rules}
    for name, shape in made["$defs"].items():
        completed[name] = _plainer(shape)
        for key, fill in ((key, fill) for (owner, key), fill in fills.items() if owner is shapes[name]):
            completed[name]["properties"][key] = _filled(completed[name]["properties"][key], fill(known))
        if shapes[name] in between and (more := between[shapes[name]](known)):
            completed[name]["allOf"] = more
        if shapes[name] is Basis:
            completed[name] = _word_or_mapping(completed[name])
    kind.change(completed)
    top: Json = {"$schema": GenerateJsonSchema.schema_dialect, "title": kind.name, "description": kind.about}
    body: Json = {"$ref": f"#/$defs/{kind.shape.__name__}"}
    if kind.keyed:
        body = {"type": "object", "propertyNames": dict(ID), "additionalProperties": body, "minProperties": 1}
    return {**top, **body, "$defs": completed}


def models_in(shape: Any) -> list[type[BaseModel]]:
    """Every shape that is part of a shape, itself first."""
    found: list[type[BaseModel]] = []
    todo = [shape]
    while todo:
        one = bare(todo.pop(0))
        if isinstance(one, type) and issubclass(one, BaseModel):
            if one not in found:
                found.append(one)
                todo += [part.annotation for part in one.model_fields.values()]
        elif get_origin(one) in (Union, UnionType, dict, tuple, list):
            todo += get_args(one)
    return found


def _word_or_mapping(basis: Json) -> Json:
    """A basis may be written as a word alone, unless it needs a source."""
    kinds = [word for word in basis["properties"]["kind"]["enum"] if word != "published"]
    about = basis.pop("description", "")
    return {"description": about, "anyOf": [{"enum": kinds}, basis]}


_OFTEN = set(get_args(HowOften))


def _plainer(value: Any, *, names: bool = False) -> Any:
    """A schema without what only a program needs, and as tolerant of an editor's guesses as the plain reader is.

    names: the keys of this mapping are keys of a shape, not words of JSON Schema.
    """
    if isinstance(value, list):
        return [_plainer(one) for one in value]
    if not isinstance(value, dict):
        return value
    if names:
        return {key: _plainer(one) for key, one in value.items()}
    made = {
        key: _plainer(one, names=key in ("properties", "$defs"))
        for key, one in value.items()
        if not (key == "title" and isinstance(one, str)) and not (key == "default" and one in (None, "", [], {}))
    }
    if "anyOf" in made:
        made["anyOf"] = [one for one in made["anyOf"] if one != {"type": "null"}]
        if len(made["anyOf"]) == 1:
            made = {**made.pop("anyOf")[0], **made}
    if made.get("type") == "boolean":
        del made["type"]
        made.update(YES_OR_NO)
    elif made.get("type") == "string" and "pattern" not in made and "enum" not in made and "const" not in made:
        made["type"] = ["string", "number", "boolean"]
    elif made.get("type") == "string" and "enum" in made:
        del made["type"]
    if "description" in made:
        made["description"] = " ".join(made["description"].split())
    return made


def _filled(old: Json, fill: Json) -> Json:
    """A property whose text is replaced by what may stand there; its own description and default stay."""
    kept = {key: old[key] for key in ("description", "default") if key in old}
    if old.get("type") == "array" and fill.get("type") != "array":
        sizes = {key: old[key] for key in ("minItems", "maxItems") if key in old}
        return {**kept, "type": "array", **sizes, "items": fill}
    return {**fill, **kept}
