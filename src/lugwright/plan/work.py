"""The procedure for a cause at its place, with this machine's numbers and the cautions before the steps."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from lugwright.belief.ground import Ground, Key
from lugwright.chaining.conclude import Conclusions, place_of
from lugwright.chaining.facts import Fact
from lugwright.diagnosis import RankedCause, Work, WorkStep
from lugwright.plan.alignment_steps import written
from lugwright.plan.confirm import TELLING, Proof

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


def work_for(
    ranked: RankedCause, rulebase: RuleBase, sheet: MachineSheet | None, proof: Proof, *, repairs_stop: bool = False
) -> Work | None:
    """The work for one ranked cause, or None where the rule base names no procedure for it.

    proof:        the test that would prove the cause and was not done yet.
    repairs_stop: whether this work puts right what stops the machine.
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
        confirm=proof.check,
        confirm_not_now=proof.not_now,
        repairs_stop=repairs_stop,
        before=tuple(fill(text, sheet) for text in procedure.before),
        cautions=tuple(fill(text, sheet) for text in procedure.cautions),
        tools=tuple(fill(text, sheet) for text in procedure.tools),
        steps=tuple(WorkStep(caution=fill(s.caution, sheet), do=fill(s.do, sheet)) for s in procedure.steps),
        prove=fill(procedure.prove, sheet),
        recheck=tuple(fill(text, sheet) for text in procedure.recheck),
    )


def repairs_stop(concluded: Conclusions, ground: Ground, row: int) -> bool:
    """Whether a cause is what stops the machine, so that its work puts the stop right.

    It is where every stop rests on a sign that the cause shows more often than not, and where the cause is a fault of a
    unit or an axle: how a machine is used is changed, and what that has done to it is not put right by that.
    row: of the cause in the network.
    """
    if ground.causes[row][1].scope == "machine":
        return False
    stops = [signs for action, signs in _behind_verdicts(concluded) if action == "stop"]
    return bool(stops) and all(any(_shown(sign, row, ground) for sign in signs) for signs in stops)


def _shown(sign: Key, row: int, ground: Ground) -> bool:
    at = ground.sign_index.get(sign)
    return at is not None and bool(ground.shows[row, :, at].max() >= TELLING)


def _behind_verdicts(concluded: Conclusions) -> list[tuple[str, set[Key]]]:
    """Every verdict with the signs it rests on: those its rule used, and those that were drawn from its readings."""
    drawn: dict[Fact, set[Key]] = {}
    for step in concluded.steps:
        found = {_key(one) for one in (*step.concluded, *step.confirmed) if _seen(one)}
        for used in step.used:
            if used.kind == "reading":
                drawn.setdefault(used, set()).update(found)
    rows = []
    for step in concluded.steps:
        signs = {_key(one) for one in step.used if _seen(one)}
        signs |= {sign for one in step.used for sign in drawn.get(one, ())}
        told = [one for one in (*step.concluded, *step.confirmed) if one.kind == "verdict"]
        rows += [(str(one.get("action")), signs) for one in told]
    return rows


def _seen(one: Fact) -> bool:
    return one.kind == "finding" and one.get("state") == "seen"


def _key(one: Fact) -> Key:
    return str(one.get("symptom")), place_of(one)
