"""The skeleton of a new entry: every key with what it means, the words that fit, and TODO where something must stand.

What must be written says TODO. What may be left out stands behind `# ` with a likely value, so that taking the sign
away is enough to use it; lines that explain begin with `## `.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from lugwright.rulebase.base import KINDS
from lugwright.rulebase.key_order import key_order
from lugwright.rulebase.known import Known
from lugwright.rulebase.meanings import meaning
from lugwright.rulebase.rules import CONCLUSIONS, CONDITIONS, ChainingRule
from lugwright.rulebase.schema import Cause, Check, ContextFact, Entry, MachineSheet, Procedure, Symptom
from lugwright.rulebase.words import Beforehand, HowOften, SoundRate
from lugwright.rulebase.yaml_write import WIDTH
from lugwright.shapes import bare, choices

BASIS = "judgement, common practice, or {kind: published, source: where it can be read}"

#: (shape, key) -> the lines of its value. A line that begins with "key:" is written as it is, below its comment.
_VALUES: dict[tuple[type[BaseModel], str], tuple[str, ...]] = {
    (Cause, "shows"): (
        "shows:",
        "  ## a sign noted per side needs side: same, opposite, both, either, inboard or outboard; further keys are",
        "  ## units, layout, drive, appears, given, unless, confidence and because",
        "  - {symptom: TODO, how_often: TODO}",
    ),
    (ContextFact, "answers"): ("answers:", "  TODO-first-answer: TODO", "  TODO-second-answer: TODO"),
    (ChainingRule, "when"): ("when:", "  - {seen: TODO}"),
    (ChainingRule, "then"): (
        "then:",
        "  ## a finding says where it is, as far as its symptom is noted: unit: $unit, side: $side",
        "  - {finding: TODO, is: seen}",
    ),
    (Check, "decides"): ("decides: [TODO]",),
    (Check, "steps"): ("steps:", "  - TODO"),
    (Procedure, "steps"): ("steps:", "  - do: TODO"),
}
#: The same for keys that may be left out.
_EXAMPLES: dict[tuple[type[BaseModel], str], tuple[str, ...]] = {
    (Entry, "practice_differs"): ("practice_differs: one view, another view, and which one is taken here",),
    (Symptom, "confused_with"): ("confused_with: what it is taken for, and how to tell",),
    (Symptom, "look_alikes"): ("look_alikes: [id-of-a-symptom]",),
    (Symptom, "also_called"): ("also_called: [other-id]",),
    (Cause, "points"): ("points: the face that rubs",),
    (Cause, "rarer_on"): ("rarer_on: {four-track: rare}",),
    (Cause, "procedure"): ("procedure: id-of-a-procedure",),
    (Cause, "never_shows"): ("never_shows:", "  - {symptom: id-of-a-symptom, how_often: never}"),
    (Cause, "look_alikes"): (
        "look_alikes:", "  - cause: id-of-a-cause", "    split_by: id-of-a-check",
        "    how: what the check shows for this one, and for the other",
    ),
    (Cause, "feeds"): ("feeds: [id-of-a-cause]",),
    (ContextFact, "quantity"): ("quantity: share",),
    (ChainingRule, "unless"): ("unless:", "  - {seen: id-of-a-symptom}"),
    (ChainingRule, "note"): ("note: anything else a reader should know",),
    (Check, "needs"): ("needs: [torch, chalk]",),
    (Check, "set_up"): ("set_up: straight-coast",),
    (Check, "preconditions"): ("preconditions: [what must hold first]",),
    (Check, "needs_first"): ("needs_first: [id-of-a-check]",),
    (Check, "not_while"): ("not_while: [id-of-a-symptom]",),
    (Check, "cautions"): ("cautions:", "  - what could hurt somebody"),
    (Check, "computation"): ("computation: plain",),
    (Check, "reading"): ("reading:", "  depth: {quantity: length, means: what exactly is measured}"),
    (Procedure, "tools"): ("tools: [torque wrench]",),
    (Procedure, "minutes"): ("minutes: 60",),
    (Procedure, "before"): ("before:", "  - what must hold before the work begins"),
    (Procedure, "not_while"): ("not_while: [id-of-a-symptom]",),
    (Procedure, "cautions"): ("cautions:", "  - what could hurt somebody"),
    (Procedure, "recheck"): ("recheck:", "  - what to look at again, and after how long"),
}  # fmt: skip


def skeleton(kind: str, name: str, known: Known) -> str:
    """The text of a new entry, without the line that wires it to a schema.

    kind:  the folder, such as `causes`. known: the rule base it is for; its scales put numbers behind the words.

    >>> print("\\n".join(skeleton("context", "shed-floor", Known()).splitlines()[4:9]))
    shed-floor:
      ## plain words, as said in the yard
      name: TODO
      ## as it is asked beside the machine, without blame
      question: TODO
    """
    shape = KINDS[kind]
    about = " ".join((shape.__doc__ or "").split())
    lines = [*_comment(about, 0), *_comment(_HOW, 0), "", f"{name}:"]
    for key in key_order(shape):
        lines += [" " * 2 + line if line else "" for line in _key(shape, key, known)]
    return "\n".join(lines) + "\n"


_HOW = (
    "Write something for every TODO. Lines with ## explain. A key behind a single # may be left out; take the # away "
    "to use it."
)


def _key(shape: type[BaseModel], key: str, known: Known) -> Iterator[str]:
    declared = next(f for name, f in shape.model_fields.items() if key in (name, f.alias))
    yield from _comment(" ".join(_told(shape, key, declared, known)), 2)
    if shape is ChainingRule and key in ("when", "then"):
        yield from _kinds(CONDITIONS if key == "when" else CONCLUSIONS)
    if (shape, key) in _VALUES:
        yield from _VALUES[shape, key]
    elif declared.is_required():
        yield f"{key}: TODO"
    elif (shape, key) == (MachineSheet, "numbers"):
        yield from (f"# {line}" for line in _numbers(known))
    else:
        value = declared.get_default(call_default_factory=True)
        written = f"[{', '.join(value)}]" if isinstance(value, tuple) else _default(declared)
        example = _EXAMPLES.get((shape, key)) or _EXAMPLES.get((Entry, key))
        yield from (f"# {line}" for line in example or (f"{key}: {written}",))


def _told(shape: type[BaseModel], key: str, declared: FieldInfo, known: Known) -> Iterator[str]:
    """The comment of a key: what it means, the words that fit, what holds where it is left out."""
    yield f"on what it rests: {BASIS}" if key == "basis" else meaning(shape, key)
    words = ("yes", "no") if bare(declared.annotation) is bool else choices(bare(declared.annotation))
    if words:
        yield "(" + ", ".join(f"{word}{_number(words, str(word), known)}" for word in words) + ")"
    if not declared.is_required() and (shape, key) not in _VALUES and (left_out := _default(declared)):
        yield f"[{left_out} where it is left out]"


def _number(words: tuple[Any, ...], word: str, known: Known) -> str:
    """What a word of the scales is worth, in brackets."""
    tables = {choices(HowOften): "how_often", choices(SoundRate): "sound", choices(Beforehand): "beforehand"}
    found: Any = known.scales.get(tables.get(words, ""), {})
    value = found.get(word, "") if isinstance(found, Mapping) else ""
    value = value.get("value", "") if isinstance(value, Mapping) else value
    return f" = {value}" if value and isinstance(value, str) else ""


def _default(declared: FieldInfo) -> str:
    value = declared.get_default(call_default_factory=True)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value) if value not in (None, {}, ()) and not isinstance(value, tuple) else ""


def _kinds(kinds: Mapping[str, type[BaseModel]]) -> Iterator[str]:
    """The kinds of condition or conclusion, each with its keys."""
    yield "## one line for each; the first word says what kind it is:"
    for head, shape in kinds.items():
        others = ", ".join(key for key in key_order(shape, head) if key != head)
        yield from _comment(f"  {head}: {' '.join((shape.__doc__ or '').split())} Further keys: {others}.", 2, "    ")


def _numbers(known: Known) -> Iterator[str]:
    """The names that other sheets give a figure for."""
    yield "numbers:"
    sheets = known.entries["machines"].values()
    names = {key for sheet in sheets if isinstance(sheet, dict) for key in _table(sheet)}
    for name in sorted(names) or ["name-of-a-number"]:
        yield f"  {name}: {{value: TODO, means: TODO}}"


def _table(sheet: Mapping[str, Any]) -> Mapping[str, Any]:
    table = sheet.get("numbers")
    return table if isinstance(table, dict) else {}


def _comment(text: str, indent: int, deeper: str = "") -> list[str]:
    """A text as comment lines, short enough to be indented."""
    lead = text[: len(text) - len(text.lstrip())]
    return textwrap.wrap(
        text.strip(), WIDTH - indent, initial_indent=f"## {lead}", subsequent_indent=f"## {deeper}",
        break_on_hyphens=False, break_long_words=False,
    )  # fmt: skip
