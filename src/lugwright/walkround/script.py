"""The walk-round as a pure state machine: a state gives a question, an answer gives the next state.

First the machine, its work and what was done to it; then one walk round it, each part of each unit once; then the
checks that still matter. Nothing is read or written here, and nothing is asked twice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Protocol

from lugwright.belief.placing import applies
from lugwright.places import SIDES, UNITS, Place, place_from_key
from lugwright.quantities import QuantityError, parse
from lugwright.walkround import parts
from lugwright.walkround.draft import Draft
from lugwright.walkround.question import NotUnderstood, Question, Stop, chosen, pick

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

Key = tuple[str, Place]

#: The way round the machine, so that every unit is passed once.
ROUND = {
    "two-track": ("left", "right"),
    "four-track": ("front-left", "rear-left", "rear-right", "front-right"),
}
LAYOUT_WORDS = (("two-track", "one belt on each hand"), ("four-track", "two belts on each hand, front and rear"))
DRIVE_WORDS = (
    ("friction", "a rubbered drive wheel grips the belt"),
    ("positive", "drive bars push the lugs"),
    ("none", "towed, not driven"),
)
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


class Adviser(Protocol):
    """What the script asks of the rules and the network."""

    def following(self, draft: Draft, skipped: tuple[str, ...]) -> Question | Stop:
        """The next question after the walk, or why there is none."""

    def open_signs(self, draft: Draft, check: str, place: Place) -> tuple[Key, ...]:
        """The signs a check settles at a place and that are not known yet."""

    def refusal(self, draft: Draft) -> str:
        """Why a draft cannot be a case, in a sentence; nothing where it can."""


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

    # --- asking ------------------------------------------------------------------------------------------------------

    def question(self, state: State) -> Question | Stop:
        """What is to be asked now."""
        draft = state.draft
        if draft.open:
            return self._open(draft)
        for name, make in self._machine(draft):
            if f"machine/{name}" not in draft.asked and name not in (draft.data if name == "case" else
                                                                    draft.data.get("machine", {})):  # fmt: skip
                return make()
        for name in self.context_order():
            if f"context/{name}" not in draft.asked and name not in draft.data.get("context", {}):
                return self._context(name)
        for unit in ROUND[draft.layout]:
            for part in parts.STATIONS:
                signs = self.signs_of(part, draft)
                if signs and f"part/{part}/{unit}" not in draft.asked and not draft.was_looked(part, unit):
                    return self._part(part, unit, signs)
        return self.adviser.following(draft, tuple(one for one in draft.asked if one.startswith("check/")))

    def context_order(self) -> tuple[str, ...]:
        """The questions of the work, the telling ones first."""
        names = [name for name, one in self.rulebase.context.items() if not one.derived]
        return tuple(
            sorted(names, key=lambda name: next((n for n, one in enumerate(FIRST) if name.startswith(one)), 99))
        )

    def signs_of(self, part: str, draft: Draft) -> tuple[str, ...]:
        """The signs of a part that one can see or touch on this machine, unit by unit."""
        return tuple(
            name
            for name, one in self.rulebase.symptoms.items()
            if one.component == part
            and one.by in ("look", "touch")
            and one.where in ("unit", "side")
            and applies(one, draft.layout, draft.drive)
        )

    def _machine(self, draft: Draft) -> Iterator[tuple[str, Callable[[], Question]]]:
        sheets = [
            (name, one.name)
            for name, one in self.rulebase.machines.items()
            if (one.layout, one.drive) == (draft.layout, draft.drive)
        ]

        def ask(name: str, text: str, choices: tuple[tuple[str, str], ...] = (), empty: str = "") -> Question:
            return Question(f"machine/{name}", "The machine", text, choices, empty=empty)

        yield "case", lambda: ask("case", "A short name for this case (small letters, digits, hyphens)?")
        yield "name", lambda: ask("name", "What does the yard call the machine?")
        yield "layout", lambda: ask("layout", "How many belts has it?", LAYOUT_WORDS)
        yield "drive", lambda: ask("drive", "How are the belts driven?", DRIVE_WORDS)
        yield "hours", lambda: ask("hours", "What does the hour meter say?", empty="not known")
        if sheets:
            yield "sheet", lambda: ask("sheet", "Which sheet has its numbers?", tuple(sheets), "none of them")

    def _context(self, name: str) -> Question:
        one = self.rulebase.context[name]
        ask = "" if one.answers else f" (with its unit, for instance {parts.EXAMPLES.get(one.quantity or '', '')})"
        choices = tuple(one.answers.items())
        help_lines = (one.because, *(f"{word}: {means}" for word, means in choices))
        return Question(f"context/{name}", "Its work, and what was done to it", one.question + ask, choices,
                        help=help_lines, empty="nobody knows")  # fmt: skip

    def _part(self, part: str, unit: str, signs: tuple[str, ...]) -> Question:
        names = tuple(self.rulebase.symptoms[one].name for one in signs)
        return Question(
            f"part/{part}/{unit}",
            f"Walk round: {unit}",
            f"{parts.STATIONS[part]} ({unit}): anything not right?",
            (
                ("n", "looked, nothing wrong"),
                ("y", "yes; or type the numbers of what you see"),
                ("each", "go through the signs one by one"),
            ),
            listed=names,
            help=("Type the numbers of what you see. `? 1` tells how to recognise the first.",),
            details=tuple(self.recognise(one) for one in signs),
            empty="did not look",
        )

    def recognise(self, symptom: str) -> tuple[str, ...]:
        """How to know a sign, and what it is taken for."""
        one = self.rulebase.symptoms[symptom]
        confused = (f"Confused with: {one.confused_with}",) if one.confused_with else ()
        alike = [self.rulebase.symptoms[other].name for other in one.look_alikes if other in self.rulebase.symptoms]
        looks = (f"Looks like: {'; '.join(alike)}",) if alike else ()
        return (f"{one.name}. {one.recognise}", *confused, *looks)

    def _open(self, draft: Draft) -> Question:
        kind, name, *rest = draft.open[0].split("|")
        makers: dict[str, Callable[..., Question]] = {
            "which": self._which, "ordinary": self._ordinary, "each": self._each, "side": self._side,
            "extent": self._extent, "figures": self._figures, "signs": self._signs,
        }  # fmt: skip
        return makers[kind](draft, name, *rest)

    def _which(self, draft: Draft, part: str, unit: str) -> Question:
        signs = self.signs_of(part, draft)
        return Question(
            draft.open[0], f"Walk round: {unit}", f"{parts.STATIONS[part]}: which of these?", (("none", "nothing"),),
            tuple(self.rulebase.symptoms[one].name for one in signs),
            help=("Type the numbers of all that you see, for instance 1 3.",),
            details=tuple(self.recognise(one) for one in signs),
        )  # fmt: skip

    def ordinary_signs(self, part: str, draft: Draft) -> tuple[str, ...]:
        """The signs of a part that a sound machine often shows."""
        return tuple(
            one for one in self.signs_of(part, draft) if self.rulebase.symptoms[one].sound in ("usually", "often")
        )

    def _ordinary(self, draft: Draft, part: str, unit: str) -> Question:
        signs = self.ordinary_signs(part, draft)
        return Question(
            draft.open[0], f"Walk round: {unit}", f"{parts.STATIONS[part]}: which of these ordinary marks are there?",
            (("none", "none of them"),), tuple(self.rulebase.symptoms[one].name for one in signs),
            help=("They are no fault; that they are there, or missing, still says something.",),
            details=tuple(self.recognise(one) for one in signs),
        )  # fmt: skip

    def _each(self, draft: Draft, symptom: str, unit: str) -> Question:
        name = self.rulebase.symptoms[symptom].name
        return Question(
            draft.open[0], f"Walk round: {unit}", f"{name}?", (("y", "seen"), ("n", "looked, not there")),
            help=self.recognise(symptom), empty="did not look",
        )  # fmt: skip

    def _side(self, draft: Draft, symptom: str, unit: str) -> Question:
        one = self.rulebase.symptoms[symptom]
        both = () if one.directed else (("both", "both sides"),)
        return Question(
            draft.open[0], f"Walk round: {unit}", f"{one.name}: on which side?",
            (("inboard", "toward the machine's middle"), ("outboard", "away from it"), *both),
            help=self.recognise(symptom),
        )  # fmt: skip

    def _extent(self, draft: Draft, symptom: str, unit: str, side: str = "") -> Question:
        name = self.rulebase.symptoms[symptom].name
        where = f", {side}" if side and side != "both" else ""
        return Question(
            draft.open[0], f"Walk round: {unit}", f"{name}{where}: how far does it go?",
            tuple((word, "") for word in self.rulebase.scales.extents),
            help=self.recognise(symptom), empty="not said",
        )  # fmt: skip

    def _figures(self, draft: Draft, check: str, key: str) -> Question:
        entry = self.rulebase.checks[check]
        told = tuple(
            f"{name}: {one.means}" + (f" ({' or '.join(one.answers)})" if one.answers else "")
            + ("" if one.needed else " (may be left out)")
            for name, one in entry.reading.items()
        )  # fmt: skip
        needed = [name for name, one in entry.reading.items() if one.needed] or list(entry.reading)[:2]
        sample = ", ".join(f"{name} {parts.EXAMPLES.get(entry.reading[name].quantity, '...')}" for name in needed)
        return Question(
            draft.open[0], f"{entry.name}: {place_from_key(key).words}", f"Which figures? For instance: {sample}",
            help=told, empty="no figures",
        )  # fmt: skip

    def _signs(self, draft: Draft, check: str, key: str) -> Question:
        place = place_from_key(key)
        signs = self.adviser.open_signs(draft, check, place)
        return Question(
            draft.open[0], f"{self.rulebase.checks[check].name}: {place.words}", "Which of these did it show?",
            (("none", "none of them"), ("-", "these were not looked at")),
            tuple(f"{self.rulebase.symptoms[name].name}, {at.words}" for name, at in signs),
            help=("Type the numbers of what it showed.",), details=tuple(self.recognise(name) for name, _ in signs),
        )  # fmt: skip

    # --- answering ---------------------------------------------------------------------------------------------------

    def answer(self, state: State, question: Question, text: str) -> State:
        """The state after an answer. Raises NotUnderstood where the answer cannot be used."""
        draft, said = state.draft, text.strip()
        if not said and not question.empty:
            raise NotUnderstood("an answer is needed here" + _choices(question))
        if "|" in question.id:
            after = self._answer_open(draft, question, said)
        else:
            kind, _, name = question.id.partition("/")
            after = {"machine": self._answer_machine, "context": self._answer_context, "part": self._answer_part,
                     "check": self._answer_check}[kind](draft, question, name, said)  # fmt: skip
        return state.then(self._settled(after))

    def _answer_machine(self, draft: Draft, question: Question, name: str, said: str) -> Draft:
        done = draft.passed(question.id)
        if name in ("layout", "drive", "sheet"):
            word = pick(said, question.choices) if said else ""
            return done.put_in("machine", name, word)
        if name == "case":
            if not parts.IS_ID.fullmatch(said):
                raise NotUnderstood("write it in small letters, digits and hyphens, for instance north-yard-1")
            return done.put("case", said)
        if name == "hours" and said:
            hours = said if not said.replace(".", "", 1).isdigit() else f"{said} h"
            self._quantity(hours, "hours")
            return done.put_in("machine", name, said)
        return done.put_in("machine", name, said[:200])

    def _answer_context(self, draft: Draft, question: Question, name: str, said: str) -> Draft:
        one = self.rulebase.context[name]
        done = draft.passed(question.id)
        if not said:
            return done
        if one.answers:
            return done.put_in("context", name, pick(said, question.choices))
        if said.replace(".", "", 1).isdigit() and one.quantity in ("hours", "years", "share"):
            said += {"hours": " h", "years": " years", "share": " %"}[one.quantity]
        self._quantity(said, one.quantity or "")
        return done.put_in("context", name, said)

    def _quantity(self, text: str, quantity: str) -> None:
        try:
            parse(text, quantity)
        except QuantityError as problem:
            raise NotUnderstood(f"{problem}" + (f"; {problem.hint}" if problem.hint else "")) from None

    def _answer_part(self, draft: Draft, question: Question, name: str, said: str) -> Draft:
        part, unit = name.split("/")
        done = draft.passed(question.id)
        if not said:
            return done
        if said[0].isdigit():
            return self._noted(done, part, unit, chosen(said, len(question.listed)))
        word = pick(said, (*question.choices, ("yes", ""), ("no", ""), ("none", "")))
        if word in ("n", "no", "none"):
            ask = (f"ordinary|{part}|{unit}",) if self.ordinary_signs(part, draft) else ()
            return replace(done, open=(*ask, f"sweep|{part}|{unit}"))
        if word == "each":
            return replace(done, open=tuple(f"each|{one}|{unit}" for one in self.signs_of(part, draft)))
        return replace(done, open=(f"which|{part}|{unit}",))

    def _noted(self, draft: Draft, part: str, unit: str, numbers: tuple[int, ...]) -> Draft:
        signs = [self.signs_of(part, draft)[at] for at in numbers]
        return replace(draft, open=(*self._follow(signs, unit), f"sweep|{part}|{unit}"))

    def _follow(self, signs: list[str], unit: str) -> tuple[str, ...]:
        """What is still to be asked about signs that are there."""
        return tuple(
            f"side|{one}|{unit}" if self.rulebase.symptoms[one].where == "side" else f"extent|{one}|{unit}"
            for one in signs
        )

    def _answer_open(self, draft: Draft, question: Question, said: str) -> Draft:
        kind, name, *rest = question.id.split("|")
        rest_open = draft.open[1:]
        done = replace(draft, open=rest_open)
        unit = rest[0]
        if kind == "which":
            numbers = () if said.lower() in ("none", "n", "0") else chosen(said, len(question.listed))
            return self._noted(done, name, unit, numbers)
        if kind == "ordinary":
            numbers = () if said.lower() in ("none", "n", "0") else chosen(said, len(question.listed))
            signs = self.ordinary_signs(name, draft)
            for at in numbers:
                done = done.with_sign(signs[at], Place(unit=unit), "seen")
            return done
        if kind == "each":
            if not said:
                return done
            if pick(said, (*question.choices, ("yes", ""), ("no", ""))) in ("n", "no"):
                for place in self._places(name, unit):
                    done = done.with_sign(name, place, "absent")
                return done
            return replace(done, open=(*self._follow([name], unit), *rest_open))
        if kind == "side":
            side = pick(said, question.choices)
            return replace(done, open=(f"extent|{name}|{unit}|{side}", *rest_open))
        if kind == "extent":
            extent = pick(said, question.choices) if said else ""
            sides = SIDES if rest[1:] == ["both"] else tuple(rest[1:])
            for place in [Place(unit=unit, side=side) for side in sides] or [Place(unit=unit)]:
                done = done.with_sign(name, place, "seen", extent)
            return done
        if kind == "figures":
            return self._answer_figures(done, name, place_from_key(unit), said)
        return self._answer_signs(done, name, place_from_key(unit), said, len(question.listed))

    def _places(self, symptom: str, unit: str) -> tuple[Place, ...]:
        if self.rulebase.symptoms[symptom].where == "side":
            return tuple(Place(unit=unit, side=side) for side in SIDES)
        return (Place(unit=unit),)

    def _answer_figures(self, draft: Draft, check: str, place: Place, said: str) -> Draft:
        if not said:
            return draft
        fields = parts.figures(said, self.rulebase.checks[check].reading)
        after = draft.measured(check, place, fields)
        problem = self.adviser.refusal(after)
        if problem:
            raise NotUnderstood(problem)
        return after

    def _answer_signs(self, draft: Draft, check: str, place: Place, said: str, count: int) -> Draft:
        if said == "-":
            return draft
        numbers = () if said.lower() in ("none", "n", "0") else chosen(said, count)
        signs = self.adviser.open_signs(draft, check, place)
        for at, (name, where) in enumerate(signs):
            draft = draft.with_sign(name, where, "seen" if at in numbers else "absent")
        return draft

    def _answer_check(self, draft: Draft, question: Question, name: str, said: str) -> Draft:
        check, _, key = name.partition("/")
        if pick(said, question.choices) == "later":
            return draft.passed(f"check/{check}")
        figures = (f"figures|{check}|{key}",) if self.rulebase.checks[check].reading else ()
        return replace(draft.passed(question.id), open=(*figures, f"signs|{check}|{key}"))

    def _settled(self, draft: Draft) -> Draft:
        """With everything done that waits for no answer."""
        while draft.open:
            kind, name, where = draft.open[0].split("|")[:3]
            if kind == "sweep":
                draft = replace(draft.looked(name, where), open=draft.open[1:])
            elif kind == "signs" and not self.adviser.open_signs(draft, name, place_from_key(where)):
                draft = replace(draft, open=draft.open[1:])
            else:
                break
        return draft

    # --- commands ----------------------------------------------------------------------------------------------------

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
            for symptom in self.signs_of(name, draft):
                for place in self._places(symptom, where):
                    draft = draft.without_sign(symptom, place)
            mine = {f"{one}|{where}" for one in (name, *self.signs_of(name, draft))}
            waiting = tuple(one for one in draft.open if "|".join(one.split("|")[1:3]) not in mine)
            cleared = replace(draft.looked(name, where, there=False), open=waiting)
            return state.then(_unasked(cleared, f"part/{name}/{where}"))
        if name in self.rulebase.context and not where:
            return state.then(_unasked(draft.put_in("context", name, ""), f"context/{name}"))
        if name in ("name", "layout", "drive", "hours", "sheet") and not where:
            return state.then(_unasked(draft.put_in("machine", name, ""), f"machine/{name}"))
        if name in self.rulebase.checks:
            place = _place(where)
            draft = draft.measured(name, place, {})
            for symptom in self.rulebase.checks[name].decides:
                for at in (place, *(replace(place, side=side) for side in SIDES)):
                    draft = draft.without_sign(symptom, at)
            opened = (f"figures|{name}|{place.key}",) if self.rulebase.checks[name].reading else ()
            return state.then(replace(draft, open=(*opened, f"signs|{name}|{place.key}", *draft.open)))
        raise NotUnderstood("write for instance: change lugs front-left, change visit, change hours")


def _place(words: str) -> Place:
    try:
        return place_from_key(words or "machine")
    except ValueError as problem:
        raise NotUnderstood(str(problem)) from None


def _unasked(draft: Draft, question: str) -> Draft:
    return replace(draft, asked=tuple(one for one in draft.asked if one != question))


def _choices(question: Question) -> str:
    return f": {', '.join(word for word, _ in question.choices)}" if question.choices else ""
