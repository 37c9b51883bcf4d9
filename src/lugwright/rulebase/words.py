"""The words a rule may use. Their numbers stand in `rules/scales.yaml`, where a trainer can see and change them."""

from __future__ import annotations

from typing import Annotated, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator


class Frozen(BaseModel):
    """A closed, frozen shape: an unknown key is a fault, never a comment."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True, allow_inf_nan=False)


Id = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9]*(-[a-z0-9]+)*$", max_length=60)]
Text = Annotated[str, StringConstraints(min_length=1, max_length=2000)]

HowOften = Literal["almost-always", "usually", "often", "sometimes", "rarely", "never"]
SoundRate = Literal["usually", "often", "sometimes", "rarely", "never", "only-if-misread"]
Beforehand = Literal["common", "occasional", "uncommon", "rare"]
Shift = Literal[
    "nearly-ruled-out",
    "much-less-likely",
    "less-likely",
    "slightly-likelier",
    "likelier",
    "much-likelier",
    "far-likelier",
]
#: The shifts that make a cause less likely; the others make it likelier.
LESS_LIKELY: tuple[Shift, ...] = ("nearly-ruled-out", "much-less-likely", "less-likely")
ObservedBy = Literal["look", "touch", "measure", "drive", "ask"]
Appears = Literal["before-wear", "at-once", "soon", "late"]
Where = Literal["side", "unit", "axle", "machine"]
Action = Literal["stop", "limit-use", "keep-running"]
#: The verdicts, the most severe first.
SEVERITY: tuple[Action, ...] = get_args(Action)
Confidence = Literal["low", "medium", "high"]
Component = Literal[
    "lugs", "idlers", "drive-wheel", "mid-rollers", "hubs", "scrapers", "carcass", "tread", "tensioner", "frame",
    "fasteners", "behaviour",
]  # fmt: skip


class Basis(Frozen):
    """On what an entry rests. `published` needs a source; the other two are said as such."""

    kind: Literal["published", "common practice", "judgement"]
    source: str = Field("", max_length=400, description="citation; needed when kind is published")
    confidence: Confidence = Field("low", description="trust in the numbers of this entry; not a second strength")

    @model_validator(mode="before")
    @classmethod
    def _from_word(cls, value: object) -> object:
        return {"kind": value} if isinstance(value, str) else value

    @model_validator(mode="after")
    def _cited(self) -> Basis:
        if self.kind == "published" and not self.source:
            raise ValueError("a published basis needs a source: say where it can be read")
        return self

    @property
    def words(self) -> str:
        """The kind, its source where there is one, and how far the numbers are trusted.

        >>> Basis(kind="published", source="a handbook, chapter 3", confidence="high").words
        'published: a handbook, chapter 3 (confidence high)'
        """
        return self._said(f"confidence {self.confidence}")

    @property
    def short(self) -> str:
        """The same for a table that says what the brackets mean.

        >>> Basis(kind="judgement").short
        'judgement (low)'
        """
        return self._said(self.confidence)

    def _said(self, trust: str) -> str:
        source = f": {self.source}" if self.source else ""
        return f"{self.kind}{source} ({trust})"
