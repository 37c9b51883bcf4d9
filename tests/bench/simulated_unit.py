"""An invented unit that answers the adjustment loop as a machine would: a screw sense, a response, some scatter."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction

from lugwright.plan.alignment import Ask, Finish, Setup, stand

SETUP = Setup(
    unit="left", shim=6.0, run=45_000.0, first_step=0.5, largest_step=1.0, sense="unknown",
    adjuster_torque="300 N·m", lock_torque="200 N·m", recheck="after 1 h and after 100 h of work",
)  # fmt: skip


@dataclass
class Unit:
    """offset in mm (positive: too far inboard), total room in mm, response in mm per turn, which screw comes first.

    scatter: readings are out by these amounts in turn. said: what was asked and answered.
    """

    offset: float
    total: float = 18.0
    response: float = 8.0
    sense: str = "inboard-screw-first"
    scatter: tuple[float, ...] = (0.0,)
    mark: str = "unknown"
    travel: str = "unknown"
    said: list[tuple[Ask, str]] = field(default_factory=list)
    loosened: str = ""
    moved: list[float] = field(default_factory=list)
    read: int = 0

    def answer(self, ask: Ask) -> str:
        """What a careful person at this unit would write."""
        if ask.id == "loosen":
            self.loosened = "inboard" if "loosen the inboard" in ask.text else "outboard"
            return "done"
        if ask.id == "tighten":
            turns = float(sum(Fraction(part) for part in re.search(r"the same ([\d/ ]+) turn", ask.text)[1].split()))
            outboard = (self.loosened == "inboard") == (self.sense == "inboard-screw-first")
            self.offset -= self.response * turns * (1 if outboard else -1)
            self.moved.append(turns)
            return "done"
        if ask.id == "gaps":
            out = self.scatter[self.read % len(self.scatter)]
            self.read += 1
            here = min(max(self.offset + out, -self.total / 2), self.total / 2)
            return f"{self.total / 2 - here:.2f} mm, {self.total / 2 + here:.2f} mm"
        return {"run": "50 m", "rear": "skip", "drive": "6 min", "sense": self.mark, "travel": self.travel}.get(
            ask.id, "yes"
        )


def drive(unit: Unit, setup: Setup = SETUP) -> Finish:
    """Run the loop to its end."""
    answers: list[tuple[str, str]] = []
    while isinstance(here := stand(setup, answers), Ask):
        text = unit.answer(here)
        unit.said.append((here, text))
        answers.append((here.id, text))
        assert len(answers) < 200
    return here
