"""From the place words of an entry to places of this machine."""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.casefile.faults import Faults
from lugwright.issues import did_you_mean
from lugwright.places import ALL_UNITS, AXLES, HANDS, SIDES, UNITS, Place, axle_of, side_of
from lugwright.plain_build import Way, short

_WORDS = {
    "side": "each side of a unit",
    "unit": "a whole unit",
    "axle": "an axle",
    "machine": "the whole machine",
}
_FITS = {"side": ("unit", "units", "side"), "unit": ("unit", "units"), "axle": ("axle",), "machine": ()}


class Where:
    """Reads places for one layout. Every method notes what is wrong and leaves that part out."""

    def __init__(self, layout: str, faults: Faults) -> None:
        self.layout = layout
        self.faults = faults

    def places(
        self, scope: str, name: str, way: Way, written: Mapping[str, tuple[str, ...]], several: bool = True
    ) -> tuple[Place, ...]:
        """The places an entry names.

        scope:   side, unit, axle or machine: the finest place the sign or check is noted at.
        name:    the sign or check, for messages.
        written: the entry's place keys (unit, units, axle, side) with their words.
        several: whether `all`, lists and `side: both` may stand for several places.
        """
        sound = True
        for key in written:
            if key not in _FITS[scope]:
                self._superfluous(scope, name, way, key, written)
                sound = False
        if not sound or scope == "machine":
            return (Place(),) if sound else ()
        if scope == "axle":
            return self._axles(name, way, written)
        units = self.units(name, way, written, several)
        if scope == "unit":
            return tuple(Place(unit=unit) for unit in units)
        sides = self._sides(name, way, written, several)
        return tuple(Place(unit=unit, side=side) for unit in units for side in sides)

    def units(
        self, name: str, way: Way, written: Mapping[str, tuple[str, ...]], several: bool = True
    ) -> tuple[str, ...]:
        """The units named under `unit` or `units`, each once, in the order written."""
        known = UNITS[self.layout]
        if "unit" in written and "units" in written:
            what = "both 'unit' and 'units' are written"
            self.faults.add((*way, "units"), "place-superfluous", what, "keep one of the two")
            return ()
        key = "units" if "units" in written else "unit"
        if key not in written:
            choice = f"add `unit:` with one of {', '.join(known)}" + (", or all" if several else "")
            self.faults.add(way, "place-missing", f"'{name}' needs the unit it is about", choice)
            return ()
        words = written[key]
        if words == ("all",) and several:
            return known
        if len(words) > 1 and not several:
            what = f"'{name}' is read at one unit at a time"
            self.faults.add((*way, key), "place-superfluous", what, "write one entry for each unit")
            return ()
        found: list[str] = []
        for index, word in enumerate(words):
            at: Way = (*way, key, index) if (*way, key, index) in self.faults.document.marks else (*way, key)
            if word not in known:
                self._not_a_unit(at, word, several and len(words) == 1)
            elif word in found:
                self.faults.add(at, "duplicate-finding", f"'{word}' is written twice in this list", "write it once")
            else:
                found.append(word)
        return tuple(found)

    def _not_a_unit(self, at: Way, word: str, all_too: bool) -> None:
        known = UNITS[self.layout]
        if word in ALL_UNITS:
            what = f"a {self.layout} has no unit '{word}'"
            self.faults.add(at, "impossible-place", what, f"its units are {', '.join(known)}")
        else:
            choices = (*known, "all") if all_too else known
            what = f"'{short(word)}' is not a unit"
            self.faults.add(at, "impossible-place", what, lambda: did_you_mean(word, choices))

    def _axles(self, name: str, way: Way, written: Mapping[str, tuple[str, ...]]) -> tuple[Place, ...]:
        known = AXLES[self.layout]
        if "axle" not in written:
            if len(known) == 1:
                return (Place(axle=known[0]),)
            what = f"'{name}' needs the axle it is about"
            self.faults.add(way, "place-missing", what, f"add `axle:` with {' or '.join(known)}")
            return ()
        (word,) = written["axle"]
        if word in known:
            return (Place(axle=word),)
        what = f"a {self.layout} has no axle '{short(word)}'"
        hint = "its two units make one axle: leave `axle` out" if len(known) == 1 else "write front or rear"
        self.faults.add((*way, "axle"), "impossible-place", what, hint)
        return ()

    def _sides(self, name: str, way: Way, written: Mapping[str, tuple[str, ...]], several: bool) -> tuple[str, ...]:
        choice = "inboard, outboard" + (" or both" if several else "")
        if "side" not in written:
            self.faults.add(way, "place-missing", f"'{name}' needs the side it is about", f"add `side:` with {choice}")
            return ()
        (word,) = written["side"]
        if word in SIDES:
            return (word,)
        if word == "both" and several:
            return SIDES
        hint = did_you_mean(word, (*SIDES, "both") if several else SIDES)
        unit = written.get("unit", ())
        if word in HANDS and len(unit) == 1 and unit[0] in UNITS[self.layout]:
            hint = f"the {word}-hand side of the {unit[0]} unit is its {side_of(unit[0], word)} side"
        self.faults.add((*way, "side"), "impossible-place", f"'{short(word)}' is not a side", hint)
        return ()

    def _superfluous(self, scope: str, name: str, way: Way, key: str, written: Mapping[str, tuple[str, ...]]) -> None:
        what = f"'{name}' is noted for {_WORDS[scope]}, so '{key}' has no place here"
        hint = f"leave out `{key}`"
        if scope == "axle" and key in ("unit", "units") and written[key][0] in UNITS[self.layout]:
            hint = f"write `axle: {axle_of(written[key][0])}` instead"
        elif scope in ("unit", "side") and key == "axle":
            axle = written["axle"][0]
            pair = [unit for unit in UNITS[self.layout] if axle_of(unit) == axle]
            hint = f"write `units: [{', '.join(pair or UNITS[self.layout])}]` instead"
        self.faults.add((*way, key), "place-superfluous", what, hint)
