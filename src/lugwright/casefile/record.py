"""A case as the reasoning reads it: names resolved, places spelt out, numbers in base units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from lugwright.issues import Spot
from lugwright.places import Place

if TYPE_CHECKING:
    from lugwright.rulebase.schema import MachineSheet

State = Literal["seen", "absent"]
Source = Literal["seen", "not_seen", "looked_at"]


@dataclass(frozen=True)
class Finding:
    """One sign at one place: there, or looked for and absent. What is not listed was not looked at.

    source: the part of the case file it comes from; spot: where it is written; wheels: on which wheels, if noted.
    """

    symptom: str
    place: Place
    state: State
    source: Source
    spot: Spot
    extent: str = ""
    wheels: tuple[str, ...] = ()
    note: str = ""

    @property
    def key(self) -> str:
        """Symptom and place, e.g. `hub-hot@front-right`."""
        return f"{self.symptom}@{self.place.key}"


@dataclass(frozen=True)
class Reading:
    """One reading of a check at one place.

    fields: name -> value in the base unit of its quantity (`lugwright.units.KINDS`), or a word.
    texts:  name -> as it was written. at: hour meter in h, if noted. line: the author's own line, for messages.
    """

    check: str
    place: Place
    fields: Mapping[str, float | str]
    texts: Mapping[str, str]
    spot: Spot
    at: float | None = None
    note: str = ""
    line: str = field(default="", compare=False, repr=False)

    @property
    def key(self) -> str:
        """Check and place, e.g. `toe@front-axle`."""
        return f"{self.check}@{self.place.key}"


@dataclass(frozen=True)
class CaseRecord:
    """A whole case, checked against a rule base.

    hours:     hour meter in h, or None.
    context:   context id -> answer id, or a number in base units where the question asks for a quantity.
    findings:  what was seen and what was looked for, each symptom at each place at most once.
    looked_at: (component, units) as swept. sheet: the machine sheet named, or None.
    """

    case: str
    machine_name: str
    layout: str
    drive: str
    file: str
    hours: float | None = None
    sheet_id: str = ""
    sheet: MachineSheet | None = None
    context: Mapping[str, str | float] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    readings: tuple[Reading, ...] = ()
    looked_at: tuple[tuple[str, tuple[str, ...]], ...] = ()
    note: str = ""
    invented: bool = False
    teaches: str = ""
