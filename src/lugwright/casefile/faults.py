"""Collecting the faults of one case, each at its own line."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable

from lugwright.issues import Issue, Spot
from lugwright.plain_build import SAME_FAULT, Way
from lugwright.plain_yaml import Document
from lugwright.quantities import BareNumberError, NotANumberError, OutOfRangeError, QuantityError, WrongUnitError, parse

WHY: dict[str, str] = {
    "directed-both": "it is a difference between the two sides, so only one of them can show it",
    "derived-context": "rules work it out from other answers, so an answer here could contradict them",
    "duplicate-finding": "one sign at one place is written once, so that it counts once",
    "impossible-place": "a sign is only worth something at a place this machine has",
    "missing-reading": "a reading of this check says nothing without all of its numbers",
    "negative-reading": "a gap or a width is zero or more, so the reading or its sign is wrong",
    "no-unit": "the same number in another unit means something else, and nobody can tell later",
    "no-reading": "there is no number to write for this check",
    "not-a-number": "a reading is worth something only if it can be read in one way",
    "not-on-this-machine": "a sign that cannot occur here would be evidence of nothing",
    "nothing-to-sweep": "looking at a component only settles signs one can see or touch",
    "out-of-range": "a value no machine can show is a slip of the pen",
    "place-missing": "the same sign at another place points at another cause",
    "place-superfluous": "a place that nobody reads is a mistake that stays hidden",
    "repeated-reading": "two readings of one check at one place cannot both stand",
    "seen-and-not-seen": "a sign is either there or not; left like this, neither could be believed",
    "sheet-mismatch": "the numbers of another machine would be printed on the job card",
    "unknown-answer": "only these answers have a meaning for the rules",
    "unknown-check": "a reading of an unknown check cannot be used",
    "unknown-component": "looking at something the rule base does not know settles nothing",
    "unknown-context": "an answer to a question nobody asks is never read",
    "unknown-extent": "the extent is one of the words of the scales",
    "unknown-reading": "a number this check does not have would never be read",
    "unknown-sheet": "without the sheet no number of this machine is known",
    "unknown-symptom": "a sign the rule base does not know cannot count for or against anything",
    "unknown-wheel": "a wheel is named in one way, so that two notes mean the same one",
    "wrong-unit": "a number in the unit of something else would be read as what it is not",
}
_CODES = {
    BareNumberError: "no-unit",
    NotANumberError: "not-a-number",
    OutOfRangeError: "out-of-range",
    WrongUnitError: "wrong-unit",
}
_BARE = re.compile(r"[+\-\u2212]?\d+(\.\d+)?")


class Faults:
    """The faults of one document. Past the twentieth of one code they are only counted."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self._issues: list[Issue] = []
        self._count: Counter[str] = Counter()

    def add(self, way: Way, code: str, what: str, hint: str | Callable[[], str] = "", why: str = "") -> None:
        """Note a fault at the value of a way.

        hint: text, or a function that finds it (nearest names are only looked up for faults that are shown).
        """
        self.add_at(self.spot(way), code, what, hint, why)

    def add_at(self, spot: Spot, code: str, what: str, hint: str | Callable[[], str] = "", why: str = "") -> None:
        """Note a fault at a spot."""
        self._count[code] += 1
        if self._count[code] <= SAME_FAULT:
            text = hint if isinstance(hint, str) else hint()
            self._issues.append(self.document.issue(spot, code, what, why or WHY[code], text))

    def spot(self, way: Way) -> Spot:
        """Where the value of a way begins."""
        return self.document.value_spot(way)

    def key(self, way: Way) -> Spot:
        """Where the key of a way stands."""
        return self.document.key_spot(way)

    def told(self) -> list[Issue]:
        """Every fault; for those only counted, how many they are."""
        more = []
        for code, n in sorted(self._count.items()):
            if n > SAME_FAULT:
                what = f"{n - SAME_FAULT} more faults like the {SAME_FAULT} shown for this file"
                more.append(Issue(Spot(self.document.name), code, what, WHY[code]))
        return self._issues + more

    def number(self, way: Way, text: str, quantity: str) -> float | None:
        """A quantity in its base unit, or None after noting what is wrong with it."""
        try:
            return parse(text, quantity)
        except QuantityError as error:
            self.add(way, _CODES.get(type(error), "not-a-number"), str(error), error.hint)
            return None

    def hours(self, way: Way, text: str) -> float | None:
        """Hours under a key that names the unit itself, so that a bare number will do."""
        return self.number(way, f"{text} h" if _BARE.fullmatch(text.strip()) else text, "hours")
