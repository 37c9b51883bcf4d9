"""What an answer does to the case that is being written."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from lugwright.places import SIDES, Place, place_from_key
from lugwright.quantities import QuantityError, parse
from lugwright.walkround import parts
from lugwright.walkround.adviser import Adviser
from lugwright.walkround.draft import Draft
from lugwright.walkround.question import NUMBER, NotUnderstood, Question, chosen, pick
from lugwright.walkround.signs import Signs

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase


@dataclass(frozen=True)
class Answering:
    """Takes answers for one rule base."""

    rulebase: RuleBase
    adviser: Adviser
    signs: Signs

    def answer(self, draft: Draft, question: Question, text: str) -> Draft:
        """The draft after an answer. Raises NotUnderstood where the answer cannot be used."""
        said = text.strip()
        if not said and not question.empty:
            raise NotUnderstood("an answer is needed here" + _choices(question))
        if "|" in question.id:
            after = self._answer_open(draft, question, said)
        else:
            kind, _, name = question.id.partition("/")
            after = {"machine": self._answer_machine, "context": self._answer_context, "part": self._answer_part,
                     "check": self._answer_check}[kind](draft, question, name, said)  # fmt: skip
        return self._settled(after)

    def _answer_machine(self, draft: Draft, question: Question, name: str, said: str) -> Draft:
        after = self._machine(draft, question, name, said)
        problem = self.adviser.refusal(after) if after.is_machine and after.data.keys() - {"case", "machine"} else ""
        if problem:
            raise NotUnderstood(f"that does not fit what is written down already: {problem}")
        return after

    def _machine(self, draft: Draft, question: Question, name: str, said: str) -> Draft:
        done = draft.passed(question.id)
        if name in ("layout", "drive", "sheet"):
            word = pick(said, question.choices) if said else ""
            return done.put_in("machine", name, word)
        if name == "case":
            if not parts.IS_ID.fullmatch(said):
                raise NotUnderstood("write it in small letters, digits and hyphens, for instance north-yard-1")
            return done.put("case", said)
        if name == "hours" and said:
            hours = f"{said} h" if NUMBER.fullmatch(said) else said
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
        if NUMBER.fullmatch(said) and one.quantity in ("hours", "years", "share"):
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
            ask = (f"ordinary|{part}|{unit}",) if self.signs.ordinary(part, draft) else ()
            return replace(done, open=(*ask, f"sweep|{part}|{unit}"))
        if word == "each":
            return replace(done, open=tuple(f"each|{one}|{unit}" for one in self.signs.of(part, draft)))
        return replace(done, open=(f"which|{part}|{unit}",))

    def _noted(self, draft: Draft, part: str, unit: str, numbers: tuple[int, ...]) -> Draft:
        signs = [self.signs.of(part, draft)[at] for at in numbers]
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
            numbers = _numbers(said, len(question.listed))
            return self._noted(done, name, unit, numbers)
        if kind == "ordinary":
            numbers = _numbers(said, len(question.listed))
            signs = self.signs.ordinary(name, draft)
            for at in numbers:
                done = done.with_sign(signs[at], Place(unit=unit), "seen")
            return done
        if kind == "each":
            if not said:
                return done
            if pick(said, (*question.choices, ("yes", ""), ("no", ""))) in ("n", "no"):
                for place in self.signs.places(name, unit):
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
        numbers = _numbers(said, count)
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


def _numbers(said: str, count: int) -> tuple[int, ...]:
    """The chosen ones of a list, or none of them."""
    return () if said.lower() in ("none", "n", "0") else chosen(said, count)


def _choices(question: Question) -> str:
    return f": {', '.join(word for word, _ in question.choices)}" if question.choices else ""
