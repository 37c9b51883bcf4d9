"""In which order the keys of an entry are written: the order a reader wants them in, the same in every file."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import UnionType
from typing import Any, Union, get_args, get_origin

from pydantic import BaseModel

from lugwright.rulebase.rules import ChainingRule
from lugwright.rulebase.schema import Cause, ContextFact, Symptom
from lugwright.shapes import bare, keys, tags

REST = "..."  # where the keys stand that a shape does not name

#: Shapes whose reading order is not the order of their declaration.
ORDER: dict[type[BaseModel], tuple[str, ...]] = {
    Symptom: (
        "name", "component", "where", "by", "sound", "sound_counts", "directed", "appears", "damage", "also_called",
        "drives", "layouts", "recognise", "confused_with", "look_alikes", "because", "basis",
        "practice_differs",
    ),
    Cause: (
        "name", "acts_on", "oriented", "points", "beforehand", "rarer_on", "grows", "layouts", "drives", "because",
        "basis", "practice_differs", "if_ignored", "remedy", "procedure", "shows", "never_shows", "look_alikes",
        "feeds",
    ),
    ContextFact: ("name", "question", "answers", "quantity", "derived", "because", "basis", "practice_differs"),
    ChainingRule: ("name", "when", "unless", "then", "because", "basis", "practice_differs", "note"),
}  # fmt: skip


def key_order(
    model: type[BaseModel], head: str = "", order: Mapping[type[BaseModel], tuple[str, ...]] = ORDER
) -> tuple[str, ...]:
    """The keys of a shape in reading order, as they are written.

    head: the key that comes first whatever the order says, such as the word that names a condition's kind.

    >>> from lugwright.rulebase.rules import Finding
    >>> key_order(Finding, "finding")
    ('finding', 'unit', 'axle', 'side', 'is', 'extent')
    """
    listed = order.get(model, ())
    found = [*listed, *(key for key in keys(model) if key not in listed)]
    return tuple(([head] if head in found else []) + [key for key in found if key != head])


def arranged(written: Iterable[str], order: Sequence[str]) -> list[str]:
    """The written keys in an order. Keys it does not name keep their own order, where it says `...` or at the end.

    >>> arranged(["note", "b", "a", "check"], ("check", "...", "note"))
    ['check', 'b', 'a', 'note']
    """
    keys_ = list(written)
    others = [key for key in keys_ if key not in order]
    places = order if REST in order else (*order, REST)
    return [key for place in places for key in (others if place == REST else [place] * (place in keys_))]


class Shapes:
    """Which shape stands at a key of another shape.

    order:  reading orders beside those of the rule base.
    inside: (model, key) -> model, for a value whose shape is not declared at the key itself.
    """

    def __init__(
        self,
        order: Mapping[type[BaseModel], tuple[str, ...]] | None = None,
        inside: Mapping[tuple[type[BaseModel], str], type[BaseModel]] | None = None,
    ) -> None:
        self._order = {**ORDER, **(order or {})}
        self._inside = inside or {}

    def order_of(self, shape: Any, written: Mapping[str, Any]) -> tuple[str, ...]:
        """The reading order for a mapping of this shape; empty where its keys are free and keep their order."""
        model, head = self.model(shape, written)
        return key_order(model, head, self._order) if model else ()

    def below(self, shape: Any, key: str | None, written: Mapping[str, Any]) -> Any:
        """The shape of the value at a key of a mapping, or of each element of a list (key None)."""
        model, _ = self.model(shape, written)
        if key is None:
            inner = get_args(bare(shape))
            return inner[0] if inner and get_origin(bare(shape)) in (tuple, list) else None
        if model is None:
            return get_args(bare(shape))[1] if get_origin(bare(shape)) is dict else None
        if (model, key) in self._inside:
            return self._inside[model, key]
        return next((f.annotation for name, f in model.model_fields.items() if key in (name, f.alias)), None)

    def model(self, shape: Any, written: Mapping[str, Any]) -> tuple[type[BaseModel] | None, str]:
        """The model of a mapping; of several kinds, the one whose head key is written, and that key."""
        shape = bare(shape)
        if isinstance(shape, type) and issubclass(shape, BaseModel):
            return shape, ""
        if get_origin(shape) in (Union, UnionType):
            known = dict(zip(tags(shape), get_args(shape), strict=True)) if tags(shape) else {}
            for key in written:
                if key in known:
                    return bare(known[key]), key
        return None, ""
