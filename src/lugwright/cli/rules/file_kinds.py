"""Every kind of file a trainer or an apprentice writes: its shape, the order of its keys, what it may hold."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from lugwright.casefile import schema as case
from lugwright.places import ALL_AXLES, ALL_UNITS, SIDES
from lugwright.rulebase.base import KINDS
from lugwright.rulebase.json_schema import FileKind, file_schema
from lugwright.rulebase.key_order import REST, Shapes
from lugwright.rulebase.known import Known
from lugwright.rulebase.listing import is_overlay
from lugwright.rulebase.scales import Scales
from lugwright.rulebase.schema import About, Overlay
from lugwright.rulebase.schema_words import Fill, Json, ids, one_of, symptom_sides, when
from lugwright.rulebase.words import Component
from lugwright.rulecases.schema import AmongFirst, Expect, RuleCase
from lugwright.shapes import choices

SCHEMAS = ".schema"  # the folder inside a rule base for its schemas; names with a dot are no part of the rule base

SHAPES = Shapes(
    order={
        case.Case: ("case", "invented", "teaches", "machine", "context", "seen", "looked_at", "not_seen", "measured",
                    "note"),
        case.Seen: ("symptom", "unit", "units", "axle", "side", "wheel", "extent", "note"),
        case.LookedAt: ("component", "unit", "units", "note"),
        case.Measured: ("check", "unit", "axle", "side", REST, "at", "note"),
    },
    inside={(RuleCase, "case"): case.Case},
)  # fmt: skip

_ABOUT = {
    "symptoms": "Signs that can be seen, felt, measured, noticed on a drive, or asked. Id: entry.",
    "causes": "Why a belt or a wheel wears. Id: entry.",
    "context": "What to ask about the machine and its work. Id: entry.",
    "chaining": "When-then rules. Id: entry.",
    "checks": "Tests a person can do. Id: entry.",
    "procedures": "Work steps for a remedy. Id: entry.",
    "machines": "Machine sheets. Id: entry.",
}


def _words(fill: Fill, least: int = 0) -> Fill:
    """One word, or a list of them."""

    def both(known: Known) -> Json:
        one = fill(known)
        return {"anyOf": [one, {"type": "array", "items": one, "minItems": least}]}

    return both


def _fixed(*words: str) -> Fill:
    return lambda _: {"enum": list(words)}


def _symptoms(known: Known) -> Json:
    names = known.names("symptoms")
    return one_of({**names, **{other: f"another name of {real}" for other, real in known.aliases().items()}})


def _answers(known: Known) -> Json:
    asked = {}
    for name, told in known.names("context").items():
        if not known.derived(name):
            answers = known.answers(name)
            free = {"type": ["string", "number"]}
            asked[name] = {"description": told, **(one_of(answers) if answers else free)}
    return {"type": "object", "properties": asked, "additionalProperties": False}


def _readings(known: Known) -> list[Json]:
    """What each check is read in."""
    found = []
    places = dict.fromkeys(case.Measured.model_fields, True)
    for name in known.names("checks"):
        fields = known.fields(name)
        text = {"type": ["string", "number"]}
        own: dict[str, Any] = {key: {"description": means, **text} for key, means in fields.items()}
        then = {"properties": {**places, **own}, "additionalProperties": False, "required": known.needed(name)}
        found.append(when("check", [name], then))
    return found


def _extents(known: Known) -> Json:
    return one_of(dict.fromkeys(known.words("extents"), "how far the sign goes"))


_UNITS = _words(_fixed(*ALL_UNITS, "all"), 1)
_CASE_FILLS: dict[tuple[type[BaseModel], str], Fill] = {
    (case.Machine, "sheet"): ids("machines"),
    (case.Case, "context"): _answers,
    (case.Seen, "extent"): _extents,
    (case.LookedAt, "component"): _fixed(*choices(Component)),
    (case.Measured, "check"): ids("checks"),
    (case.Measured, "unit"): _fixed(*ALL_UNITS),
    (case.Measured, "axle"): _fixed(*ALL_AXLES),
    (case.Measured, "side"): _fixed(*SIDES),
    **{(sign, "symptom"): _symptoms for sign in (case.Seen, case.NotSeen)},
    **{(sign, "side"): _fixed(*SIDES, "both") for sign in (case.Seen, case.NotSeen)},
    **{(sign, "axle"): _fixed(*ALL_AXLES) for sign in (case.Seen, case.NotSeen)},
    **{(sign, key): _UNITS for sign in (case.Seen, case.NotSeen, case.LookedAt) for key in ("unit", "units")},
}

_CASE_RULES: dict[type[BaseModel], Callable[[Known], list[Json]]] = {
    case.Measured: _readings,
    case.Seen: symptom_sides,
    case.NotSeen: symptom_sides,
}


def _cause_places(known: Known) -> Json:
    """A cause by its id, or with its place behind an @."""
    return {"anyOf": [one_of(known.names("causes")), {"type": "string", "pattern": _at_a_place(known)}]}


def _at_a_place(known: Known) -> str:
    return f"^({'|'.join(known.names('causes')) or '[a-z][a-z0-9-]*'})@[a-z/-]+$"


def _shares(known: Known) -> Json:
    share = {"type": ["string", "number"]}
    named = {one: {"description": name, **share} for one, name in known.names("causes").items()}
    return {"type": "object", "properties": named, "patternProperties": {_at_a_place(known): share},
            "additionalProperties": False}  # fmt: skip


_RULES_NAMED, _CAUSES_NAMED = _words(ids("chaining")), _words(_cause_places)
_EXPECT_FILLS: dict[tuple[type[BaseModel], str], Fill] = {
    (RuleCase, "case"): lambda _: {"$ref": "#/$defs/Case"},
    (RuleCase, "for"): _words(lambda known: one_of({**known.names("causes"), **known.names("chaining")})),
    (AmongFirst, "causes"): _words(_cause_places, 1),
    (Expect, "first"): _cause_places,
    (Expect, "not_first"): _CAUSES_NAMED,
    (Expect, "excluded"): _CAUSES_NAMED,
    (Expect, "at_least"): _shares,
    (Expect, "at_most"): _shares,
    (Expect, "fires"): _RULES_NAMED,
    (Expect, "silent"): _RULES_NAMED,
    (Expect, "next_check"): ids("checks"),
}


def _changed_words(shapes: Json) -> None:
    """An overlay gives a few words other numbers and leaves the rest as they are."""
    scales = shapes["Scales"]
    scales["required"] = ["because", "basis"]
    for table in scales["properties"].values():
        table.pop("minProperties", None)


def _case_inside(shapes: Json) -> None:
    """A case beside the rules has no name of its own, and its machine needs none."""
    shapes["Case"]["required"].remove("case")
    shapes["Case"]["properties"]["case"] = False
    shapes["Machine"]["required"].remove("name")


CASE = FileKind(
    "case", case.Case, False, "What is recorded about one machine at one visit.",
    fills=_CASE_FILLS, rules=_CASE_RULES,
)  # fmt: skip
CASES = FileKind(
    "cases", RuleCase, True, "Cases beside the rules: a machine, and what must come out. Id: case.", (case.Case,),
    {**_CASE_FILLS, **_EXPECT_FILLS}, _CASE_RULES, _case_inside,
)  # fmt: skip
FILE_KINDS: dict[str, FileKind] = {
    **{name: FileKind(name, shape, True, _ABOUT[name]) for name, shape in KINDS.items()},
    "scales": FileKind("scales", Scales, False, "The words a rule may use, and their numbers."),
    "about": FileKind("about", About, False, "Which rule base this is."),
    "overlay": FileKind("overlay", Overlay, False, "What an overlay does to the rule base below it."),
    "cases": CASES,
    "case": CASE,
}


def kind_of(path: Path, data: Any = None) -> FileKind | None:
    """Which kind of file this is, by its folder, its name, or what is written in it; None where that cannot be told.

    >>> kind_of(Path("rules/causes/toe.yaml")).name, kind_of(Path("x.yaml"), {"case": "a", "machine": {}}).name
    ('causes', 'case')
    """
    if path.parent.name in (*KINDS, "cases"):
        return FILE_KINDS[path.parent.name]
    if path.stem in ("scales", "about", "overlay"):
        return FILE_KINDS[path.stem]
    if isinstance(data, dict) and {"case", "machine"} <= set(data):
        return CASE
    return None


def schema_of(kind: FileKind, known: Known, *, overlay: bool = False) -> Json:
    """The schema of a kind of file in this rule base; in an overlay, scales.yaml names only the words it changes."""
    if overlay and kind.name == "scales":
        kind = replace(kind, change=_changed_words)
    return file_schema(kind, known)


def schema_text(schema: Json) -> str:
    """A schema as it is written to a file."""
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"


def kinds_for(folder: Path) -> Sequence[FileKind]:
    """The kinds of file that can be written in a rule base or an overlay, and case files."""
    unused = "about" if is_overlay(folder) else "overlay"
    return [kind for name, kind in FILE_KINDS.items() if name != unused]


def write_schemas(target: Path, known: Known, kinds: Sequence[FileKind], *, overlay: bool) -> list[Path]:
    """Write one file for each kind to a folder, which is made where it is not there. Raises OSError."""
    from lugwright.report.render import write_whole

    target.mkdir(parents=True, exist_ok=True)
    written = []
    for kind in kinds:
        path = target / f"{kind.name}.json"
        write_whole(path, schema_text(schema_of(kind, known, overlay=overlay)).encode())
        written.append(path)
    return written


def wire_to(path: Path, schemas: Path, kind: FileKind) -> str:
    """The way from a file to its schema, as the comment line of a YAML editor needs it.

    >>> wire_to(Path("rules/causes/toe.yaml"), Path("rules/.schema"), FILE_KINDS["causes"])
    '../.schema/causes.json'
    """
    way = os.path.relpath(schemas.resolve() / f"{kind.name}.json", path.resolve().parent)
    return Path(way).as_posix()
