"""What a change of the rule base does to cases: each is triaged under both, and what is read first is compared."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from lugwright.diagnosis import Diagnosis, RankedCause
from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.rulediff.shape import CaseChange, CaseEffect, CaseNotRead, FirstCause, FirstCheck

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

NO_FAULT = "no-fault"
_SOUND = "No fault beyond normal wear"
_Names = Mapping[str, Mapping[str, str]]


def case_files(folder: Path) -> tuple[Path, ...]:
    """The case files of a folder, by name. Raises UnusableInput where there is no such folder or no case in it."""
    if not folder.is_dir():
        why = "cases are read from a folder of .yaml files"
        raise UnusableInput([Issue(Spot(folder.as_posix()), "no-such-folder", "there is no such folder", why)])
    files = tuple(sorted((path for path in folder.glob("*.yaml") if path.is_file()), key=lambda path: path.name))
    if not files:
        why = "without a case nobody can see what a change does"
        raise UnusableInput([Issue(Spot(folder.as_posix()), "no-cases", "no file here ends in .yaml", why)])
    return files


def effect(
    files: Iterable[Path],
    old: RuleBase,
    new: RuleBase,
    renames: _Names,
    *,
    progress: Callable[[int], None] = lambda done: None,
) -> CaseEffect:
    """Triage every case under both rule bases.

    renames:  kind -> old id -> new id; a cause or a check that only has another id counts as the same one.
    progress: called with the number of cases done, after each.
    """
    changed: list[CaseChange] = []
    refused: list[CaseNotRead] = []
    total = 0
    for total, path in enumerate(files, 1):
        before, why_before = _diagnosis(path, old)
        after, why_after = _diagnosis(path, new)
        if before is None or after is None:
            refused.append(_not_read(path, why_before, why_after))
        elif one := _compared(path, before, after, renames):
            changed.append(one)
        progress(total)
    unchanged = total - len(changed) - len(refused)
    return CaseEffect(total=total, unchanged=unchanged, changed=tuple(changed), not_read=tuple(refused))


def _diagnosis(path: Path, rulebase: RuleBase) -> tuple[Diagnosis | None, tuple[str, ...]]:
    """The diagnosis, or the reasons why there is none."""
    from lugwright.casefile.load import load_case
    from lugwright.triage import triage

    try:
        return triage(load_case(path, rulebase, shown=path.name), rulebase), ()
    except UnusableInput as problem:
        return None, tuple(f"{one.spot}: {one.what}" for one in problem.issues)


def _not_read(path: Path, before: tuple[str, ...], after: tuple[str, ...]) -> CaseNotRead:
    under: Literal["old", "new", "both"] = "both" if before and after else "new" if after else "old"
    return CaseNotRead(file=path.name, under=under, reasons=after or before)


def _compared(path: Path, old: Diagnosis, new: Diagnosis, renames: _Names) -> CaseChange | None:
    causes, checks = renames.get("causes", {}), renames.get("checks", {})
    first_old, first_new = _first(old), _first(new)
    check_old, check_new = _check(old), _check(new)
    changed: list[Literal["first cause", "verdict", "next check"]] = []
    if _moved(first_old, causes) != first_new:
        changed.append("first cause")
    if old.verdict.action != new.verdict.action:
        changed.append("verdict")
    if _moved(check_old.key if check_old else "", checks) != (check_new.key if check_new else ""):
        changed.append("next check")
    if not changed:
        return None
    back = {name: was for was, name in causes.items()}
    return CaseChange(
        case=new.case,
        file=path.name,
        changed=tuple(changed),
        first_old=_under_both(first_old, old, new, first_old, _moved(first_old, causes)),
        first_new=_under_both(first_new, old, new, _moved(first_new, back), first_new),
        verdict_old=old.verdict.action,
        verdict_new=new.verdict.action,
        check_old=check_old,
        check_new=check_new,
    )


def _moved(key: str, names: Mapping[str, str]) -> str:
    name, at, place = key.partition("@")
    return names.get(name, name) + at + place


def _first(answer: Diagnosis) -> str:
    """The key of what the answer puts first: no fault where it is at least as likely as the first cause."""
    if not answer.ranked or answer.no_fault >= answer.ranked[0].probability:
        return NO_FAULT
    return answer.ranked[0].key


def _under_both(key: str, old: Diagnosis, new: Diagnosis, key_old: str, key_new: str) -> FirstCause:
    """What was put first by one rule base, with its probability under each."""
    if key == NO_FAULT:
        return FirstCause(key=key, words=_SOUND, old=old.no_fault, new=new.no_fault)
    here, there = _ranked(old, key_old), _ranked(new, key_new)
    words = next(f"{one.name}: {one.place_words}" for one in (there, here) if one)
    return FirstCause(
        key=key, words=words, old=here.probability if here else None, new=there.probability if there else None
    )


def _ranked(answer: Diagnosis, key: str) -> RankedCause | None:
    return next((one for one in answer.ranked if one.key == key), None)


def _check(answer: Diagnosis) -> FirstCheck | None:
    if not answer.next_checks:
        return None
    one = answer.next_checks[0]
    place = one.unit or one.axle or "machine"
    words = f"{one.name}, {one.place_words}" if one.place_words else one.name
    return FirstCheck(key=f"{one.check}@{place}", words=words, gain_bits=one.gain_bits, minutes=one.minutes)
