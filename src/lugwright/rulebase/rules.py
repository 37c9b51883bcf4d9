"""When-then rules as a trainer writes them. A condition or conclusion names its kind by its first key."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag

from lugwright.rulebase.schema import Entry
from lugwright.rulebase.words import Action, Frozen, Id, Shift, Text

Place = Annotated[str, Field(max_length=40, description="a place word, or $name to bind it")]
Number = Annotated[
    str,
    Field(
        max_length=40,
        description="a quantity with its unit, or sheet:name with a default: 'sheet:shim-thickness else 6 mm'",
    ),
]


class Compare(Frozen):
    """A test on a number. Several tests must all hold."""

    above: Number | None = None
    below: Number | None = None
    at_least: Number | None = None
    at_most: Number | None = None
    is_: str | None = Field(None, alias="is", description="a word, for a field that holds a word")


class _Placed(Frozen):
    """The places a condition or conclusion may name."""

    unit: Place | None = None
    axle: Place | None = None
    side: Place | None = None


class Seen(_Placed):
    """A symptom that is seen."""

    seen: Id
    extent: Id | None = None


class Absent(_Placed):
    """A symptom that was looked for and is not there."""

    absent: Id


class ContextIs(Frozen):
    """An answer about the machine or its work, or a number compared with a limit."""

    context: Id
    is_: str | None = Field(None, alias="is")
    above: Number | None = None
    below: Number | None = None
    at_least: Number | None = None
    at_most: Number | None = None


class ReadingIs(Frozen):
    """A reading of a check whose fields pass tests.

    A void reading fits only a rule that concludes nothing but a limit of use or a stop.
    """

    reading: Id
    unit: Place | None = None
    axle: Place | None = None
    with_: dict[Id, Compare] = Field(default_factory=dict, alias="with")


class MachineIs(Frozen):
    """What kind of machine it is."""

    machine: Literal["layout", "drive", "hours"]
    is_: str | None = Field(None, alias="is")
    above: Number | None = None
    below: Number | None = None


class Void(Frozen):
    """Readings of a check that mean nothing at a unit."""

    void: Id
    unit: Place | None = None


class Relation(Frozen):
    """`partner` (unit, other), `hand` (unit, side, hand), `opposite-side` (side, other), `axle` (unit, axle)."""

    relation: Literal["partner", "hand", "opposite-side", "axle"]
    unit: Place | None = None
    other: Place | None = None
    side: Place | None = None
    hand: Place | None = None
    axle: Place | None = None


class Finding(_Placed):
    """Concludes that a symptom is seen or absent."""

    finding: Id
    is_: Literal["seen", "absent"] = Field("seen", alias="is")
    extent: Id | None = None


class CauseShift(Frozen):
    """Makes a cause more or less likely."""

    cause: Id
    becomes: Shift
    unit: Place | None = None
    axle: Place | None = None
    side: Place | None = None
    hand: Place | None = None


class Excludes(Frozen):
    """Rules a cause out."""

    excludes: Id
    unit: Place | None = None
    axle: Place | None = None
    side: Place | None = None
    hand: Place | None = None


class Voids(Frozen):
    """Makes the readings of a check at a unit void."""

    voids: Id
    unit: Place


class ContextBecomes(Frozen):
    """Concludes an answer about the machine or its work."""

    context: Id
    is_: str = Field(alias="is")


class Verdict(_Placed):
    """Says whether the machine may keep running."""

    verdict: Action
    limit: str = Field("", max_length=300, description="what may no longer be done, for limit-use")
    number: str = Field(
        "", max_length=300, description="the figure behind it, the range in use, or the operator's manual"
    )
    work: Id | None = Field(None, description="the procedure that comes there before any check and any other work")


def _by_first_key(kinds: dict[str, type[Frozen]]) -> Callable[[Any], str | None]:
    def pick(value: Any) -> str | None:
        if isinstance(value, dict):
            return next((key for key in value if key in kinds), None)
        return next((key for key, kind in kinds.items() if isinstance(value, kind)), None)

    return pick


CONDITIONS: dict[str, type[Frozen]] = {
    "seen": Seen, "absent": Absent, "context": ContextIs, "reading": ReadingIs, "machine": MachineIs, "void": Void,
    "relation": Relation,
}  # fmt: skip
CONCLUSIONS: dict[str, type[Frozen]] = {
    "finding": Finding, "cause": CauseShift, "excludes": Excludes, "voids": Voids, "context": ContextBecomes,
    "verdict": Verdict,
}  # fmt: skip

Condition = Annotated[
    Annotated[Seen, Tag("seen")] | Annotated[Absent, Tag("absent")] | Annotated[ContextIs, Tag("context")]
    | Annotated[ReadingIs, Tag("reading")] | Annotated[MachineIs, Tag("machine")] | Annotated[Void, Tag("void")]
    | Annotated[Relation, Tag("relation")],
    Discriminator(_by_first_key(CONDITIONS)),
]  # fmt: skip
Conclusion = Annotated[
    Annotated[Finding, Tag("finding")] | Annotated[CauseShift, Tag("cause")] | Annotated[Excludes, Tag("excludes")]
    | Annotated[Voids, Tag("voids")] | Annotated[ContextBecomes, Tag("context")] | Annotated[Verdict, Tag("verdict")],
    Discriminator(_by_first_key(CONCLUSIONS)),
]  # fmt: skip


class ChainingRule(Entry):
    """When all of `when` hold and none of `unless`, then conclude. `$unit` and the like bind a place."""

    when: tuple[Condition, ...] = Field(min_length=1)
    unless: tuple[Condition, ...] = ()
    then: tuple[Conclusion, ...] = Field(min_length=1)
    note: Text | None = None

    @property
    def unspoiled(self) -> tuple[tuple[int, ReadingIs], ...]:
        """Its conditions, by place in `when`, that a void reading does not meet: every reading at a unit.

        Empty where it concludes nothing but limits of use and stops, which a spoiled reading does not lift.
        """
        if all(isinstance(one, Verdict) and one.verdict != "keep-running" for one in self.then):
            return ()
        return tuple((n, one) for n, one in enumerate(self.when) if isinstance(one, ReadingIs) and one.unit is not None)
