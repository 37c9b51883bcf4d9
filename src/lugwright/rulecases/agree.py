"""Does a case beside the rules name things that exist, and does it test what it says it tests?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from lugwright.belief.ground import applies, cause_places
from lugwright.casefile.faults import Faults
from lugwright.issues import Issue, did_you_mean, nearest
from lugwright.places import covers, place_from_key
from lugwright.plain_build import Way, short
from lugwright.plain_yaml import Document

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulecases.schema import Expect, RuleCase

_WHY = {
    "unknown-cause": "a cause the rule base does not know can never come out",
    "unknown-rule": "a rule the rule base does not know can never fire",
    "unknown-check": "a check the rule base does not know is never named",
    "unknown-entry": "a case is for causes and chaining rules of this rule base",
    "impossible-place": "a cause can only come out at a place where it can act",
    "untested": "the case would pass whatever became of what it is for",
    "contradiction": "no answer could fulfil both",
}


def disagreements(
    written: RuleCase, record: CaseRecord | None, document: Document, way: Way, rulebase: RuleBase
) -> list[Issue]:
    """Every fault of one entry that shows only beside the rule base or the case record.

    record: the case as read, or None where it could not be read; then places are not looked at.
    """
    faults = Faults(document)
    for n, name in enumerate(written.for_):
        if name not in rulebase.causes and name not in rulebase.rules:
            known = [*rulebase.causes, *rulebase.rules]
            _unknown(faults, _item(document, (*way, "for"), n), "unknown-entry", name, "cause or chaining rule", known)
    for at, text in _causes_named(written.expect, document, (*way, "expect")):
        _cause(faults, at, text, record, rulebase)
    for key in ("fires", "silent"):
        for n, name in enumerate(getattr(written.expect, key)):
            if name not in rulebase.rules:
                at = _item(document, (*way, "expect", key), n)
                _unknown(faults, at, "unknown-rule", name, "chaining rule", rulebase.rules)
    check = written.expect.next_check
    if check and check not in rulebase.checks:
        _unknown(faults, (*way, "expect", "next_check"), "unknown-check", check, "check", rulebase.checks)
    for at, text in _shares(written.expect, (*way, "expect")):
        faults.number(at, text, "share")
    _tests_what_it_says(faults, written, way, rulebase)
    return faults.told()


def cause_of(text: str) -> str:
    """The cause of `cause@place`.

    >>> cause_of("toe-in-error@front-axle")
    'toe-in-error'
    """
    return text.partition("@")[0]


def expected_causes(expect: Expect) -> tuple[str, ...]:
    """Every cause that is expected to stand high: first, among the first, or at least so likely."""
    among = expect.among_first.causes if expect.among_first else ()
    named = (*((expect.first,) if expect.first else ()), *among, *expect.at_least)
    return tuple(dict.fromkeys(cause_of(one) for one in named))


def _item(document: Document, way: Way, n: int) -> Way:
    """The way to the nth item of a list that may have been written as a single word."""
    return (*way, n) if (*way, n) in document.marks else way


def _causes_named(expect: Expect, document: Document, way: Way) -> Iterator[tuple[Way, str]]:
    if expect.first:
        yield (*way, "first"), expect.first
    if expect.among_first:
        for n, one in enumerate(expect.among_first.causes):
            yield _item(document, (*way, "among_first", "causes"), n), one
    for key in ("not_first", "excluded"):
        for n, one in enumerate(getattr(expect, key)):
            yield _item(document, (*way, key), n), one
    for key in ("at_least", "at_most"):
        for one in getattr(expect, key):
            yield (*way, key, one), one


def _shares(expect: Expect, way: Way) -> Iterator[tuple[Way, str]]:
    for key in ("at_least", "at_most"):
        for name, text in getattr(expect, key).items():
            yield (*way, key, name), text
        bound = getattr(expect.no_fault, key) if expect.no_fault else None
        if bound is not None:
            yield (*way, "no_fault", key), bound


def _unknown(faults: Faults, at: Way, code: str, name: str, one: str, known: Iterable[str]) -> None:
    hint = did_you_mean(name, nearest(name, known)) or f"`lugwright rules list` prints every {one}"
    faults.add_at(faults.spot(at), code, f"there is no {one} '{short(name)}'", hint, _WHY[code])


def _cause(faults: Faults, at: Way, text: str, record: CaseRecord | None, rulebase: RuleBase) -> None:
    name, mark, where = text.partition("@")
    spot = faults.key(at) if at[-1] == text else faults.spot(at)
    cause = rulebase.causes.get(name)
    if cause is None:
        hint = did_you_mean(name, nearest(name, rulebase.causes)) or "`lugwright rules list causes` prints them all"
        faults.add_at(spot, "unknown-cause", f"there is no cause '{short(name)}'", hint, _WHY["unknown-cause"])
        return
    if record is None:
        return
    if not applies(cause, record.layout, record.drive):
        drive = "without a drive" if record.drive == "none" else f"with {record.drive} drive"
        what = f"'{name}' does not occur on a {record.layout} {drive}"
        faults.add_at(spot, "impossible-place", what, "choose another machine or cause", _WHY["impossible-place"])
        return
    places = cause_places(cause, record.layout)
    if not mark:
        return
    try:
        found = any(covers(place_from_key(where), place) for place in places)
    except ValueError:
        found = False
    if not found:
        what = f"'{name}' cannot act at '{short(where)}' here"
        hint = did_you_mean(where, [place.key for place in places])
        faults.add_at(spot, "impossible-place", what, hint, _WHY["impossible-place"])


def _tests_what_it_says(faults: Faults, written: RuleCase, way: Way, rulebase: RuleBase) -> None:
    expect, kind = written.expect, written.kind
    causes = [one for one in written.for_ if one in rulebase.causes]
    rules = [one for one in written.for_ if one in rulebase.rules]
    at = faults.key((*way, "kind"))
    held_down = {cause_of(one) for one in (*expect.not_first, *expect.at_most, *expect.excluded)}
    if expect.no_fault and expect.no_fault.at_most is not None:
        held_down |= {name for name in causes if rulebase.causes[name].harmless}
    wanted: dict[str, tuple[list[str], Iterable[str], str]] = {
        "typical": (causes, expected_causes(expect), "under first, among_first or at_least"),
        "mild": (causes, expected_causes(expect), "under first, among_first or at_least"),
        "look-alike": (causes, held_down, "under not_first, at_most or excluded (a harmless one: no_fault at_most)"),
        "fires": (rules, expect.fires, "under fires"),
        "silent": (rules, expect.silent, "under silent"),
        "sound": ([], (), ""),
    }
    named, said, where = wanted[kind]
    if kind == "sound":
        if expect.no_fault is None or expect.no_fault.at_least is None:
            what = "a sound case says how likely 'no fault' is at least"
            faults.add_at(at, "untested", what, "add no_fault: {at_least: ...}", _WHY["untested"])
    elif not named:
        one = "chaining rule" if kind in ("fires", "silent") else "cause"
        what = f"a case of kind '{kind}' names the {one} it is for"
        faults.add_at(at, "untested", what, f"add it under `for:` and {where}", _WHY["untested"])
    for name in named:
        if name not in said:
            what = f"'{name}' is what this '{kind}' case is for, and nothing is expected of it"
            faults.add_at(at, "untested", what, f"name it {where}", _WHY["untested"])
    among = expect.among_first.causes if expect.among_first else ()
    for key, texts in (("first", (expect.first,)), ("among_first", among), ("not_first", expect.not_first)):
        for name in dict.fromkeys(cause_of(text) for text in texts if text):
            if name in rulebase.causes and rulebase.causes[name].harmless:
                what = f"'{name}' is harmless and never ranked, so `{key}` says nothing of it"
                hint = "bound no_fault, or give the cause itself a share under at_least or at_most"
                faults.add_at(faults.key((*way, "expect", key)), "untested", what, hint, _WHY["untested"])
    for name in sorted(set(expect.fires) & set(expect.silent)):
        what = f"'{name}' is expected both to fire and to be silent"
        faults.add_at(faults.key((*way, "expect")), "contradiction", what, "keep one of the two", _WHY["contradiction"])
    if expect.first and expect.first in expect.not_first:
        what = f"'{short(expect.first)}' is expected both first and not first"
        faults.add_at(faults.key((*way, "expect")), "contradiction", what, "keep one of the two", _WHY["contradiction"])
