"""Do the entries of a rule base agree with one another? Every name must exist, every place must be possible.

Each function adds what it finds to the draft; entries that are faulty by themselves are passed over here.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from typing import Any

from lugwright.plain_build import Way
from lugwright.plain_words import with_article
from lugwright.rulebase.agree_rules import rule_disagreements
from lugwright.rulebase.agree_sheets import sheet_disagreements
from lugwright.rulebase.gather import Draft
from lugwright.rulebase.names import answer, known, sheet_number, symptom_known
from lugwright.rulebase.scales import Scales
from lugwright.rulebase.schema import Cause, Check, Procedure, Shows, Symptom

_NUMBER = re.compile(r"\{([^{}]*)\}")
_NEEDED_FIELDS: dict[str, tuple[str, tuple[str, ...]]] = {
    "side-clearance": ("unit", ("inboard", "outboard")),
    "side-temperature": ("unit", ("inboard", "outboard")),
    "toe": ("axle", ("leading", "trailing")),
    "gap": ("unit", ("largest", "smallest")),
    "hub-heat": ("unit", ("excess",)),
    "tension": ("unit", ("pressure", "band")),
    "leak-down": ("unit", ("evening", "morning")),
    "lug-size": ("unit", ("width-new", "width-now")),
    "turn-repeat": ("unit", ("left", "left-again", "right", "right-again")),
    "tread-profile": ("unit", ("inboard", "outboard")),
    "weighing": ("machine", ("front", "rear")),
    "slip": ("machine", ("slip",)),
}
_UNITS_OF_SCOPE: dict[str, tuple[str, ...]] = {
    "unit": ("own", "partner", "all"),
    "axle": ("own", "all"),
    "machine": ("all", "front", "rear", "same-hand", "opposite-hand"),
}


def disagreements(draft: Draft) -> None:
    """Add to the draft every fault that shows only when entries are read together."""
    for name, symptom in sorted(draft.entries["symptoms"].items()):
        _symptom(draft, name, symptom)
    for name, cause in sorted(draft.entries["causes"].items()):
        _cause(draft, name, cause)
    for name, check in sorted(draft.entries["checks"].items()):
        _check(draft, name, check)
    for name, procedure in sorted(draft.entries["procedures"].items()):
        for n, symptom in enumerate(procedure.not_while):
            symptom_known(draft, symptom, "procedures", name, ("not_while", n))
        _numbers(draft, "procedures", name, _texts(procedure))
    for name, sheet in sorted(draft.entries["machines"].items()):
        sheet_disagreements(draft, name, sheet)
    for name, rule in sorted(draft.entries["chaining"].items()):
        rule_disagreements(draft, name, rule)


def _symptom(draft: Draft, name: str, symptom: Symptom) -> None:
    for n, other in enumerate(symptom.look_alikes):
        symptom_known(draft, other, "symptoms", name, ("look_alikes", n))
    for n, alias in enumerate(symptom.also_called):
        owner = next((o for o, s in sorted(draft.entries["symptoms"].items()) if alias in s.also_called), name)
        taken = alias if alias in draft.spots["symptoms"] else owner if owner != name else ""
        twice = alias in symptom.also_called[:n]
        if taken or twice:
            what = f"'{alias}' already stands for " + ("this symptom" if not taken else f"'{taken}'")
            if taken == alias:
                what = f"'{alias}' is already the id of a symptom"
            spot = draft.spots["symptoms"].get(taken or name)
            hint = f"take it out here, or rename the other ({spot})" if taken else "write it once"
            why = "a name in a case file must mean one symptom"
            draft.fault("symptoms", name, ("also_called", n), "alias-clash", what, why, hint)


def _cause(draft: Draft, name: str, cause: Cause) -> None:
    for n, show in enumerate(cause.shows):
        _show(draft, name, cause, ("shows", n), show, never=False)
    for n, show in enumerate(cause.never_shows):
        _show(draft, name, cause, ("never_shows", n), show, never=True)
    for n, alike in enumerate(cause.look_alikes):
        known(draft, "causes", alike.cause, "causes", name, ("look_alikes", n, "cause"))
        known(draft, "checks", alike.split_by, "causes", name, ("look_alikes", n, "split_by"))
    for n, fed in enumerate(cause.feeds):
        known(draft, "causes", fed, "causes", name, ("feeds", n))
    if cause.procedure:
        known(draft, "procedures", cause.procedure, "causes", name, ("procedure",))


def _show(draft: Draft, name: str, cause: Cause, way: Way, show: Shows, *, never: bool) -> None:
    for part in ("given", "unless"):
        for question, wanted in getattr(show, part).items():
            if known(draft, "context", question, "causes", name, (*way, part, question), at_key=True):
                answer(draft, question, wanted, "causes", name, (*way, part, question))
    symptom = symptom_known(draft, show.symptom, "causes", name, (*way, "symptom"))
    if symptom is None:
        return
    placed = True
    for step, what, hint in _misplaced(cause, symptom, show):
        placed = False
        why = "such a sign could never be matched with what is seen"
        draft.fault("causes", name, (*way, *step), "impossible-place", what, why, hint)
    if placed and draft.scales:
        _evidence(draft, name, way, show, symptom, draft.scales, never)


def _misplaced(cause: Cause, symptom: Symptom, show: Shows) -> Iterator[tuple[Way, str, str]]:
    """What is impossible about the place of a shown sign: the step to point at, what, and the repair."""
    sign = f"'{show.symptom}'"
    if symptom.where == "side" and show.side is None:
        fits = "same, opposite, both, either" if cause.oriented != "none" else "both, either, inboard, outboard"
        yield (), f"{sign} is noted per side, and no side is given", f"add side: one of {fits}"
    if symptom.where != "side" and show.side is not None:
        yield ("side",), f"{sign} is noted per {symptom.where}, not per side", "leave the side out"
    if show.side in ("same", "opposite") and cause.oriented == "none":
        what = f"'{show.side}' is relative, and this cause points to no side or hand"
        yield ("side",), what, "write both, either, inboard or outboard"
    if show.side == "both" and symptom.directed:
        yield ("side",), f"{sign} is a difference between the sides, so only one side can show it", "write either"
    if show.units is not None:
        if symptom.where == "machine":
            yield ("units",), f"{sign} is noted for the whole machine", "leave units out"
        elif show.units not in _UNITS_OF_SCOPE[cause.acts_on]:
            fits = ", ".join(_UNITS_OF_SCOPE[cause.acts_on])
            what = f"'{show.units}' has no meaning for a cause that acts on {with_article(cause.acts_on)}"
            yield ("units",), what, f"one of: {fits}"
        elif show.units.endswith("-hand") and cause.oriented != "hand":
            what = f"'{show.units}' needs a cause that is oriented by hand"
            yield ("units",), what, "add oriented: hand, or write all"
        elif show.units in ("front", "rear") and show.layout == "two-track":
            yield ("units",), "a two-track machine has no front and rear units", "leave units out"
    for part, word, own in (("layout", show.layout, cause.layouts), ("drive", show.drive, cause.drives)):
        theirs = set(symptom.layouts if part == "layout" else symptom.drives)
        if word and word not in set(own) & theirs:
            what = f"this cause and {sign} never meet where the {part} is {word}"
            yield (part,), what, "take the sign out, or mend the word"
        elif not word and not set(own) & theirs:
            yield ("symptom",), f"this cause and {sign} share no {part}", f"compare the {part}s of both"


def sound_at(symptom: Symptom, scales: Scales) -> float:
    """P(the sign at one place | sound undercarriage). A word that counts the unit is shared by the two sides."""
    rate = scales.sound[symptom.sound]
    if symptom.where != "side" or symptom.sound_counts == "side":
        return rate
    return rate / 2 if symptom.directed else 1 - math.sqrt(1 - rate)


def _evidence(draft: Draft, name: str, way: Way, show: Shows, symptom: Symptom, scales: Scales, never: bool) -> None:
    """A sign must be clearly more frequent with the cause than without: even where its word means least."""
    step = (*way, "how_often")
    if never:
        if show.how_often != "never":
            why = "a sign under never_shows speaks against the cause by not being there"
            what = f"'{show.how_often}' stands under never_shows"
            draft.fault("causes", name, step, "no-evidence", what, why, "write never")
        return
    low = scales.how_often[show.how_often].low
    sound = sound_at(symptom, scales)
    if show.side == "either":
        low, sound = (low, scales.sound[symptom.sound]) if symptom.sound_counts == "unit" else (low / 2, sound)
    if low > sound:
        return
    half = " on either side" if show.side == "either" and symptom.sound_counts == "side" else ""
    often = f"how often a sound undercarriage shows '{show.symptom}'"
    what = f"'{show.how_often}'{half} does not beat {often}: {symptom.sound}"
    why = f"seeing it would say nothing for this cause: at the least {low:.2g} with it, {sound:.2g} without any cause"
    share = low / scales.how_often[show.how_often].low
    better = [word for word, entry in scales.how_often.items() if entry.low * share > sound]
    hint = f"leave the sign out, or where it is truly so write {better[-1]}" if better else "leave the sign out"
    for word in (f"how_often/{show.how_often}", f"sound/{symptom.sound}"):
        if spot := draft.rescaled.get(word):
            hint += f"; or mend the number an overlay gives to '{word.partition('/')[2]}' ({spot})"
    draft.fault("causes", name, step, "no-evidence", what, why, hint)


def _check(draft: Draft, name: str, check: Check) -> None:
    for n, other in enumerate(check.needs_first):
        known(draft, "checks", other, "checks", name, ("needs_first", n))
    for key, symptoms in (("decides", check.decides), ("not_while", check.not_while)):
        for n, symptom in enumerate(symptoms):
            symptom_known(draft, symptom, "checks", name, (key, n))
    for field_name, entry in check.reading.items():
        if (entry.quantity == "word") != bool(entry.answers):
            what = "a word needs its answers" if entry.quantity == "word" else "only a word has answers"
            why, hint = "a case file could hold anything here, or nothing", "mend quantity or answers"
            draft.fault("checks", name, ("reading", field_name), "reading-does-not-fit", what, why, hint)
    if check.computation in _NEEDED_FIELDS:
        where, fields = _NEEDED_FIELDS[check.computation]
        missing = [part for part in fields if part not in check.reading]
        if check.where != where or missing:
            what = f"'{check.computation}' is worked out per {where} from the fields {' and '.join(fields)}"
            why = "without them there is nothing to work out"
            hint = f"write where: {where}" if check.where != where else f"add {' and '.join(missing)} under reading"
            draft.fault("checks", name, ("computation",), "reading-does-not-fit", what, why, hint)
    _numbers(draft, "checks", name, _texts(check))


def _texts(entry: Procedure | Check) -> Iterator[tuple[Way, str]]:
    """Every text of an entry with the way to it."""

    def walk(value: Any, way: Way) -> Iterator[tuple[Way, str]]:
        if isinstance(value, str):
            yield way, value
        elif isinstance(value, Mapping):
            for key, inner in value.items():
                yield from walk(inner, (*way, key))
        elif isinstance(value, (list, tuple)):
            for n, inner in enumerate(value):
                yield from walk(inner, (*way, n))

    yield from walk(entry.model_dump(exclude_defaults=True, by_alias=True), ())


def _numbers(draft: Draft, kind: str, name: str, texts: Iterator[tuple[Way, str]]) -> None:
    for way, text in texts:
        for number in dict.fromkeys(_NUMBER.findall(text)):
            sheet_number(draft, number, kind, name, way, "{" + number + "}")
