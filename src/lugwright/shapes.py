"""Looking into declared shapes: which model, key or word stands at a location pydantic names."""

from __future__ import annotations

from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, Tag

from lugwright.plain_build import Way


def follow(model: Any, loc: Way) -> tuple[Any, Way]:
    """The shape at a pydantic location and the way to it in the written data: union labels are no part of the way."""
    shape: Any = model
    way: list[str | int] = []
    for step in loc:
        shape = bare(shape)
        if isinstance(shape, type) and issubclass(shape, BaseModel):
            fields = [f for name, f in shape.model_fields.items() if step in (name, f.alias)]
            shape = fields[0].annotation if fields else None
        elif get_origin(shape) in (Union, UnionType):
            tagged = {tag: member for member in get_args(shape) for tag in _tag(member)}
            named = {getattr(member, "__name__", ""): member for member in get_args(shape)}
            shape = tagged.get(str(step), named.get(str(step)))
            continue
        elif get_origin(shape) is dict:
            shape = get_args(shape)[1]
        elif get_args(shape):
            shape = get_args(shape)[0]
        way.append(step)
    return bare(shape), tuple(way)


def bare(shape: Any) -> Any:
    """A shape without its annotations and without 'or nothing'."""
    while True:
        if get_origin(shape) is Annotated:
            shape = get_args(shape)[0]
        elif get_origin(shape) in (Union, UnionType):
            members = [member for member in get_args(shape) if member is not type(None)]
            if len(members) != 1:
                return shape
            shape = members[0]
        else:
            return shape


def _tag(member: Any) -> list[str]:
    if get_origin(member) is not Annotated:
        return []
    return [part.tag for part in get_args(member)[1:] if isinstance(part, Tag)]


def tags(shape: Any) -> list[str]:
    """The labels of a union whose members are told apart by their first key."""
    return [tag for member in get_args(bare(shape)) for tag in _tag(member)]


def keys(shape: Any) -> list[str]:
    """The keys of a model as they are written."""
    if isinstance(shape, type) and issubclass(shape, BaseModel):
        return [f.alias or name for name, f in shape.model_fields.items()]
    return []


def choices(shape: Any) -> tuple[Any, ...]:
    """The words of a literal, or nothing."""
    return get_args(shape) if get_origin(shape) is Literal else ()


def example(shape: Any, key: str) -> str:
    """What to add where a key of a model is missing, with its meaning."""
    for name, f in getattr(shape, "model_fields", {}).items():
        if key in (name, f.alias):
            words = choices(bare(f.annotation))
            meaning = f.description or (f"one of {', '.join(map(str, words))}" if words else "")
            return f"add `{key}:`" + (f" ({meaning})" if meaning else "")
    return f"add `{key}:`"
