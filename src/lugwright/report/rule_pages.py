"""Pages of a rule base: a list of entries, and one entry with everything that refers to it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from lugwright.report.book.words import number_words
from lugwright.report.lines import Line

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import Cause, Check, Entry, Procedure, Shows, Symptom

PLAIN = {
    "question": "asks", "recognise": "recognise", "confused_with": "taken for", "if_ignored": "if ignored",
    "remedy": "remedy", "points": "points at", "note": "note",
    "practice_differs": "views differ",
}  # fmt: skip


def list_lines(rulebase: RuleBase, kinds: Iterable[str]) -> Iterator[Line]:
    """Id and name of every entry of the kinds; where overlays lie over the rule base, the layers first."""
    if len(rulebase.layers) > 1:
        yield from _layers(rulebase)
    for kind in kinds:
        entries = rulebase.entries(kind)
        yield Line(f"{kind} ({len(entries)})", tone="head")
        width = max((len(name) for name in entries), default=0) + 2
        for name, entry in entries.items():
            yield Line(
                entry.name + from_overlay(rulebase, f"{kind}/{name}"), indent=2, label=name, label_width=min(width, 42)
            )
        yield Line()


def from_overlay(rulebase: RuleBase, key: str) -> str:
    """The overlay an entry comes from, in brackets after a space; empty for an entry of the rule base below."""
    title = rulebase.overlay_of(key)
    return f" [{title}]" if title else ""


def _layers(rulebase: RuleBase) -> Iterator[Line]:
    yield Line(f"layers ({len(rulebase.layers)}), from the bottom up", tone="head")
    for layer in rulebase.layers:
        version = f" {layer.version}" if layer.version else ""
        yield Line(f"{layer.title}{version}, {layer.shown}", indent=2, tone="strong")
        for label, keys in (("adds", layer.adds), ("replaces", layer.replaces), ("retires", layer.retires)):
            if keys:
                yield Line(", ".join(keys), indent=4, label=label, label_width=10)
    yield Line("An entry of an overlay has its title in brackets.", indent=2, tone="faint")
    yield Line()


def entry_lines(rulebase: RuleBase, kind: str, name: str) -> Iterator[Line]:
    """The page of one entry."""
    entry = rulebase.entries(kind)[name]
    yield Line(f"{name}   {entry.name}", tone="strong")
    yield Line(
        f"{kind.rstrip('s') if kind != 'chaining' else 'chaining rule'}, {rulebase.spots[f'{kind}/{name}']}",
        tone="faint",
    )
    if len(rulebase.layers) > 1:
        yield Line(_layer(rulebase, f"{kind}/{name}"), tone="faint")
    yield Line()
    for field, label in PLAIN.items():
        value = getattr(entry, field, "")
        if isinstance(value, str) and value:
            yield Line(value, label=label, label_width=14)
    yield Line(entry.because, label="because", label_width=14)
    source = f": {entry.basis.source}" if entry.basis.source else ""
    yield Line(f"{entry.basis.kind}{source} (confidence {entry.basis.confidence})", label="basis", label_width=14)
    pages = {"symptoms": _symptom, "causes": _cause, "checks": _check, "procedures": _procedure}
    if kind in pages:
        yield from pages[kind](rulebase, name, entry)  # type: ignore[operator]
    else:
        yield from _other(entry)


def _layer(rulebase: RuleBase, key: str) -> str:
    """Which layer an entry comes from, and which it replaces there."""
    title = rulebase.layer_of[key]
    at = next(number for number, layer in enumerate(rulebase.layers) if layer.title == title)
    if key not in rulebase.layers[at].replaces:
        return f"from {title}"
    below = [layer.title for layer in rulebase.layers[1:at] if key in (*layer.adds, *layer.replaces)]
    return f"from {title}, in place of the entry of {below[-1] if below else rulebase.layers[0].title}"


def place_words(show: Shows) -> str:
    """Where a sign is seen relative to its cause, in words."""
    parts = [f"{show.side} side" if show.side in ("same", "opposite") else f"{show.side}" if show.side else ""]
    parts.append(f"on {show.units} units" if show.units not in (None, "own") else "")
    parts.append(f"{show.layout} only" if show.layout else "")
    parts.append(f"{show.drive} drive only" if show.drive else "")
    parts += [f"when {name} is {answer}" for name, answer in show.given.items()]
    parts += [f"unless {name} is {answer}" for name, answer in show.unless.items()]
    return ", ".join(part for part in parts if part)


def _symptom(rulebase: RuleBase, name: str, entry: Symptom) -> Iterator[Line]:
    noted = f"per {entry.where}, by {entry.by}, {entry.component}; on a sound undercarriage {entry.sound}; "
    yield Line(f"{noted}shows {entry.appears}", label="noted", label_width=14)
    if entry.look_alikes:
        yield Line(", ".join(entry.look_alikes), label="look-alikes", label_width=14)
    rows = [
        (show, cause_id) for cause_id, cause in rulebase.causes.items() for show in cause.shows if show.symptom == name
    ]
    order = list(rulebase.scales.how_often)
    yield Line()
    yield Line("What it may mean", tone="head")
    for show, cause_id in sorted(rows, key=lambda row: (order.index(row[0].how_often), row[1])):
        yield Line(
            f"{rulebase.causes[cause_id].name}  ({cause_id}) {place_words(show)}"
            + from_overlay(rulebase, f"causes/{cause_id}"),
            indent=2,
            label=show.how_often,
            label_width=15,
        )
    checks = [
        check_id + from_overlay(rulebase, f"checks/{check_id}")
        for check_id, check in rulebase.checks.items()
        if name in check.decides
    ]
    yield Line(", ".join(checks) or "none", label="settled by", label_width=14)


def _cause(rulebase: RuleBase, name: str, entry: Cause) -> Iterator[Line]:
    oriented = f", pointing by {entry.oriented}" if entry.oriented != "none" else ""
    yield Line(f"{entry.acts_on}{oriented}; beforehand {entry.beforehand}", label="acts on", label_width=14)
    yield Line(entry.procedure or "none", label="procedure", label_width=14)
    yield Line()
    yield Line("What it shows", tone="head")
    order = list(rulebase.scales.how_often)
    for show in sorted(entry.shows, key=lambda one: order.index(one.how_often)):
        symptom = rulebase.symptoms[show.symptom]
        yield Line(
            f"{symptom.name}  ({show.symptom}) {place_words(show)}"
            + from_overlay(rulebase, f"symptoms/{show.symptom}"),
            indent=2,
            label=show.how_often,
            label_width=15,
        )
    for show in entry.never_shows:
        yield Line(
            f"{rulebase.symptoms[show.symptom].name}  ({show.symptom}) speaks against it",
            indent=2,
            label="never",
            label_width=15,
        )
    if entry.look_alikes:
        yield Line()
        yield Line("Taken for", tone="head")
        for alike in entry.look_alikes:
            yield Line(f"{rulebase.causes[alike.cause].name}: {alike.how} ({alike.split_by})", indent=2)
    if entry.feeds:
        yield Line(", ".join(entry.feeds), label="brings about", label_width=14)


def _check(rulebase: RuleBase, name: str, entry: Check) -> Iterator[Line]:
    yield Line(
        f"{entry.minutes:g} min, risk {entry.risk}{', the machine moves' if entry.moves else ''}, per {entry.where}",
        label="takes",
        label_width=14,
    )
    yield Line(", ".join(entry.needs) or "nothing", label="needs", label_width=14)
    yield Line(f"misses {entry.misses}, false alarm {entry.false_alarm}", label="reliability", label_width=14)
    for text in entry.preconditions:
        yield Line(text, label="first", label_width=14)
    if entry.not_while:
        yield Line(", ".join(entry.not_while), label="not while", label_width=14)
    for text in entry.cautions:
        yield Line(text, label="CAUTION", label_width=14, tone="strong")
    yield Line()
    for number, text in enumerate(entry.steps, 1):
        yield Line(text, label=f"{number}.", label_width=4, indent=2)
    if entry.decides:
        yield Line()
        yield Line(", ".join(entry.decides), label="decides", label_width=14)


def _procedure(rulebase: RuleBase, name: str, entry: Procedure) -> Iterator[Line]:
    yield Line(", ".join(entry.tools) or "none", label="tools", label_width=14)
    for text in entry.before:
        yield Line(text, label="before", label_width=14)
    if entry.not_while:
        yield Line(", ".join(entry.not_while), label="not while", label_width=14)
    for text in entry.cautions:
        yield Line(text, label="CAUTION", label_width=14, tone="strong")
    yield Line()
    for number, step in enumerate(entry.steps, 1):
        if step.caution:
            yield Line(step.caution, label="CAUTION", label_width=10, indent=4, tone="strong")
        yield Line(step.do, label=f"{number}.", label_width=4, indent=2)
    yield Line()
    yield Line(entry.prove, label="prove", label_width=14)
    for text in entry.recheck:
        yield Line(text, label="recheck", label_width=14)
    yield Line(
        "A number in {braces} comes from the machine sheet; without one, see the operator's manual.", tone="faint"
    )


def _other(entry: Entry) -> Iterator[Line]:
    shown = set(PLAIN) | {"name", "because", "basis"}
    for field, value in entry.model_dump(by_alias=True, exclude_none=True, exclude_defaults=True).items():
        if field in shown:
            continue
        rows = (
            value.items()
            if isinstance(value, dict)
            else enumerate(value, 1)
            if isinstance(value, (list, tuple))
            else None
        )
        if rows is None:
            yield Line(str(value), label=field, label_width=14)
            continue
        yield Line(field, tone="head")
        for key, item in rows:
            text = ", ".join(f"{k} {_said(v)}" for k, v in item.items()) if isinstance(item, dict) else _said(item)
            yield Line(text, indent=2, label=f"{key}", label_width=max(4, len(str(key)) + 2))


def _said(value: object) -> str:
    """A value of a rule as it would be read aloud, whatever it holds.

    >>> _said({"tight": {"is": "inboard"}, "offset": {"at_least": "1 mm", "at_most": "3 mm"}})
    'tight is inboard and offset at least 1 mm and at most 3 mm'
    >>> _said({"toe-in": {"at_most": "sheet:toe-limit else 3 mm"}})
    'toe-in at most the toe limit of the machine sheet (3 mm without one)'
    """
    if isinstance(value, dict):
        return " and ".join(f"{str(key).replace('_', ' ')} {_said(one)}" for key, one in value.items())
    if isinstance(value, (list, tuple)):
        return ", ".join(_said(one) for one in value)
    return number_words(str(value))
