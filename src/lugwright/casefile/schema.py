"""The shape of a case file, declared once. Names and words are checked against the rule base in `load`.

Every value is text as it was written; `lugwright.quantities` reads the numbers, so that each keeps its unit.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, ConfigDict, Field, StringConstraints

from lugwright.places import Drive, Layout
from lugwright.rulebase.words import Frozen, Id

Word = Annotated[str, StringConstraints(min_length=1, max_length=80)]
Said = Annotated[str, StringConstraints(min_length=1, max_length=200)]
Note = Annotated[str, StringConstraints(max_length=2000)]
MANY = 1000  # entries in one list; a full four-track has about 600 places for signs


def _as_list(value: object) -> object:
    return [value] if isinstance(value, str) else value


Words = Annotated[tuple[Word, ...], BeforeValidator(_as_list), Field(min_length=1, max_length=20)]


class Machine(Frozen):
    """Which machine it is."""

    name: Said = Field(description="what the yard calls it")
    layout: Layout = Field(description="two-track or four-track; a trailed machine uses the one with as many belts")
    drive: Drive = Field(description="friction, positive, or none for a towed unit")
    hours: Said | None = Field(None, description="hour meter; a bare number will do, the key names the unit")
    sheet: Word | None = Field(None, description="id of a machine sheet of the rule base")


class _Sign(Frozen):
    symptom: Word = Field(description="id of a symptom, or one of the names it is also called")
    unit: Words | None = Field(None, description="a unit of this layout, or all")
    units: Words | None = Field(None, description="several units, or all; instead of unit")
    axle: Word | None = Field(None, description="for a sign noted per axle: front, rear; a two-track has only main")
    side: Word | None = Field(None, description="for a sign noted per side: inboard, outboard or both")
    note: Note = ""


class Seen(_Sign):
    """A sign that is there."""

    extent: Word | None = Field(None, description="how far it goes, a word of the scales: few, several, many")
    wheel: Word | None = Field(None, description="on which wheel, a detail: front-idler, mid-roller-2, drive-wheel")


class NotSeen(_Sign):
    """A sign that was looked or tested for and is not there."""


class LookedAt(Frozen):
    """A component that was looked over: its signs by look or touch are absent unless written under `seen`."""

    component: Word
    units: Words | None = Field(None, description="the units looked at, or all")
    unit: Words | None = Field(None, description="the one unit looked at; instead of units")
    note: Note = ""


class Measured(Frozen):
    """One reading of a check at one place. Further keys are the fields of that check, each with its unit."""

    model_config = ConfigDict(extra="allow", frozen=True, str_strip_whitespace=True)
    __pydantic_extra__: dict[str, Said] = Field(init=False)

    check: Word
    unit: Word | None = None
    axle: Word | None = None
    side: Word | None = None
    at: Said | None = Field(None, description="hour meter when it was read, if not the hours of the machine above")
    note: Note = ""


class Case(Frozen):
    """What is recorded about one machine at one visit."""

    case: Id = Field(description="a short name for this case, in small letters, digits and hyphens")
    machine: Machine = Field(description="its name, layout and drive; hours and sheet where they are known")
    context: dict[Word, Said] = Field(default_factory=dict, max_length=100, description="answers to the questions")
    seen: tuple[Seen, ...] = Field((), max_length=MANY)
    looked_at: tuple[LookedAt, ...] = Field((), max_length=MANY)
    not_seen: tuple[NotSeen, ...] = Field((), max_length=MANY)
    measured: tuple[Measured, ...] = Field((), max_length=MANY)
    note: Note = ""
    invented: bool = Field(False, description="true for an example that never happened")
    teaches: Note = Field("", description="for an example: what it is there to show")
