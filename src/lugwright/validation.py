"""A value that does not fit its declared shape, told in the author's words at the author's line.

Turns pydantic's errors into issues. Shared by the rule base and the case files.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from lugwright.issues import Issue, Spot, did_you_mean, nearest
from lugwright.plain_build import Way, short
from lugwright.plain_words import with_article
from lugwright.plain_yaml import Document
from lugwright.shapes import choices, example, follow, keys, tags

MOST = 100  # faults told for one value

_Model = TypeVar("_Model", bound=BaseModel)

WHY: dict[str, str] = {
    "bad-choice": "only these words have a meaning here",
    "bad-id": "an id is written the same way everywhere, so that it can be found",
    "does-not-fit": "the parts of an entry must agree with one another",
    "missing-key": "the entry says too little without it",
    "out-of-range": "the value lies outside what makes sense here",
    "unknown-key": "a key nobody reads is a mistake that stays hidden",
    "unknown-kind": "the first word decides what is meant",
    "wrong-type": "the value cannot be read as what it should be",
}


@dataclass(frozen=True)
class Names:
    """How shapes are called in messages: `kinds` by model class, `items` by the key of a list of several kinds."""

    kinds: Mapping[type, str] = field(default_factory=dict)
    items: Mapping[str, str] = field(default_factory=dict)

    def of(self, shape: Any) -> str:
        """A model's name with its article.

        >>> class ReadingField(BaseModel): pass
        >>> Names().of(ReadingField)
        'a reading field'
        """
        if shape in self.kinds:
            return self.kinds[shape]
        words = re.sub(r"(?<!^)(?=[A-Z])", " ", getattr(shape, "__name__", "entry").strip("_")).lower()
        return with_article(words)


def checked(
    model: type[_Model], document: Document, way: Way = (), names: Names | None = None, data: Any = None
) -> tuple[_Model | None, tuple[Issue, ...]]:
    """The value at a way of a document as a model, or the faults that prevent it.

    data: the value, where it was changed since reading; without it, the value as written at `way`.
    """
    value = data if data is not None else _value(document, way)
    try:
        return model.model_validate(value), ()
    except ValidationError as error:
        return None, issues_from(error, model, document, way, names or Names())


def issues_from(
    error: ValidationError, model: type[BaseModel], document: Document, way: Way = (), names: Names | None = None
) -> tuple[Issue, ...]:
    """One issue for each error of a failed validation of `model` against the value at `way`."""
    names = names or Names()
    parts = _apart(error.errors(include_url=False))
    found = {_issue(part, model, document, way, names) for part in parts[:MOST]}
    if len(parts) > MOST:
        label, hint = names.of(model), "mend these first"
        what = f"{len(parts) - MOST} more faults in {label}"
        found.add(document.issue(document.key_spot(way), "does-not-fit", what, WHY["does-not-fit"], hint))
    return tuple(sorted(found))


def _apart(parts: list[Any]) -> list[Any]:
    """The errors that are mistakes of their own, not the shadow of another.

    A misspelt key is not also a missing one, and a list is not too short because an item in it is faulty.
    """
    odd: dict[Way, list[str]] = {}
    for part in parts:
        if part["type"] == "extra_forbidden":
            odd.setdefault(part["loc"][:-1], []).append(str(part["loc"][-1]))
    return [part for part in parts if not _is_shadow(part, odd.get(part["loc"][:-1], []))]


def _is_shadow(part: Mapping[str, Any], odd: list[str]) -> bool:
    if part["type"] == "missing":
        return bool(nearest(str(part["loc"][-1]), odd, 1))
    size = len(part["input"]) if isinstance(part["input"], (list, dict)) else 0
    return part["type"] == "too_short" and size >= int(part["ctx"]["min_length"])


def _issue(part: Mapping[str, Any], model: type[BaseModel], document: Document, base: Way, names: Names) -> Issue:
    kind: str = part["type"]
    loc: Way = part["loc"]
    last = loc[-1] if loc else ""
    if kind in ("missing", "extra_forbidden"):
        owner, way = follow(model, loc[:-1])
        label, known = names.of(owner), keys(owner)
        if kind == "missing":
            spot = _spot(document, (*base, *way))
            hint = example(owner, str(last))
            return document.issue(spot, "missing-key", f"{label} needs '{last}'", WHY["missing-key"], hint)
        spot = document.key_spot((*base, *way, last))
        what = f"'{short(str(last))}' is not a key of {label}"
        hint = did_you_mean(str(last), known) or _list(known)
        return document.issue(spot, "unknown-key", what, WHY["unknown-key"], hint)
    if loc and loc[-1] == "[key]":
        _, way = follow(model, loc[:-1])
        where, value = document.key_spot((*base, *way)), str(loc[-2])
        shape: Any = None
    else:
        shape, way = follow(model, loc)
        where, value = _spot(document, (*base, *way)), _value(document, (*base, *way))
    if kind in ("union_tag_not_found", "union_tag_invalid"):
        return _unknown_kind(shape, value, where, document, way, names)
    code, what, hint = _told(kind, part, value, shape)
    return document.issue(where, code, what, WHY[code], hint)


def _unknown_kind(shape: Any, value: Any, where: Spot, document: Document, way: Way, names: Names) -> Issue:
    known = tags(shape)
    field_name = next((str(step) for step in reversed(way) if isinstance(step, str)), "")
    label = names.items.get(field_name, f"an item of '{field_name}'")
    what = f"{label} must begin with one of: {', '.join(known)}"
    hint = ""
    if isinstance(value, dict):
        close = {key: found[0] for key in value if (found := nearest(key, known, 1))}
        hint = "; ".join(f"write '{found}' for '{short(key)}'" for key, found in close.items())
    return document.issue(where, "unknown-kind", what, WHY["unknown-kind"], hint)


_Words = tuple[str, str, str]  # code, what, hint


def _told(kind: str, part: Mapping[str, Any], value: Any, shape: Any) -> _Words:
    """Code, what and hint for one kind of pydantic error about a written value."""
    context: Mapping[str, Any] = part.get("ctx") or {}
    shown = f"'{short(value)}'" if isinstance(value, str) else _form(value)
    for pattern, told in _KINDS:
        if re.fullmatch(pattern, kind):
            return told(shown, value, context, shape)
    if kind in ("value_error", "assertion_error"):
        reason = context.get("error")
        return "does-not-fit", str(reason) if reason else part["msg"], ""
    return "wrong-type", f"{shown}: {part['msg'][:1].lower()}{part['msg'][1:]}", ""


def _choice(shown: str, value: Any, context: Mapping[str, Any], shape: Any) -> _Words:
    words = [str(word) for word in choices(shape)] or re.findall(r"'([^']*)'", str(context.get("expected", "")))
    return "bad-choice", f"{shown} is not one of the words for this", did_you_mean(str(value), words) or _list(words)


def _pattern(shown: str, value: Any, context: Mapping[str, Any], shape: Any) -> _Words:
    if str(context.get("pattern", "")).startswith("^[a-z][a-z0-9]*"):
        return "bad-id", f"{shown} is not written like an id", f"write {_as_id(str(value))}"
    return "wrong-type", f"{shown} is not written as it should be", f"the form is {context.get('pattern')}"


def _range(shown: str, value: Any, context: Mapping[str, Any], shape: Any) -> _Words:
    words = {"gt": "above", "ge": "at least", "lt": "below", "le": "at most"}
    bounds = [f"{words[key]} {bound:g}" for key, bound in context.items() if key in words]
    return "out-of-range", f"{shown} must be {' and '.join(bounds)}", ""


def _length(shown: str, value: Any, context: Mapping[str, Any], shape: Any) -> _Words:
    least, most = context.get("min_length"), context.get("max_length")
    if isinstance(value, str):
        if not most:
            return "out-of-range", "this text is empty", "write the text"
        return "out-of-range", f"this text has {len(value)} characters; at most {most} are read", "shorten it"
    size = len(value) if hasattr(value, "__len__") else 0
    wanted = f"at most {most}" if most else "one or more" if least == 1 else f"at least {least}"
    return "out-of-range", f"{wanted} must be given here, not {size}", ""


def _text(shown: str, value: Any, context: Mapping[str, Any], shape: Any) -> _Words:
    hint = "put a text that holds ': ' in quotes" if isinstance(value, dict) else ""
    return "wrong-type", f"a text is expected here, not {shown}", hint


def _wanted(what: str, hint: str = "") -> Callable[[str, Any, Mapping[str, Any], Any], _Words]:
    return lambda shown, value, context, shape: ("wrong-type", f"{what} is expected here, not {shown}", hint)


_KINDS: tuple[tuple[str, Callable[[str, Any, Mapping[str, Any], Any], _Words]], ...] = (
    (r"literal_error|enum", _choice),
    (r"string_pattern_mismatch", _pattern),
    (r"greater_than.*|less_than.*|multiple_of", _range),
    (r"finite_number", lambda shown, value, context, shape: ("out-of-range", f"{shown} is not a usable number", "")),
    (r"string_too_(short|long)|too_(short|long)", _length),
    (r"string_type|string_sub_type", _text),
    (r"(int|float|decimal)_.*", _wanted("a number")),
    (r"bool_.*", _wanted("yes or no")),
    (r"(tuple|list|set|frozen_set|iterable)_type", _wanted("a list", "begin each item with '- ', or write [one, two]")),
    (r"(dict|mapping|model|model_attributes|dataclass)_type", _wanted("a mapping", "write `key: value` lines")),
)


def _value(document: Document, way: Way) -> Any:
    value = document.data
    for step in way:
        try:
            value = value[step]
        except (KeyError, IndexError, TypeError):
            return value  # a short form: the nearest value that was written
    return value


def _spot(document: Document, way: Way) -> Spot:
    """Where a value is pointed at: a text where it begins, a mapping or list at its key."""
    return document.value_spot(way) if isinstance(_value(document, way), str) else document.key_spot(way)


def _form(value: Any) -> str:
    return "a mapping" if isinstance(value, dict) else "a list" if isinstance(value, list) else f"'{short(str(value))}'"


def _list(words: list[str]) -> str:
    return "one of: " + ", ".join(words) if words else ""


def _as_id(text: str) -> str:
    made = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:60].strip("-")
    return f"'{made}'" if re.match(r"[a-z]", made) else "small letters, digits and single hyphens, a letter first"
