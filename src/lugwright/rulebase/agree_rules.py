"""Does a chaining rule agree with the entries it names? Names, places, variables, fields and figures."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from lugwright.issues import did_you_mean
from lugwright.places import ALL_AXLES, ALL_UNITS, DRIVES, HANDS, LAYOUTS, SIDES
from lugwright.plain_build import Way, short
from lugwright.plain_words import with_article
from lugwright.quantities import QuantityError, parse
from lugwright.rulebase import rules as written
from lugwright.rulebase.gather import Draft
from lugwright.rulebase.names import answer, known, sheet_number, symptom_known
from lugwright.rulebase.reading_fields import derived_answers, field_quantities
from lugwright.rulebase.schema import Cause, Check, ContextFact, Symptom

_WORDS: dict[str, tuple[str, ...]] = {"unit": ALL_UNITS, "axle": ALL_AXLES, "side": SIDES, "hand": HANDS}
_RELATIONS = {
    "partner": ("unit", "other"),
    "hand": ("unit", "side", "hand"),
    "opposite-side": ("side", "other"),
    "axle": ("unit", "axle"),
}
_TESTS = ("above", "below", "at_least", "at_most")
_DEEPEST = {"side": ("unit", "side"), "unit": ("unit",), "axle": ("axle",), "machine": ()}
_SHEET = re.compile(r"sheet:([^\s]*)(?:\s+else\s+(.+))?$")
_PLACE_WHY = "such a place never occurs, so the rule could never fire"


def rule_disagreements(draft: Draft, name: str, rule: written.ChainingRule) -> None:
    """Add every fault of one rule to the draft."""
    _Rule(draft, name).check(rule)


class _Rule:
    """One rule while it is checked: what its conditions bind, and as which kind of place."""

    def __init__(self, draft: Draft, name: str) -> None:
        self.draft, self.name = draft, name
        self.bound: dict[str, str] = {}

    def fault(self, way: Way, code: str, what: str, why: str, hint: str = "") -> None:
        self.draft.fault("chaining", self.name, way, code, what, why, hint)

    def check(self, rule: written.ChainingRule) -> None:
        for n, condition in enumerate(rule.when):
            self._condition(("when", n), condition, binds=True)
        for n, condition in enumerate(rule.unless):
            self._condition(("unless", n), condition, binds=False)
        for n, conclusion in enumerate(rule.then):
            self._conclusion(("then", n), conclusion)

    def _condition(self, way: Way, one: Any, *, binds: bool) -> None:
        self._place_words(way, one, binds=binds)
        if isinstance(one, (written.Seen, written.Absent)):
            step, ident = ("seen", one.seen) if isinstance(one, written.Seen) else ("absent", one.absent)
            symptom = symptom_known(self.draft, ident, "chaining", self.name, (*way, step))
            self._depth(way, one, ident, symptom)
            self._extent(way, getattr(one, "extent", None))
        elif isinstance(one, written.ContextIs):
            if entry := self._known("context", one.context, (*way, "context")):
                self._context(way, one, entry)
        elif isinstance(one, written.ReadingIs):
            if check := self._known("checks", one.reading, (*way, "reading")):
                self._reading(way, one, check)
        elif isinstance(one, written.MachineIs):
            self._machine(way, one)
        elif isinstance(one, written.Void):
            if check := self._known("checks", one.void, (*way, "void")):
                self._check_place(way, one, one.void, check)
        elif isinstance(one, written.Relation):
            self._relation(way, one)

    def _conclusion(self, way: Way, one: Any) -> None:
        self._place_words(way, one, binds=False)
        if isinstance(one, written.Finding):
            symptom = symptom_known(self.draft, one.finding, "chaining", self.name, (*way, "finding"))
            self._depth(way, one, one.finding, symptom, whole=True)
            self._extent(way, one.extent)
        elif isinstance(one, (written.CauseShift, written.Excludes)):
            step, ident = ("cause", one.cause) if isinstance(one, written.CauseShift) else ("excludes", one.excludes)
            if cause := self._known("causes", ident, (*way, step)):
                self._cause_place(way, one, ident, cause)
        elif isinstance(one, written.Voids):
            if check := self._known("checks", one.voids, (*way, "voids")):
                self._check_place(way, one, one.voids, check)
        elif isinstance(one, written.ContextBecomes):
            if entry := self._known("context", one.context, (*way, "context")):
                answer(self.draft, one.context, one.is_, "chaining", self.name, (*way, "is"))
                if not entry.derived:
                    what = f"'{one.context}' is asked, so no rule may answer it"
                    hint = f"add derived: yes to it ({self.draft.spots['context'][one.context]}), or conclude another"
                    self.fault((*way, "context"), "not-derived", what, "the rule could contradict the person", hint)
        elif isinstance(one, written.Verdict):
            if one.side and not one.unit:
                self.fault((*way, "side"), "impossible-place", "a side without a unit", _PLACE_WHY, "add unit:")
            if one.work:
                self._known("procedures", one.work, (*way, "work"))
                if not (one.unit or one.axle):
                    what = f"'{one.work}' comes first, and it is not said where"
                    self.fault(
                        (*way, "work"), "missing-key", what, "checks wait only where it is", "add unit: or axle:"
                    )
            if one.verdict == "limit-use" and not one.limit:
                why = "the person must be told what may no longer be done"
                self.fault(way, "missing-key", "limit-use needs 'limit'", why, "add `limit:`")

    def _known(self, kind: str, ident: str, way: Way) -> Any:
        return known(self.draft, kind, ident, "chaining", self.name, way)

    def _place_words(self, way: Way, one: Any, *, binds: bool) -> None:
        """Literal place words must exist; a variable must be bound, and always stand for the same kind of place."""
        for slot in ("unit", "axle", "side", "hand", "other"):
            word = getattr(one, slot, None)
            if word is None:
                continue
            kind = slot if slot != "other" else "side" if one.relation == "opposite-side" else "unit"
            if not word.startswith("$"):
                if word not in _WORDS[kind]:
                    what = f"'{short(word)}' is not {with_article(kind)}"
                    hint = did_you_mean(word, _WORDS[kind])
                    self.fault((*way, slot), "impossible-place", what, _PLACE_WHY, hint or f"or ${kind} for any")
            elif not re.fullmatch(r"\$[a-z][a-z-]*", word):
                what, why = f"'{short(word)}' is not a variable", "a variable is $ and a word in small letters"
                self.fault((*way, slot), "unbound-variable", what, why, f"write ${kind}")
            elif word not in self.bound and binds:
                self.bound[word] = kind
            elif word not in self.bound:
                hint = did_you_mean(word, self.bound) or f"name {word} in a condition under when"
                what, why = f"no condition under when binds '{word}'", "nobody could tell which place is meant"
                self.fault((*way, slot), "unbound-variable", what, why, hint)
            elif self.bound[word] != kind:
                other = with_article(self.bound[word])
                what = f"'{word}' stands for {other} elsewhere in this rule and for {with_article(kind)} here"
                self.fault((*way, slot), "unbound-variable", what, "one name must mean one thing", f"write ${kind}")

    def _depth(self, way: Way, one: Any, ident: str, symptom: Symptom | None, *, whole: bool = False) -> None:
        """Places must be no deeper than the symptom's own; a conclusion must name them all."""
        if symptom is None:
            return
        fits = _DEEPEST[symptom.where]
        for slot in ("unit", "axle", "side"):
            if getattr(one, slot) is not None and slot not in fits:
                what = f"'{ident}' is noted per {symptom.where}, so it has no {slot}"
                hint = f"write {' and '.join(fits)}" if fits else f"leave the {slot} out"
                self.fault((*way, slot), "impossible-place", what, _PLACE_WHY, hint)
        missing = [slot for slot in fits if whole and getattr(one, slot) is None]
        if missing:
            what = f"'{ident}' is noted per {symptom.where}; the {' and the '.join(missing)} is missing"
            why = "a finding must say where it is"
            hint = "add " + " and ".join(f"{slot}: ${slot}" for slot in missing)
            self.fault(way, "impossible-place", what, why, hint)

    def _cause_place(self, way: Way, one: Any, ident: str, cause: Cause) -> None:
        fits = {"unit": ["unit"], "axle": ["axle"], "machine": []}[cause.acts_on]
        fits += [cause.oriented] if cause.oriented != "none" else []
        for slot in ("unit", "axle", "side", "hand"):
            if getattr(one, slot) is not None and slot not in fits:
                what = f"'{ident}' acts on the {cause.acts_on}" + (
                    f" and is oriented by {cause.oriented}" if cause.oriented != "none" else ""
                )
                hint = f"write {' and '.join(fits)}, or no place for everywhere" if fits else f"leave the {slot} out"
                self.fault((*way, slot), "impossible-place", f"{what}; it has no {slot}", _PLACE_WHY, hint)

    def _check_place(self, way: Way, one: Any, ident: str, check: Check) -> None:
        """A check is done per unit (a per-side check too) or per axle; a rule can void it per unit only."""
        fits = {"side": "unit", "unit": "unit", "axle": "axle"}.get(check.where, "")
        for slot in ("unit", "axle"):
            if getattr(one, slot, None) is not None and slot != fits:
                what = f"'{ident}' is done per {check.where}, so it has no {slot}"
                hint = f"write {fits}" if fits else "leave it out"
                self.fault((*way, slot), "impossible-place", what, _PLACE_WHY, hint)

    def _extent(self, way: Way, extent: str | None) -> None:
        scales = self.draft.scales
        if extent is not None and scales and extent not in scales.extents:
            what = f"'{short(extent)}' is not one of the words for this"
            hint = did_you_mean(extent, scales.extents)
            self.fault((*way, "extent"), "bad-choice", what, "only the words of scales.yaml have a meaning", hint)

    def _context(self, way: Way, one: written.ContextIs, entry: ContextFact) -> None:
        if one.is_ is not None:
            answer(self.draft, one.context, one.is_, "chaining", self.name, (*way, "is"))
        numbers = [test for test in _TESTS if getattr(one, test) is not None]
        if entry.quantity:
            self._figures(way, one, entry.quantity)
        for test in numbers if entry.answers else ():
            hint = "write is: one of " + ", ".join(entry.answers)
            what = f"'{one.context}' is answered with a word, not with a number"
            self.fault((*way, test), "unknown-answer", what, "an answer nobody can give is never met", hint)
        if one.is_ is None and not numbers:
            hint = "add is: with an answer" if entry.answers else "add above:, below:, at_least: or at_most:"
            self.fault(way, "missing-key", "this condition compares with nothing", "it would hold for any answer", hint)

    def _reading(self, way: Way, one: written.ReadingIs, check: Check) -> None:
        self._check_place(way, one, one.reading, check)
        offered = field_quantities(check)
        if not check.reading:
            what, why = f"'{one.reading}' has no reading", "nothing is written down that could be compared"
            hint = "use the symptoms it decides, or add reading: to it"
            self.fault((*way, "reading"), "unknown-field", what, why, hint)
            return
        for name, compare in one.with_.items():
            step = (*way, "with", name)
            quantity = offered.get(name)
            if quantity is None:
                hint = did_you_mean(name, offered) or "one of: " + ", ".join(sorted(offered))
                what = f"a reading of '{one.reading}' has no '{short(name)}'"
                self.fault(step, "unknown-field", what, "a field that is never there is never met", hint)
            elif quantity == "word":
                self._word(step, one.reading, name, compare, check)
            else:
                self._figures(step, compare, quantity)
                if compare.is_ is not None:
                    what = f"'{name}' is a number, not a word"
                    self.fault((*step, "is"), "bad-quantity", what, "words and numbers never match", "above: or below:")

    def _word(self, way: Way, reading: str, name: str, compare: written.Compare, check: Check) -> None:
        answers = check.reading[name].answers if name in check.reading else derived_answers(check, name)
        for test in (test for test in _TESTS if getattr(compare, test) is not None):
            what = f"'{name}' of '{reading}' is a word, not a number"
            self.fault((*way, test), "unknown-answer", what, "words and numbers never match", "write is: with a word")
        if compare.is_ is not None and compare.is_ not in answers:
            what = f"'{short(compare.is_)}' is never the '{name}' of '{reading}'"
            hint = did_you_mean(compare.is_, answers)
            self.fault((*way, "is"), "unknown-answer", what, "an answer that never comes is never met", hint)

    def _machine(self, way: Way, one: written.MachineIs) -> None:
        words = {"layout": LAYOUTS, "drive": DRIVES}.get(one.machine)
        if words is None:
            self._figures(way, one, "hours")
        elif one.is_ not in words:
            what = f"'{one.is_ or 'nothing'}' is not a {one.machine}"
            step = (*way, "is") if one.is_ else way
            hint = did_you_mean(one.is_ or "", words)
            self.fault(step, "bad-choice", what, "only these words have a meaning here", hint)

    def _relation(self, way: Way, one: written.Relation) -> None:
        fits = _RELATIONS[one.relation]
        for slot in ("unit", "other", "side", "hand", "axle"):
            if (getattr(one, slot) is not None) != (slot in fits):
                what = f"'{one.relation}' relates {' and '.join(fits)}"
                hint = f"add {slot}:" if slot in fits else f"take {slot} out"
                self.fault(way if slot in fits else (*way, slot), "impossible-place", what, _PLACE_WHY, hint)

    def _figures(self, way: Way, one: Any, quantity: str) -> None:
        for test in (test for test in _TESTS if getattr(one, test, None) is not None):
            for text in self._quantities((*way, test), getattr(one, test)):
                try:
                    parse(text, quantity)
                except QuantityError as error:
                    why = "a figure that cannot be read cannot be compared"
                    self.fault((*way, test), "bad-quantity", str(error), why, error.hint)

    def _quantities(self, way: Way, text: str) -> Iterator[str]:
        if not text.startswith("sheet:"):
            yield text
        elif found := _SHEET.match(text):
            sheet_number(self.draft, found[1], "chaining", self.name, way, found[1])
            if found[2]:
                yield found[2]
        else:
            what = f"'{short(text)}' does not name a number of a machine sheet"
            hint = "write 'sheet:toe-limit else 6 mm'"
            self.fault(way, "bad-quantity", what, "the figure must be clear", hint)
