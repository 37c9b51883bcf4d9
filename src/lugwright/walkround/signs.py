"""The signs a walk round can show, and how to know them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lugwright.belief.placing import applies
from lugwright.places import SIDES, Place
from lugwright.walkround.draft import Draft

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase


@dataclass(frozen=True)
class Signs:
    """The signs of one rule base, by the part of the machine where they show."""

    rulebase: RuleBase

    def of(self, part: str, draft: Draft) -> tuple[str, ...]:
        """The signs of a part that one can see or touch on this machine, unit by unit."""
        return tuple(
            name
            for name, one in self.rulebase.symptoms.items()
            if one.component == part
            and one.by in ("look", "touch")
            and one.where in ("unit", "side")
            and applies(one, draft.layout, draft.drive)
        )

    def ordinary(self, part: str, draft: Draft) -> tuple[str, ...]:
        """The signs of a part that a sound machine often shows."""
        return tuple(one for one in self.of(part, draft) if self.rulebase.symptoms[one].sound in ("usually", "often"))

    def recognise(self, symptom: str) -> tuple[str, ...]:
        """How to know a sign, and what it is taken for."""
        one = self.rulebase.symptoms[symptom]
        confused = (f"Confused with: {one.confused_with}",) if one.confused_with else ()
        alike = [self.rulebase.symptoms[other].name for other in one.look_alikes if other in self.rulebase.symptoms]
        looks = (f"Looks like: {'; '.join(alike)}",) if alike else ()
        return (f"{one.name}. {one.recognise}", *confused, *looks)

    def places(self, symptom: str, unit: str) -> tuple[Place, ...]:
        """Where a sign can show on one unit: on each side, or on the unit as a whole."""
        if self.rulebase.symptoms[symptom].where == "side":
            return tuple(Place(unit=unit, side=side) for side in SIDES)
        return (Place(unit=unit),)
