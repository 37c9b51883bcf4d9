"""The shape of a case beside the rules, declared once. Each file under `cases/` maps an id to such an entry.

A cause is named by its id, or with its place: `toe-in-error@front-axle`, `frame-alignment-error@front-right/inboard`.
A place that says less, such as `frame-alignment-error@front-right`, fits every place it covers.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, StringConstraints, model_validator

from lugwright.rulebase.words import Action, Frozen, Id, Text

Kind = Literal["typical", "mild", "look-alike", "fires", "silent", "sound"]
CausePlace = Annotated[str, StringConstraints(min_length=1, max_length=120)]
Share = Annotated[str, StringConstraints(min_length=1, max_length=20)]


def _as_list(value: object) -> object:
    return [value] if isinstance(value, str) else value


Ids = Annotated[tuple[Id, ...], BeforeValidator(_as_list)]
CausePlaces = Annotated[tuple[CausePlace, ...], BeforeValidator(_as_list)]


class AmongFirst(Frozen):
    """All of these causes stand among the first so many."""

    n: int = Field(ge=1, le=12, description="how many of the ranked causes count")
    causes: CausePlaces = Field(min_length=1)


class Between(Frozen):
    """A share between two bounds, each with its % sign."""

    at_least: Share | None = None
    at_most: Share | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Between:
        if self.at_least is None and self.at_most is None:
            raise ValueError("give at_least, at_most, or both")
        return self


class Expect(Frozen):
    """What must come out. Every line is checked by itself."""

    first: CausePlace | None = Field(None, description="the cause that must stand first")
    among_first: AmongFirst | None = None
    not_first: CausePlaces = Field((), description="causes that must not stand first")
    at_least: dict[CausePlace, Share] = Field(default_factory=dict, description="cause -> least probability")
    at_most: dict[CausePlace, Share] = Field(default_factory=dict, description="cause -> largest probability")
    no_fault: Between | None = Field(None, description="the probability that every cause is absent")
    verdict: Action | None = None
    fires: Ids = Field((), description="chaining rules that must fire")
    silent: Ids = Field((), description="chaining rules that must not fire")
    undecided: bool | None = Field(None, description="whether the leaders cannot be told apart yet")
    next_check: Id | None = Field(None, description="the check that must be named first")
    excluded: CausePlaces = Field((), description="causes that a rule must rule out")

    @model_validator(mode="after")
    def _says_something(self) -> Expect:
        if not self.model_fields_set:
            raise ValueError("a case that expects nothing can never fail")
        return self


class RuleCase(Frozen):
    """One case beside the rules: a machine as an inspector would note it, and what must come out."""

    sentence: Text = Field(description="what must come out and why, in plain words")
    for_: Ids = Field((), alias="for", description="ids of the causes or chaining rules this case is about")
    kind: Kind = Field(description="typical, mild, look-alike, fires, silent or sound")
    case: dict[str, Any] = Field(description="a case file without its `case:` line; the machine needs no name")
    expect: Expect
