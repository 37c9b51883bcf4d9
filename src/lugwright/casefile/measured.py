"""The readings of a case, in base units, each field checked against its check."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from lugwright.casefile.faults import Faults
from lugwright.casefile.record import Reading
from lugwright.casefile.schema import Measured
from lugwright.casefile.where import Where
from lugwright.issues import did_you_mean, nearest
from lugwright.places import Place
from lugwright.plain_build import Way, short

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import Check, ReadingField


class Readings:
    """Collects the readings of a case, each check at each place at most once."""

    def __init__(self, rulebase: RuleBase, where: Where, faults: Faults, hours: float | None) -> None:
        self.rulebase, self.where, self.faults, self.hours = rulebase, where, faults, hours
        self.found: dict[tuple[str, Place], Reading] = {}

    def add(self, way: Way, entry: Measured) -> None:
        """Add one reading."""
        name = entry.check
        check = self.rulebase.checks.get(name)
        if check is None:
            what = f"there is no check '{short(name)}'"
            self.faults.add((*way, "check"), "unknown-check", what, lambda: self._meant(name))
            return
        if not check.reading:
            hint = "write what it showed under `seen` or `not_seen`"
            self.faults.add((*way, "check"), "no-reading", f"the check '{name}' gives no numbers", hint)
            return
        texts: dict[str, str] = dict(entry.model_extra or {})
        fields = self._fields(way, name, check, texts)
        at = self._at(way, entry.at)
        written = {key: (word,) for key in ("unit", "axle", "side") if (word := getattr(entry, key)) is not None}
        for place in self.where.places(check.where, name, way, written, several=False):
            spot = self.faults.key(way)
            new = Reading(name, place, fields, texts, spot, at, entry.note, self.faults.document.line(spot.line))
            old = self.found.setdefault((name, place), new)
            if old is not new:
                where = "" if place == Place() else f" at {place.words}"
                what = f"'{name}'{where} is already read on line {old.spot.line}"
                self.faults.add((*way, "check"), "repeated-reading", what, "keep the one that holds now")

    def _fields(self, way: Way, name: str, check: Check, texts: dict[str, str]) -> dict[str, float | str]:
        fields: dict[str, float | str] = {}
        for key, text in texts.items():
            if key not in check.reading:
                what = f"'{short(key)}' is not a number of the check '{name}'"
                spot = self.faults.document.key_spot((*way, key))
                self.faults.add_at(spot, "unknown-reading", what, partial(did_you_mean, key, check.reading))
            else:
                value = self._value((*way, key), key, text, check.reading[key])
                if value is not None:
                    fields[key] = value
        for key, one in check.reading.items():
            if one.needed and key not in texts:
                what = f"the check '{name}' needs '{key}'"
                self.faults.add(way, "missing-reading", what, f"add `{key}:` ({one.means.rstrip('.')})")
        if not texts and not any(one.needed for one in check.reading.values()):
            what = f"no number is written for the check '{name}'"
            self.faults.add(way, "missing-reading", what, f"add at least one of: {', '.join(check.reading)}")
        return {key: fields[key] for key in check.reading if key in fields}

    def _value(self, way: Way, key: str, text: str, one: ReadingField) -> float | str | None:
        if one.quantity == "word":
            if not one.answers or text in one.answers:
                return text
            what = f"'{short(text)}' is no answer for '{key}'"
            self.faults.add(way, "unknown-answer", what, did_you_mean(text, one.answers))
            return None
        value = self.faults.number(way, text, one.quantity)
        if value is not None and value < 0 and one.quantity == "length":
            hint = "write the gap as measured; zero where the parts touch"
            self.faults.add(way, "negative-reading", f"'{key}: {short(text)}' is below zero", hint)
            return None
        return value

    def _at(self, way: Way, text: str | None) -> float | None:
        if text is None:
            return None
        at = self.faults.hours((*way, "at"), text)
        if at is not None and self.hours is not None and at > self.hours:
            what = f"this was read at {at:g} h, but the machine has run {self.hours:g} h"
            why = "hours only go up, so one of the two is wrong"
            self.faults.add((*way, "at"), "out-of-range", what, "check both against the hour meter", why)
        return at

    def _meant(self, word: str) -> str:
        if word in self.rulebase.symptoms or word in self.rulebase.aliases:
            return "that is a symptom: write it under `seen` or `not_seen`"
        return did_you_mean(word, nearest(word, self.rulebase.checks)) or "lugwright rules list checks prints them all"
