"""The walk-round as a pure state machine: a state gives a question, an answer gives the next state.

First the machine, its work and what was done to it; then one walk round it, each part of each unit once; then the
checks that still matter. Nothing is read or written here, and nothing is asked twice.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from lugwright.places import SIDES, UNITS, Place, place_from_key
from lugwright.plan.candidates import done_at
from lugwright.walkround import parts
from lugwright.walkround.adviser import Adviser
from lugwright.walkround.answering import Answering
from lugwright.walkround.asking import Asking
from lugwright.walkround.draft import Draft
from lugwright.walkround.question import NotUnderstood, Question, Stop
from lugwright.walkround.signs import Signs

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

#: The way round the machine, so that every unit is passed once.
ROUND = {
    "two-track": ("left", "right"),
    "four-track": ("front-left", "rear-left", "rear-right", "front-right"),
}
#: Questions of the work that come first: why one is here, and what was done just before.
FIRST = ("visit", "recent", "fasteners", "tension-changed", "came-off")

COMMANDS = (
    ("?", "how to recognise it and what it is confused with; `? 2` for the second of a list"),
    ("back", "take back the last answer"),
    ("change lugs front-left", "answer one part, question or check again"),
    ("list", "what is written down so far"),
    ("done", "leave out the rest of this section"),
    ("quit", "stop here; everything is saved, and the same command goes on from here"),
)


@dataclass(frozen=True)
class State:
    """Where the walk-round stands. before: the state before the last answer, for `back`."""

    draft: Draft
    before: State | None = field(default=None, repr=False, compare=False)

    def then(self, draft: Draft) -> State:
        """The state after an answer."""
        return State(draft, self)


@dataclass(frozen=True)
class Script:
    """Asks and takes answers for one rule base."""

    rulebase: RuleBase
    adviser: Adviser

    @cached_property
    def signs(self) -> Signs:
        """The signs one can see or touch."""
        return Signs(self.rulebase)

    @cached_property
    def asking(self) -> Asking:
        """Who puts the questions."""
        return Asking(self.rulebase, self.adviser, self.signs)

    @cached_property
    def answering(self) -> Answering:
        """Who takes the answers."""
        return Answering(self.rulebase, self.adviser, self.signs)

    def taken_up(self, draft: Draft) -> Draft:
        """A draft that is gone on with: checks that could not be done the last time are asked for again."""
        return replace(draft, asked=tuple(one for one in draft.asked if not _put_off(one)))

    def question(self, state: State) -> Question | Stop:
        """What is to be asked now."""
        draft = state.draft
        if draft.open:
            return self.asking.waiting(draft)
        for name, make in self.asking.machine(draft):
            if f"machine/{name}" not in draft.asked and name not in (draft.data if name == "case" else
                                                                    draft.data.get("machine", {})):  # fmt: skip
                return make()
        for name in self.context_order():
            if f"context/{name}" not in draft.asked and name not in draft.data.get("context", {}):
                return self.asking.context(name)
        for unit in ROUND[draft.layout]:
            for part in parts.STATIONS:
                signs = self.signs.of(part, draft)
                if signs and f"part/{part}/{unit}" not in draft.asked and not draft.was_looked(part, unit):
                    return self.asking.part(part, unit, signs)
        return self.adviser.following(draft, tuple(one for one in draft.asked if one.startswith("check/")))

    def context_order(self) -> tuple[str, ...]:
        """The questions of the work, the telling ones first."""
        names = [name for name, one in self.rulebase.context.items() if not one.derived]
        return tuple(
            sorted(names, key=lambda name: next((n for n, one in enumerate(FIRST) if name.startswith(one)), 99))
        )

    def answer(self, state: State, question: Question, text: str) -> State:
        """The state after an answer. Raises NotUnderstood where the answer cannot be used."""
        return state.then(self.answering.answer(state.draft, question, text))

    def skip_section(self, state: State, question: Question) -> State:
        """Leave out the rest of a section. Raises NotUnderstood where the section cannot be left out."""
        draft = state.draft
        if question.id.startswith("context/"):
            for name in self.context_order():
                draft = draft.passed(f"context/{name}")
        elif question.id.startswith("part/"):
            for unit in ROUND[draft.layout]:
                for part in parts.STATIONS:
                    draft = draft.passed(f"part/{part}/{unit}")
        else:
            raise NotUnderstood("this has to be answered first; `quit` stops here and saves")
        return state.then(draft)

    def again(self, state: State, words: str) -> State:
        """Ask one part, question or check again, without what was written for it. Raises NotUnderstood."""
        name, _, where = words.strip().partition(" ")
        where, draft = where.strip(), state.draft
        if name in parts.STATIONS and where in UNITS.get(draft.layout, ()):
            for symptom in self.signs.of(name, draft):
                for place in self.signs.places(symptom, where):
                    draft = draft.without_sign(symptom, place)
            mine = {f"{one}|{where}" for one in (name, *self.signs.of(name, draft))}
            waiting = tuple(one for one in draft.open if "|".join(one.split("|")[1:3]) not in mine)
            cleared = replace(draft.looked(name, where, there=False), open=waiting)
            return state.then(_unasked(cleared, f"part/{name}/{where}"))
        if name in self.rulebase.context and not where:
            return state.then(_unasked(draft.put_in("context", name, ""), f"context/{name}"))
        if name in ("name", "layout", "drive", "hours", "sheet") and not where:
            return state.then(_unasked(draft.put_in("machine", name, ""), f"machine/{name}"))
        if name in self.rulebase.checks:
            place = self._check_place(name, where, draft)
            draft = draft.measured(name, place, {})
            for symptom in self.rulebase.checks[name].decides:
                for at in (place, *(replace(place, side=side) for side in SIDES)):
                    draft = draft.without_sign(symptom, at)
            opened = (f"figures|{name}|{place.key}",) if self.rulebase.checks[name].reading else ()
            return state.then(replace(draft, open=(*opened, f"signs|{name}|{place.key}", *draft.open)))
        example = self.fitted("change lugs front-left", draft)
        raise NotUnderstood(f"write for instance: {example}, change visit, change hours")

    def _check_place(self, check: str, where: str, draft: Draft) -> Place:
        """Where a check is done, from what was typed. Raises NotUnderstood for a place where it is not done."""
        try:
            place = place_from_key(where or "machine")
        except ValueError as problem:
            raise NotUnderstood(str(problem)) from None
        places = done_at(self.rulebase.checks[check].where, Place(), draft.layout)
        if place not in places:
            example = f"change {check} {places[0].key}" if places[0].key != "machine" else f"change {check}"
            raise NotUnderstood(f"this check is not done at {place.words}; write for instance: {example}")
        return place

    def fitted(self, command: str, draft: Draft) -> str:
        """A command as one types it for this machine, with a unit that it has."""
        return command.replace("front-left", UNITS.get(draft.layout, ("front-left",))[0])


def _put_off(question: str) -> bool:
    """Whether an id says that a check was put off; one that was done names its place as well."""
    return question.startswith("check/") and question.count("/") == 1


def _unasked(draft: Draft, question: str) -> Draft:
    return replace(draft, asked=tuple(one for one in draft.asked if one != question))
