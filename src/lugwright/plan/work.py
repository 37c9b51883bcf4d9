"""The procedure for a cause at its place, with this machine's numbers and the cautions before the steps."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from lugwright.diagnosis import RankedCause, Work, WorkStep
from lugwright.plan.alignment_steps import written

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import MachineSheet

PLACEHOLDER = re.compile(r"\{([a-z0-9-]+)\}")

#: What is printed for a number the machine sheet does not give.
UNKNOWN_NUMBER = "[see the operator's manual]"


def fill(text: str, sheet: MachineSheet | None) -> str:
    """A text with {number-name} replaced by the sheet's number; what the sheet lacks is never invented.

    A step of an alignment screw is never more than may be turned at once, whatever the sheet says.

    >>> fill("Torque to {adjuster-torque}.", None)
    "Torque to [see the operator's manual]."
    """
    return PLACEHOLDER.sub(lambda m: written(sheet, m[1]) or UNKNOWN_NUMBER, text)


def work_for(ranked: RankedCause, rulebase: RuleBase, sheet: MachineSheet | None, confirm: str) -> Work | None:
    """The work for one ranked cause, or None where the rule base names no procedure for it.

    confirm: the measurement that would prove the cause and was not taken yet, in words; or nothing.
    """
    cause = rulebase.causes[ranked.cause]
    if cause.procedure is None:
        return None
    procedure = rulebase.procedures[cause.procedure]
    return Work(
        procedure=cause.procedure,
        name=procedure.name,
        cause=ranked.key,
        place_words=ranked.place_words,
        confirm=confirm,
        before=tuple(fill(text, sheet) for text in procedure.before),
        cautions=tuple(fill(text, sheet) for text in procedure.cautions),
        tools=tuple(fill(text, sheet) for text in procedure.tools),
        steps=tuple(WorkStep(caution=fill(s.caution, sheet), do=fill(s.do, sheet)) for s in procedure.steps),
        prove=fill(procedure.prove, sheet),
        recheck=tuple(fill(text, sheet) for text in procedure.recheck),
    )
