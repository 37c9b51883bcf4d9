"""Lints of causes and their signs: can the cause be noticed at all, and do its links agree with one another?"""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.belief.placing import cause_places, sound_rate
from lugwright.places import Place, opposite
from lugwright.rulebase.schema import Shows
from lugwright.rulelint.registry import Flaw, lint
from lugwright.rulelint.whole import WORDS_UP, Link, Profile, Whole, together


@lint("cause-without-signs", "error")
def cause_without_signs(whole: Whole) -> Iterator[Flaw]:
    """A cause that nothing can show on a kind of machine it exists on."""
    for name, cause in whole.rulebase.causes.items():
        for layout, drive in whole.machines_of(cause):
            places = cause_places(cause, layout)
            if not any(_shown(whole.profile(name, place, layout, drive)) for place in places):
                kind = f"a {layout} machine " + ("without drive" if drive == "none" else f"with {drive} drive")
                yield Flaw(
                    f"causes/{name}",
                    f"nothing can show '{name}' on {kind}",
                    "there it stays as likely as it was beforehand, whatever is seen",
                    "give it a sign that exists there, or take that layout or drive out of its own",
                )
                break


def _shown(profile: Profile) -> bool:
    return any(not link.never for links in profile.values() for link in links)


@lint("link-reaches-nothing", "error")
def link_reaches_nothing(whole: Whole) -> Iterator[Flaw]:
    """A link that meets no place on any machine."""
    for link in whole.links:
        if not any(
            next(whole.reach(link, place, layout, drive), None) for layout, drive, place in whole.places(link.cause)
        ):
            yield Flaw(
                link.key,
                f"this sign of '{link.cause}' reaches no place on any machine",
                "a sign that can be nowhere says nothing",
                "mend units:, layout: or drive:, or take the sign out",
            )


def _pairs(whole: Whole, cause: str) -> Iterator[tuple[Link, Link, Place]]:
    """Two links of a cause that meet at one sign in one context, each pair once, with the first place where they do."""
    told: set[tuple[str, str]] = set()
    for layout, drive, place in whole.places(cause):
        for (_, at), links in whole.profile(cause, place, layout, drive).items():
            for n, second in enumerate(links):
                for first in links[:n]:
                    if (first.key, second.key) not in told and together(first.show, second.show):
                        told.add((first.key, second.key))
                        yield first, second, at


@lint("sign-twice", "error")
def sign_twice(whole: Whole) -> Iterator[Flaw]:
    """One symptom listed twice at one place."""
    for cause in whole.rulebase.causes:
        for first, second, at in _pairs(whole, cause):
            if first.never == second.never:
                yield Flaw(
                    second.key,
                    f"'{cause}' lists '{second.show.symptom}' twice at one place ({at.words}): {first.show.how_often} "
                    f"and {second.show.how_often}",
                    "the two links would be counted as two signs",
                    f"keep one, or part them by side, units, layout or context; the first is {_where(whole, first)}",
                )


@lint("shown-and-never", "error")
def shown_and_never(whole: Whole) -> Iterator[Flaw]:
    """A symptom that is a sign of a cause and speaks against it at one place."""
    for cause in whole.rulebase.causes:
        for first, second, at in _pairs(whole, cause):
            if first.never != second.never:
                yield Flaw(
                    second.key,
                    f"'{cause}' shows '{second.show.symptom}' and never shows it at one place ({at.words})",
                    "the same sign cannot speak for a cause and against it",
                    f"mend the side or the units of one of the two; the other is {_where(whole, first)}",
                )


def _where(whole: Whole, link: Link) -> str:
    spot = whole.rulebase.spots.get(link.key)
    return f"at {spot}" if spot else f"under {link.key}"


@lint("never-says-nothing", "error")
def never_says_nothing(whole: Whole) -> Iterator[Flaw]:
    """A sign under never_shows that is hardly ever there anyway."""
    scales = whole.rulebase.scales
    for link in whole.links:
        symptom = whole.rulebase.symptoms[link.show.symptom]
        if link.never and sound_rate(symptom, dict(scales.sound.items())) <= scales.how_often["never"].value:
            yield Flaw(
                link.key,
                f"'{link.show.symptom}' is never seen on a sound undercarriage, so it says nothing under never_shows",
                "it would be no rarer with this cause than without",
                "take it out",
            )


@lint("difference-both-ways", "error")
def difference_both_ways(whole: Whole) -> Iterator[Flaw]:
    """A cause that shows a difference between the sides in both directions at once."""
    for cause in whole.rulebase.causes:
        told: set[tuple[str, str]] = set()
        for layout, drive, place in whole.places(cause):
            profile = whole.profile(cause, place, layout, drive)
            for (name, at), links in profile.items():
                if not whole.rulebase.symptoms[name].directed or at.side != "inboard":
                    continue
                there = profile.get((name, Place(unit=at.unit, side=opposite(at.side))), ())
                for one in links:
                    for other in there:
                        if one is not other and not one.never and not other.never and together(one.show, other.show):
                            first, second = sorted((one, other), key=lambda link: link.key)
                            if (first.key, second.key) not in told:
                                told.add((first.key, second.key))
                                yield Flaw(
                                    second.key,
                                    f"'{name}' is a difference between the sides, and '{cause}' shows it on both",
                                    "only one side of a unit can be the greater",
                                    "keep the side that rubs or carries more, or write side: either",
                                )


@lint("orientation-not-shown", "error")
def orientation_not_shown(whole: Whole) -> Iterator[Flaw]:
    """A cause with a side or hand whose signs are the same for both."""
    for name, cause in whole.rulebase.causes.items():
        for layout, drive in whole.machines_of(cause) if cause.oriented != "none" else ():
            seen: dict[tuple[str, str], dict[str, object]] = {}
            for place in cause_places(cause, layout):
                words = _words(whole.profile(name, place, layout, drive))
                seen.setdefault((place.unit, ""), {})[place.side or place.hand] = words
            if any(len(ways) == 2 and len({repr(one) for one in ways.values()}) == 1 for ways in seen.values()):
                yield Flaw(
                    f"causes/{name}",
                    f"'{name}' is oriented by {cause.oriented}, and shows the same for both {cause.oriented}s "
                    f"on a {layout} machine",
                    f"nothing that is seen could tell which {cause.oriented} is meant",
                    "give it a sign on one side, or write oriented: none",
                )
                break


def _words(profile: Profile) -> list[tuple[str, str, list[str]]]:
    """A profile as plain words that can be compared."""
    found = []
    for (name, at), links in profile.items():
        words = [f"{_context(link.show)} {link.never} {link.show.how_often}" for link in links]
        found.append((name, at.key, sorted(words)))
    return sorted(found)


def _context(show: Shows) -> str:
    return f"{sorted(show.given.items())} {sorted(show.unless.items())}"


@lint("weaker-at-home", "error")
def weaker_at_home(whole: Whole) -> Iterator[Flaw]:
    """A cause of one unit that shows a sign more often on another unit than on its own."""
    for name, cause in whole.rulebase.causes.items():
        if cause.acts_on != "unit":
            continue
        told: set[str] = set()
        for layout, drive, place in whole.places(name):
            profile = whole.profile(name, place, layout, drive)
            home = {
                (symptom, at.side): max(WORDS_UP.index(link.show.how_often) for link in links)
                for (symptom, at), links in profile.items()
                if at.unit == place.unit
            }
            for (symptom, at), links in profile.items():
                for link in links if at.unit not in ("", place.unit) else ():
                    here = max((word for (one, _), word in home.items() if one == symptom), default=-1)
                    if WORDS_UP.index(link.show.how_often) > here and link.key not in told and not link.never:
                        told.add(link.key)
                        yield Flaw(
                            link.key,
                            f"'{name}' acts on one unit, and shows '{symptom}' more often on another ({at.words})",
                            "a fault shows most where it is",
                            "write the word for its own unit, or mend units:",
                        )


@lint("causes-alike", "error")
def causes_alike(whole: Whole) -> Iterator[Flaw]:
    """Two causes that show exactly the same everywhere."""
    known: dict[str, str] = {}
    for name, _cause in whole.rulebase.causes.items():
        places = list(whole.places(name))
        key = repr([(at, _words(whole.profile(name, place, layout, drive))) for layout, drive, place in places
                    for at in [(layout, drive, place.key)]])  # fmt: skip
        if key in known:
            yield Flaw(
                f"causes/{name}",
                f"'{name}' shows exactly what '{known[key]}' shows, at the same places and as often",
                "nothing that is seen could tell the two apart",
                "give one of them a sign of its own, or make them one cause",
            )
        known.setdefault(key, name) if places else None


@lint("cause-without-procedure", "warning")
def cause_without_procedure(whole: Whole) -> Iterator[Flaw]:
    """A cause without work steps."""
    for name, cause in whole.rulebase.causes.items():
        if cause.procedure is None:
            yield Flaw(
                f"causes/{name}",
                f"'{name}' names no procedure",
                "whoever finds it is not told the work, step by step",
                "add procedure: with the id of one",
            )


@lint("feeds-in-vain", "error")
def feeds_in_vain(whole: Whole) -> Iterator[Flaw]:
    """A cause that brings about itself, or one that never shares a machine with it."""
    for name, cause in whole.rulebase.causes.items():
        for n, fed in enumerate(cause.feeds):
            if fed == name:
                what = f"'{name}' is said to bring about itself"
            elif not any(whole.machines_of(cause, whole.rulebase.causes[fed])):
                what = f"'{name}' and '{fed}', which it is said to bring about, never exist on one machine"
            else:
                continue
            yield Flaw(f"causes/{name}/feeds/{n}", what, "the one can never lead to the other", "mend or drop it")


@lint("key-without-effect", "warning")
def key_without_effect(whole: Whole) -> Iterator[Flaw]:
    """A key of a cause that changes nothing."""
    for name, cause in whole.rulebase.causes.items():
        for layout in sorted(set(cause.rarer_on) - set(cause.layouts)):
            what = f"rarer_on names {layout}, and '{name}' does not exist there"
            yield Flaw(f"causes/{name}", what, "the word is never read", "take it out, or mend layouts:")
        for layout, word in sorted(cause.rarer_on.items()):
            if word == cause.beforehand:
                what = f"rarer_on says {word} for {layout}, as beforehand: does for all"
                yield Flaw(f"causes/{name}", what, "it changes nothing", "take it out, or write another word")
        for link in whole.links_from.get(name, ()):
            if link.show.appears and not cause.grows:
                what = f"appears: {link.show.appears} on a sign of '{name}', which does not grow"
                why = "a fault that is simply there shows all its signs from the first hour"
                yield Flaw(link.key, what, why, "take appears: out, or grows: no")
