"""The signs of a case: seen, looked for and absent, or swept with their component."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, get_args

from lugwright.casefile.faults import Faults
from lugwright.casefile.record import Finding, Source
from lugwright.casefile.schema import LookedAt, NotSeen, Seen
from lugwright.casefile.where import Where
from lugwright.issues import did_you_mean, nearest
from lugwright.places import AXLES, SIDES, UNITS, Place, units_of
from lugwright.plain_build import Way, short
from lugwright.rulebase.words import Component

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import Symptom

COMPONENTS: tuple[str, ...] = get_args(Component)
_WHEEL = re.compile(r"(front-|rear-)?idler|drive-wheel|mid-roller-[1-9]\d?")
_SWEPT = ("look", "touch")


class Signs:
    """Collects the findings of a case, each symptom at each place at most once."""

    def __init__(self, rulebase: RuleBase, drive: str, where: Where, faults: Faults) -> None:
        self.rulebase, self.drive, self.layout = rulebase, drive, where.layout
        self.where, self.faults = where, faults
        self.found: dict[tuple[str, Place], Finding] = {}

    def seen(self, way: Way, entry: Seen) -> None:
        """Add a sign that is there."""
        extents = self.rulebase.scales.extents
        if entry.extent and entry.extent not in extents:
            what = f"'{short(entry.extent)}' is not an extent"
            self.faults.add((*way, "extent"), "unknown-extent", what, did_you_mean(entry.extent, extents))
        if entry.wheel and not _WHEEL.fullmatch(entry.wheel):
            hint = "write front-idler, rear-idler, drive-wheel or mid-roller-1, counting from the front"
            self.faults.add((*way, "wheel"), "unknown-wheel", f"'{short(entry.wheel)}' is not a wheel", hint)
        elif entry.wheel == "drive-wheel" and self.drive == "none":
            hint = "name the end wheel as front-idler or rear-idler"
            self.faults.add((*way, "wheel"), "not-on-this-machine", "no wheel of this machine is driven", hint)
        for symptom, place in self._placed(way, entry):
            wheels = (entry.wheel,) if entry.wheel else ()
            spot = self.faults.key(way)
            new = Finding(symptom, place, "seen", "seen", spot, entry.extent or "", wheels, entry.note)
            old = self.found.get((symptom, place))
            if old is None:
                self._one_side_only(way, new)
                self.found[symptom, place] = new
            elif wheels and old.wheels and entry.wheel not in old.wheels:
                self.found[symptom, place] = self._joined(old, new)
            else:
                self._clash(way, new, old)

    def not_seen(self, way: Way, entry: NotSeen) -> None:
        """Add a sign that was looked or tested for and is absent."""
        for symptom, place in self._placed(way, entry):
            new = Finding(symptom, place, "absent", "not_seen", self.faults.key(way), note=entry.note)
            old = self.found.setdefault((symptom, place), new)
            if old is not new:
                self._clash(way, new, old)

    def sweep(self, way: Way, entry: LookedAt) -> tuple[str, tuple[str, ...]] | None:
        """Add as absent every sign of a component by look or touch that is not recorded at that place yet."""
        if entry.component not in COMPONENTS:
            what = f"'{short(entry.component)}' is not a component"
            at = (*way, "component")
            self.faults.add(at, "unknown-component", what, lambda: did_you_mean(entry.component, COMPONENTS))
        written = {key: words for key in ("unit", "units") if (words := getattr(entry, key)) is not None}
        units = self.where.units(entry.component, way, written)
        if entry.component not in COMPONENTS or not units:
            return None
        own = [(name, one) for name, one in self.rulebase.symptoms.items() if one.component == entry.component]
        if not any(one.by in _SWEPT for _, one in own):
            what = f"no sign of '{entry.component}' is found by look or touch"
            hint = "write each sign that was tried and stayed away under `not_seen`"
            self.faults.add((*way, "component"), "nothing-to-sweep", what, hint)
            return None
        spot = self.faults.key(way)
        for name, one in sorted(own):
            if one.by in _SWEPT and self.layout in one.layouts and self.drive in one.drives:
                for place in _every_place(one.where, self.layout, units):
                    swept: Source = "looked_at"
                    self.found.setdefault((name, place), Finding(name, place, "absent", swept, spot, note=entry.note))
        return entry.component, units

    def _placed(self, way: Way, entry: Seen | NotSeen) -> Iterable[tuple[str, Place]]:
        symptom = self._symptom(way, entry.symptom)
        if symptom is None:
            return
        name, one = symptom
        for kind, word, fits in (("layout", self.layout, one.layouts), ("drive", self.drive, one.drives)):
            if word not in fits:
                machine = "an undriven unit" if word == "none" else f"a {word}" if kind == "layout" else f"{word} drive"
                what = f"'{name}' does not occur on {machine}"
                hint = f"it belongs to {' and '.join(fits)}; check `{kind}:` of the machine, or choose another sign"
                self.faults.add((*way, "symptom"), "not-on-this-machine", what, hint)
                return
        keys = ("unit", "units", "axle", "side")
        written = {key: _words(words) for key in keys if (words := getattr(entry, key)) is not None}
        for place in self.where.places(one.where, name, way, written):
            yield name, place

    def _symptom(self, way: Way, word: str) -> tuple[str, Symptom] | None:
        known = self.rulebase.symptoms
        name = word if word in known else self.rulebase.aliases.get(word, word)
        if name in known:
            return name, known[name]
        what = f"there is no symptom '{short(word)}'"
        self.faults.add((*way, "symptom"), "unknown-symptom", what, lambda: self._meant(word))
        return None

    def _meant(self, word: str) -> str:
        if word in self.rulebase.checks:
            return "that is a check: its numbers go under `measured`, what it showed under `seen` or `not_seen`"
        if word in self.rulebase.causes:
            return "that is a cause: write the signs that were seen, the cause comes out"
        if word in COMPONENTS:
            return "that is a component: write it under `looked_at`"
        names = nearest(word, [*self.rulebase.symptoms, *self.rulebase.aliases])
        return did_you_mean(word, names) or "lugwright rules list symptoms prints them all"

    def _joined(self, old: Finding, new: Finding) -> Finding:
        """One finding for a sign noted on several wheels of a unit; the wider extent stands."""
        order = ["", *self.rulebase.scales.extents]
        widest = max(old.extent, new.extent, key=lambda word: order.index(word) if word in order else 0)
        note = "; ".join(part for part in (old.note, new.note) if part)
        return replace(old, wheels=(*old.wheels, *new.wheels), extent=widest, note=note)

    def _clash(self, way: Way, new: Finding, old: Finding) -> None:
        at = "" if new.place == Place() else f" at {new.place.words}"
        if old.state == new.state:
            what = f"'{new.symptom}'{at} is already written on line {old.spot.line}"
            self.faults.add((*way, "symptom"), "duplicate-finding", what, "keep one of the two")
            return
        what = f"'{new.symptom}'{at} is not seen here, but seen on line {old.spot.line}"
        self.faults.add((*way, "symptom"), "seen-and-not-seen", what, f"delete it here or on line {old.spot.line}")

    def _one_side_only(self, way: Way, new: Finding) -> None:
        if not self.rulebase.symptoms[new.symptom].directed:
            return
        for side in SIDES:
            old = self.found.get((new.symptom, replace(new.place, side=side)))
            if old is not None and old.state == "seen":
                what = f"'{new.symptom}' on {new.place.unit} cannot be seen on both sides"
                if old.spot != new.spot:
                    what = f"{what}; on line {old.spot.line} it is seen {old.place.side}"
                hint = "keep the side that shows more, or leave it out where both are alike"
                self.faults.add((*way, "side"), "directed-both", what, hint)


def _words(value: str | Sequence[str]) -> tuple[str, ...]:
    return (value,) if isinstance(value, str) else tuple(value)


def _every_place(scope: str, layout: str, units: Sequence[str]) -> Iterable[Place]:
    """Every place of a scope that lies wholly within the units looked at."""
    if scope == "machine":
        return [Place()] if set(units) == set(UNITS[layout]) else []
    if scope == "axle":
        return [Place(axle=axle) for axle in AXLES[layout] if set(units_of(axle)) <= set(units)]
    if scope == "unit":
        return [Place(unit=unit) for unit in units]
    return [Place(unit=unit, side=side) for unit in units for side in SIDES]
