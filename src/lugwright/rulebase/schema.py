"""Every kind of entry a rule base holds, declared once. Field descriptions feed `docs/` and editor help.

Each file under `rules/` maps an id to an entry, so one file may hold one entry or a family of them. The folder
decides the kind: `symptoms/`, `causes/`, `context/`, `chaining/`, `checks/`, `procedures/`, `machines/`.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from lugwright.places import Axle, Drive, Hand, Layout, Side
from lugwright.rulebase.words import (
    Appears,
    Basis,
    Beforehand,
    Component,
    Confidence,
    Frozen,
    HowOften,
    Id,
    ObservedBy,
    SoundRate,
    Text,
    Where,
)  # fmt: skip

#: `kind/id`, as in causes/toe-in-error. What is wrong with one is told in the trainer's words where layers are merged.
EntryKey = Annotated[
    str,
    Field(
        max_length=100,
        json_schema_extra={
            "pattern": r"^(symptoms|causes|context|chaining|checks|procedures|machines)/[a-z][a-z0-9]*(-[a-z0-9]+)*$"
        },
    ),
]


#: How a reading is worked out; `lugwright.readings` holds one function for each.
Computation = Literal[
    "side-clearance", "turn-repeat", "toe", "side-temperature", "gap", "hub-heat", "tension", "leak-down", "lug-size",
    "tread-profile", "weighing", "slip", "side-slope", "road-run", "belt-grip", "ground-pressure", "sag-tension",
    "plain",
]  # fmt: skip


class Entry(Frozen):
    """What every entry carries: a name in plain words, why it is so, and on what that rests."""

    name: Text = Field(description="plain words, as said in the yard")
    because: Text = Field(description="the mechanism in a sentence or two")
    basis: Basis = Field(description="published (with source), common practice, or judgement")
    practice_differs: str = Field(
        "", max_length=800,
        description="where practitioners disagree about it: the views that are in use, and which one is taken here",
    )  # fmt: skip


class Symptom(Entry):
    """Something that can be seen, felt, measured, noticed on a drive, or asked."""

    component: Component
    where: Where = Field(description="the finest place it is noted at: side, unit, axle or machine")
    by: ObservedBy = Field(description="how it is observed; only look and touch can be swept by `looked_at`")
    sound: SoundRate = Field(description="how often it is seen on a sound, run-in undercarriage")
    sound_counts: Literal["unit", "side"] = Field(
        "unit", description="for a per-side symptom: `sound` counts the unit (either side) or each side"
    )
    directed: bool = Field(False, description="a difference between the two sides: at most one side can show it")
    appears: Appears = Field(
        "soon",
        description="when in the life of a growing fault it shows: before-wear (needs no wear), at-once, soon or late",
    )
    damage: bool = Field(False, description="lasting damage, as against a passing state")
    recognise: Text = Field(description="how to know it when you see it")
    confused_with: str = Field("", max_length=600, description="what it is taken for, in words")
    look_alikes: tuple[Id, ...] = Field((), description="symptoms it is confused with")
    also_called: tuple[Id, ...] = Field((), description="other ids a case file may use for it")
    drives: tuple[Drive, ...] = Field(("friction", "positive", "none"), min_length=1)
    layouts: tuple[Layout, ...] = Field(("two-track", "four-track"), min_length=1)

    @model_validator(mode="after")
    def _directed_has_sides(self) -> Symptom:
        if self.directed and self.where != "side":
            raise ValueError("only a per-side symptom can be directed")
        return self


class Shows(Frozen):
    """One sign of a cause: which symptom, how often, and where relative to the cause."""

    symptom: Id
    how_often: HowOften = Field(
        description="when this cause is there and well established, how often is this sign seen?"
    )
    side: Literal["same", "opposite", "both", "either", "inboard", "outboard"] | None = Field(
        None, description="for a per-side symptom: relative to the cause's own side or hand, or a fixed side"
    )
    units: Literal["own", "partner", "all", "front", "rear", "same-hand", "opposite-hand"] | None = Field(
        None, description="which units show it; a unit cause shows on its own, an axle on both, the machine on all"
    )
    layout: Layout | None = Field(None, description="only on this layout")
    drive: Drive | None = Field(None, description="only with this drive")
    appears: Appears | None = Field(
        None, description="when this sign comes under this cause, if unlike the symptom's own"
    )
    given: dict[Id, Id] = Field(default_factory=dict, description="only while these context answers hold")
    unless: dict[Id, Id] = Field(default_factory=dict, description="not while these context answers hold")
    confidence: Confidence | None = Field(None, description="trust in this word, if unlike the cause's own")
    because: str = Field("", max_length=600)


class LookAlike(Frozen):
    """A cause this one is mistaken for, and the check that splits the two."""

    cause: Id
    split_by: Id = Field(description="the check that tells them apart")
    how: Text = Field(description="what the check shows for one and for the other")


class Cause(Entry):
    """Why a belt or a wheel wears: where it acts, which way it points, what it shows."""

    acts_on: Literal["unit", "axle", "machine"]
    oriented: Literal["side", "hand", "none"] = "none"
    points: str = Field("", max_length=200, description="what the side or hand of an oriented cause means")
    beforehand: Beforehand = Field(description="how likely before anything is looked at")
    harmless: bool = Field(False, description="normal on a sound machine: it explains signs and counts as no fault")
    grows: bool = Field(True, description="begins mild and grows; false for a fault that is simply there")
    rarer_on: dict[Layout, Beforehand] = Field(default_factory=dict, description="another word on one layout")
    layouts: tuple[Layout, ...] = Field(("two-track", "four-track"), min_length=1)
    drives: tuple[Drive, ...] = Field(("friction", "positive", "none"), min_length=1)
    if_ignored: Text
    remedy: Text
    procedure: Id | None = None
    shows: tuple[Shows, ...] = Field(min_length=1)
    never_shows: tuple[Shows, ...] = Field((), description="signs that speak against it when seen; how_often: never")
    look_alikes: tuple[LookAlike, ...] = ()
    feeds: tuple[Id, ...] = Field((), description="causes this one brings about if it is left")

    @model_validator(mode="after")
    def _orientation_fits_scope(self) -> Cause:
        if self.oriented == "side" and self.acts_on != "unit":
            raise ValueError("only a cause that acts on a unit can be oriented by side; use hand for the whole machine")
        if self.oriented == "hand" and self.acts_on != "machine":
            raise ValueError("only a cause that acts on the machine can be oriented by hand; use side for a unit")
        return self


class ContextFact(Entry):
    """Something to ask about the machine's life. Either a choice of answers or a quantity."""

    question: Text
    answers: dict[Id, Text] = Field(default_factory=dict, description="answer id -> what it means")
    quantity: (
        Literal["share", "length", "mass", "speed", "hours", "distance", "angle", "temperature", "years"] | None
    ) = None
    derived: bool = Field(False, description="concluded by rules, not asked")

    @model_validator(mode="after")
    def _choice_or_quantity(self) -> ContextFact:
        if bool(self.answers) == bool(self.quantity):
            raise ValueError("give either answers or a quantity, not both and not neither")
        return self


class ReadingField(Frozen):
    """One number of a reading."""

    quantity: Literal[
        "length",
        "temperature",
        "temperature-difference",
        "pressure",
        "angle",
        "torque",
        "hours",
        "share",
        "mass",
        "speed",
        "distance",
        "count",
        "word",
    ]
    needed: bool = True
    answers: tuple[Id, ...] = Field((), description="for a word: what may be written")
    means: Text


class Check(Entry):
    """A test a person can do."""

    where: Where
    needs: tuple[Text, ...] = ()
    minutes: float = Field(gt=0, le=1440)
    set_up: Id | None = Field(None, description="checks with the same set-up share its minutes")
    set_up_minutes: float = Field(0, ge=0, le=480)
    risk: Literal["low", "medium", "high"]
    moves: bool = Field(False, description="whether the machine drives, rolls, or brings its belt round for it")
    order: int = Field(50, ge=1, le=99, description="place in the usual order of work, cheap and safe first")
    preconditions: tuple[Text, ...] = ()
    needs_first: tuple[Id, ...] = Field((), description="checks to be done before this one is worth anything")
    not_while: tuple[Id, ...] = Field((), description="signs to be put right first where they are seen")
    decides: tuple[Id, ...] = Field(description="symptoms whose state this check settles")
    misses: HowOften = Field("rarely", description="how often it fails to show what is there")
    false_alarm: HowOften = Field("rarely", description="how often it shows what is not there")
    cautions: tuple[Text, ...] = Field((), description="stand before the steps")
    steps: tuple[Text, ...] = Field(min_length=1)
    computation: Computation | None = Field(None, description="how a reading of this check is worked out")
    reading: dict[Id, ReadingField] = Field(default_factory=dict)


class ProcedureStep(Frozen):
    """One thing to do. Numbers are written as {name} and come from the machine sheet."""

    caution: str = Field("", max_length=600, description="stands before the step")
    do: Text


class Procedure(Entry):
    """Work steps for a remedy."""

    tools: tuple[Text, ...] = ()
    minutes: float | None = Field(None, gt=0)
    before: tuple[Text, ...] = Field((), description="what must hold before the work begins")
    not_while: tuple[Id, ...] = Field((), description="signs to be put right first where they are seen")
    cautions: tuple[Text, ...] = ()
    steps: tuple[ProcedureStep, ...] = Field(min_length=1)
    prove: Text = Field(description="the check that shows the work has helped")
    recheck: tuple[Text, ...] = ()


class SheetNumber(Frozen):
    """A number of one machine, with its unit."""

    value: Text = Field(description="a quantity with its unit, e.g. 6 mm, 130 N·m, 1/2 turn")
    bolt: Text | None = Field(None, description="for a torque: the bolt it tightens, size and class, e.g. M24-10.9")
    means: Text


class MachineSheet(Entry):
    """The numbers and the screw sense of one machine. Shipped sheets are invented and say so."""

    layout: Layout
    drive: Drive
    invented: bool = Field(description="true for a demo machine that does not exist")
    screw_sense: Literal["inboard-screw-first", "outboard-screw-first", "unknown"] = Field(
        "unknown", description="which opposed screw is loosened first to move the belt outboard"
    )
    numbers: dict[Id, SheetNumber] = Field(default_factory=dict)


class About(Frozen):
    """Which rule base this is."""

    title: Text
    version: str = Field(pattern=r"^\d+\.\d+\.\d+$")
    note: str = ""


class Overlay(Frozen):
    """What an overlay is and what it does to the layers below it: shape of `overlay.yaml`."""

    title: str = Field(min_length=1, max_length=60, description="what the workshop calls it; every page names it")
    version: str | None = Field(None, pattern=r"^\d+\.\d+\.\d+$")
    over: str = Field(
        min_length=1, max_length=200,
        description="what it was written for: shipped, or the title of a layer that must lie below it",
    )  # fmt: skip
    note: str = ""
    replaces: tuple[EntryKey, ...] = Field((), description="entries below that an entry of this overlay stands in for")
    retires: tuple[EntryKey, ...] = Field((), description="entries below that no longer count")


__all__ = ["About", "Axle", "Cause", "Check", "ContextFact", "Entry", "Hand", "LookAlike", "MachineSheet", "Overlay",
           "Procedure", "ProcedureStep", "ReadingField", "SheetNumber", "Shows", "Side", "Symptom"]  # fmt: skip
