"""The questions of a walk-round in words: what is asked, what may be answered, and what helps to answer."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from lugwright.places import place_from_key
from lugwright.walkround import parts
from lugwright.walkround.adviser import Adviser
from lugwright.walkround.draft import Draft
from lugwright.walkround.question import Question
from lugwright.walkround.signs import Signs

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import Check

LAYOUT_WORDS = (("two-track", "one belt on each hand"), ("four-track", "two belts on each hand, front and rear"))
DRIVE_WORDS = (
    ("friction", "a rubbered drive wheel grips the belt"),
    ("positive", "drive bars push the lugs"),
    ("none", "towed, not driven"),
)


@dataclass(frozen=True)
class Asking:
    """Puts questions for one rule base."""

    rulebase: RuleBase
    adviser: Adviser
    signs: Signs

    def machine(self, draft: Draft) -> Iterator[tuple[str, Callable[[], Question]]]:
        """The questions about the machine itself, each by the name of what it fills in."""
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

    def context(self, name: str) -> Question:
        """A question about its work, or about what was done to it."""
        one = self.rulebase.context[name]
        ask = "" if one.answers else f" (with its unit, for instance {parts.EXAMPLES.get(one.quantity or '', '')})"
        choices = tuple(one.answers.items())
        help_lines = (one.because, *(f"{word}: {means}" for word, means in choices))
        return Question(f"context/{name}", "Its work, and what was done to it", one.question + ask, choices,
                        help=help_lines, empty="nobody knows")  # fmt: skip

    def part(self, part: str, unit: str, signs: tuple[str, ...]) -> Question:
        """Whether a part of a unit shows anything."""
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
            details=tuple(self.signs.recognise(one) for one in signs),
            empty="did not look",
        )

    def waiting(self, draft: Draft) -> Question:
        """What an answer left open."""
        kind, name, *rest = draft.open[0].split("|")
        makers: dict[str, Callable[..., Question]] = {
            "which": self._which, "ordinary": self._ordinary, "each": self._each, "side": self._side,
            "extent": self._extent, "figures": self._figures, "signs": self._signs,
        }  # fmt: skip
        return makers[kind](draft, name, *rest)

    def _which(self, draft: Draft, part: str, unit: str) -> Question:
        signs = self.signs.of(part, draft)
        return Question(
            draft.open[0], f"Walk round: {unit}", f"{parts.STATIONS[part]}: which of these?", (("none", "nothing"),),
            tuple(self.rulebase.symptoms[one].name for one in signs),
            help=("Type the numbers of all that you see, for instance 1 3.",),
            details=tuple(self.signs.recognise(one) for one in signs),
        )  # fmt: skip

    def _ordinary(self, draft: Draft, part: str, unit: str) -> Question:
        signs = self.signs.ordinary(part, draft)
        return Question(
            draft.open[0], f"Walk round: {unit}", f"{parts.STATIONS[part]}: which of these ordinary marks are there?",
            (("none", "none of them"),), tuple(self.rulebase.symptoms[one].name for one in signs),
            help=("They are no fault; that they are there, or missing, still says something.",),
            details=tuple(self.signs.recognise(one) for one in signs),
        )  # fmt: skip

    def _each(self, draft: Draft, symptom: str, unit: str) -> Question:
        name = self.rulebase.symptoms[symptom].name
        return Question(
            draft.open[0], f"Walk round: {unit}", f"{name}?", (("y", "seen"), ("n", "looked, not there")),
            help=self.signs.recognise(symptom), empty="did not look",
        )  # fmt: skip

    def _side(self, draft: Draft, symptom: str, unit: str) -> Question:
        one = self.rulebase.symptoms[symptom]
        both = () if one.directed else (("both", "both sides"),)
        return Question(
            draft.open[0], f"Walk round: {unit}", f"{one.name}: on which side?",
            (("inboard", "toward the machine's middle"), ("outboard", "away from it"), *both),
            help=self.signs.recognise(symptom),
        )  # fmt: skip

    def _extent(self, draft: Draft, symptom: str, unit: str, side: str = "") -> Question:
        name = self.rulebase.symptoms[symptom].name
        where = f", {side}" if side and side != "both" else ""
        return Question(
            draft.open[0], f"Walk round: {unit}", f"{name}{where}: how far does it go?",
            tuple((word, "") for word in self.rulebase.scales.extents),
            help=self.signs.recognise(symptom), empty="not said",
        )  # fmt: skip

    def _figures(self, draft: Draft, check: str, key: str) -> Question:
        entry = self.rulebase.checks[check]
        told = tuple(
            f"{name}: {one.means}" + (f" ({' or '.join(one.answers)})" if one.answers else "")
            + ("" if one.needed else " (may be left out)")
            for name, one in entry.reading.items()
        )  # fmt: skip
        sample = sample_of(entry)
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
            help=("Type the numbers of what it showed.",),
            details=tuple(self.signs.recognise(name) for name, _ in signs),
        )  # fmt: skip


def sample_of(check: Check) -> str:
    """Figures that the check would take, as they may be typed."""
    needed = [name for name, one in check.reading.items() if one.needed] or list(check.reading)[:2]
    also = [name for computation, name in parts.EXAMPLES_OF if computation == check.computation]
    return ", ".join(f"{name} {_example(name, check)}" for name in dict.fromkeys((*needed, *also)))


def _example(name: str, check: Check) -> str:
    """A figure, or a word, as it may be typed for a field of a reading."""
    field = check.reading[name]
    if example := parts.EXAMPLES_OF.get((check.computation or "", name)):
        return example
    return field.answers[0] if field.answers else parts.EXAMPLES.get(field.quantity, "...")
