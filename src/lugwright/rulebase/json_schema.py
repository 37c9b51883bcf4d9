"""JSON Schema (2020-12) of the files a trainer writes: a YAML editor offers ids and words and shows what they mean.

Made from the declared shapes; the ids come from the rule base in use. A schema says what one entry may look like by
itself. Whether entries agree with one another is for `lugwright rules check`.

A YAML editor guesses: it takes `12` for a number and `true` for a truth value where we read text. So every text may be
written as a number or a truth value here, and every truth value as yes or no.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import UnionType
from typing import Any, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema, models_json_schema

from lugwright.rulebase.known import Known
from lugwright.rulebase.meanings import meaning
from lugwright.rulebase.schema_words import FILLS, ID, RULES, Fill, Json
from lugwright.rulebase.words import Basis
from lugwright.shapes import bare

_ANY_TEXT = ["string", "number", "boolean"]
YES_OR_NO: Json = {"enum": [True, False, "yes", "no", "on", "off"]}


@dataclass(frozen=True)
class FileKind:
    """One kind of file.

    name:   what the command line and the schema file call it.
    shape:  the shape of the file, or of each of its entries where it is `keyed` by id.
    about:  what the file holds, in a sentence.
    beside: shapes that are used without being declared as part of the file's own.
    fills, rules: what is known beside the shapes of the rule base, as in FILLS and RULES.
    change: a last touch on the shapes, by name.
    """

    name: str
    shape: type[BaseModel]
    keyed: bool
    about: str
    beside: tuple[type[BaseModel], ...] = ()
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
    declared = (kind.shape, *kind.beside)
    _, made = models_json_schema([(shape, "validation") for shape in declared], ref_template="#/$defs/{model}")
    shapes = {shape.__name__: shape for one in declared for shape in models_in(one)}
    completed = {}
    fills, between = {**FILLS, **kind.fills}, {**RULES, **kind.rules}
    for name, shape in made["$defs"].items():
        completed[name] = _plainer(shape)
        for key, value in completed[name]["properties"].items():
            value.setdefault("description", meaning(shapes[name], key))
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
        made["type"] = list(_ANY_TEXT)
    elif made.get("type") == "string" and "enum" in made:
        del made["type"]
    if "description" in made:
        made["description"] = " ".join(made["description"].split())
    return made


def _filled(old: Json, fill: Json) -> Json:
    """A property whose text is replaced by what may stand there; its own description and default stay."""
    kept: Json = {key: old[key] for key in ("description", "default") if key in old}
    whole = any(one.get("type") == "array" for one in (fill, *fill.get("anyOf", ())))
    if old.get("type") == "array" and not whole:
        sizes: Json = {key: old[key] for key in ("minItems", "maxItems") if key in old}
        return {**kept, "type": "array", **sizes, "items": fill}
    return {**fill, **kept}
