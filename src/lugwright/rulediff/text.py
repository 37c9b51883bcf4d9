"""The difference between two rule bases for the terminal: what changed in knowledge, then what that does to cases."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from lugwright.report.figures import percent
from lugwright.report.lines import Line
from lugwright.report.text import VERDICTS
from lugwright.rulediff.shape import CaseChange, CaseEffect, EntryChange, FirstCause, FirstCheck, RuleDiff

_MARKS = {"added": "+", "removed": "-", "changed": "~", "renamed": "="}


def diff_lines(found: RuleDiff) -> Iterator[Line]:
    """Everything that changed. Added entries are marked +, removed -, changed ~, renamed =."""
    yield Line(f"old   rule base {found.old.version} ({found.old.fingerprint})", tone="faint")
    yield Line(f"new   rule base {found.new.version} ({found.new.fingerprint})", tone="faint")
    yield Line()
    if found.same:
        yield Line("Both rule bases say the same.", tone="strong")
        if found.old.fingerprint != found.new.fingerprint:
            yield Line("Only the order or the way of writing differs.", indent=2)
    else:
        count = Counter[str](one.how for one in found.entries)
        told = ", ".join(f"{count[how]} {how}" for how in _MARKS if count[how])
        yield Line(f"Entries: {told}.", tone="strong")
    kind = ""
    for one in found.entries:
        if one.kind != kind:
            kind = one.kind
            yield Line()
            yield Line("chaining rules" if kind == "chaining" else kind, tone="head")
        yield from _entry(one)
    if found.cases is not None:
        yield Line()
        yield from _cases(found.cases)


def _entry(one: EntryChange) -> Iterator[Line]:
    title = {
        "added": f"{one.id} added: {one.name}",
        "removed": f"{one.id} removed: {one.name}",
        "renamed": f"{one.was} is now called {one.id}{'' if one.changes else ' (same content)'}: {one.name}",
        "changed": f"{one.id}: {one.name}",
    }[one.how]
    yield Line(title, indent=2, label=_MARKS[one.how], label_width=2, tone="strong")
    if one.where:
        yield Line(one.where, indent=4, tone="faint")
    for change in one.changes:
        yield Line(change.says, indent=6)


def _cases(effect: CaseEffect) -> Iterator[Line]:
    cases = "1 case" if effect.total == 1 else f"{effect.total} cases"
    told = [f"{len(effect.changed)} changed", f"{effect.unchanged} unchanged"]
    told += [f"{len(effect.not_read)} could not be compared"] if effect.not_read else []
    yield Line(f"{cases}: {', '.join(told)} in first cause, verdict and next check.", tone="head")
    for one in effect.changed:
        yield Line()
        yield from _case(one)
    for refused in effect.not_read:
        under = {"old": "the old rule base", "new": "the new rule base", "both": "either rule base"}[refused.under]
        yield Line()
        yield Line(f"{refused.file}: cannot be used under {under}", indent=2, tone="strong")
        for reason in refused.reasons:
            yield Line(reason, indent=6)


def _case(one: CaseChange) -> Iterator[Line]:
    yield Line(f"{one.case}  ({one.file}): another {' and '.join(one.changed)}", indent=2, tone="strong")
    if "first cause" in one.changed:
        yield _row("first cause", "was", f"{one.first_old.words}: {_figures(one.first_old)}")
        yield _row("", "now", f"{one.first_new.words}: {_figures(one.first_new)}")
    else:
        yield _row("first cause", "same", f"{one.first_new.words}: {_figures(one.first_new)}")
    before, after = VERDICTS[one.verdict_old][0].lower(), VERDICTS[one.verdict_new][0].lower()
    if "verdict" in one.changed:
        yield _row("verdict", "was", before)
        yield _row("", "now", after)
    if "next check" in one.changed:
        yield _row("next check", "was", _check(one.check_old))
        yield _row("", "now", _check(one.check_new))


def _row(what: str, when: str, text: str) -> Line:
    return Line(text, indent=6, label=f"{what:<13}{when:<5}", label_width=18)


def _figures(cause: FirstCause) -> str:
    before, after = (percent(value) if value is not None else "not listed" for value in (cause.old, cause.new))
    return f"{before} under the old, {after} under the new"


def _check(check: FirstCheck | None) -> str:
    return f"{check.words}, {check.minutes:g} min, tells {check.gain_bits:.2f} bits" if check else "none"
