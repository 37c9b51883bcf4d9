"""Is a name declared? Shared by all checks of one entry against the others."""

from __future__ import annotations

from typing import Any, cast

from lugwright.issues import did_you_mean, nearest
from lugwright.plain_build import Way, short
from lugwright.rulebase.gather import Draft
from lugwright.rulebase.schema import ContextFact, Symptom

_ONE = {"symptoms": "symptom", "causes": "cause", "context": "context", "checks": "check", "procedures": "procedure"}


def known(draft: Draft, kind: str, name: str, owner_kind: str, owner: str, way: Way, *, at_key: bool = False) -> Any:
    """The entry a name stands for; None where it is not declared (then the fault is noted) or not sound by itself."""
    if name in draft.spots[kind]:
        return draft.entries[kind].get(name)
    if kind in draft.unread:
        return None
    one = _ONE[kind]
    if spot := draft.retired[kind].get(name):
        what = f"'{short(name)}' is retired by an overlay ({spot})"
        why = f"a retired {one} can never be met, and this entry still needs it"
        hint = f"keep it (take it out of retires), or let the overlay replace {owner_kind}/{owner} or retire that too"
        draft.fault(owner_kind, owner, way, f"unknown-{one}", what, why, hint, at_key=at_key)
        return None
    close = nearest(name, draft.spots[kind])
    hint = "did you mean " + " or ".join(f"'{other}' ({draft.spots[kind][other]})" for other in close) + "?"
    hint = hint if close else f"declare it under {kind}, or take it out"
    what = f"'{short(name)}' is not a declared {one}"
    why = f"a {one} that is not declared can never be met"
    draft.fault(owner_kind, owner, way, f"unknown-{one}", what, why, hint, at_key=at_key)
    return None


def symptom_known(draft: Draft, name: str, owner_kind: str, owner: str, way: Way) -> Symptom | None:
    """The symptom a name stands for. A rule base names a symptom by its id; other names are for case files."""
    if name not in draft.spots["symptoms"]:
        for real, symptom in sorted(draft.entries["symptoms"].items()):
            if name in symptom.also_called:
                what = f"'{name}' is another name of '{real}'"
                why = "the rule base calls each symptom by one name; other names are for case files"
                draft.fault(owner_kind, owner, way, "unknown-symptom", what, why, f"write '{real}'")
                return cast("Symptom", symptom)
    return cast("Symptom | None", known(draft, "symptoms", name, owner_kind, owner, way))


def answer(draft: Draft, question: str, wanted: str, owner_kind: str, owner: str, way: Way) -> None:
    """Note a fault where a context entry has no such answer."""
    entry = draft.entries["context"].get(question)
    if not isinstance(entry, ContextFact) or wanted in entry.answers:
        return
    why = "an answer nobody can give is never met"
    if entry.quantity:
        what = f"'{question}' is answered with a number, not with a word"
        hint = "let a rule conclude a derived context from it, and use that"
    else:
        close = nearest(wanted, entry.answers, 1)
        what = f"'{short(wanted)}' is no answer to '{question}'"
        hint = f"did you mean '{close[0]}'?" if close else "one of: " + ", ".join(entry.answers)
    draft.fault(owner_kind, owner, way, "unknown-answer", what, why, hint)


def sheet_number(draft: Draft, number: str, kind: str, name: str, way: Way, written: str) -> None:
    """A number named in braces or after `sheet:` must be on a machine sheet; `written` is how it is named."""
    if "machines" in draft.unread:
        return
    on_sheets = {key for sheet in draft.entries["machines"].values() for key in sheet.numbers}
    unsound = len(draft.entries["machines"]) < len(draft.spots["machines"])
    if number not in on_sheets and not unsound:
        why = "the number would be missing from the work of every machine"
        hint = did_you_mean(number, on_sheets) or "add it to a sheet under machines"
        for sheet, spot in sorted(draft.retired["machines"].items()):
            hint += f"; the sheet '{sheet}' is retired by an overlay ({spot})"
        what = f"'{short(number)}' is on no machine sheet"
        draft.fault(kind, name, way, "unknown-number", what, why, hint, find=written)
