"""From the files of a rule base to a draft: every entry read and checked by itself, every fault noted."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, TypeVar

from lugwright.issues import Issue, Spot
from lugwright.plain_build import Way
from lugwright.plain_yaml import Document, examine_plain, examine_plain_bytes
from lugwright.rulebase.base import KINDS
from lugwright.rulebase.listing import OVERLAY
from lugwright.rulebase.rules import CONCLUSIONS, CONDITIONS, ChainingRule
from lugwright.rulebase.scales import Scales
from lugwright.rulebase.schema import About, ContextFact, MachineSheet, Overlay, ProcedureStep, Shows
from lugwright.rulebase.unfilled import WHY as OPEN
from lugwright.rulebase.unfilled import unfilled
from lugwright.rulebase.words import Frozen
from lugwright.validation import WHY, Names, checked

_Model = TypeVar("_Model", bound=Frozen)

NAMES = Names(
    kinds={
        **{kind: f"a '{word}' condition" for word, kind in CONDITIONS.items()},
        **{kind: f"a '{word}' conclusion" for word, kind in CONCLUSIONS.items()},
        About: "about.yaml", Overlay: "overlay.yaml", Scales: "scales.yaml", ChainingRule: "a rule",
        ContextFact: "a context entry", MachineSheet: "a machine sheet", Shows: "a shown sign", ProcedureStep: "a step",
    },
    items={"when": "a condition", "unless": "a condition", "then": "a conclusion"},
)  # fmt: skip

MOST = 1000  # faults of one file

_ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*$")
_KEY_LINE = re.compile(r"([a-z][a-z0-9-]*):(\s|$)")


@dataclass
class Draft:
    """What could be read so far.

    entries: kind -> id -> entry, for entries that are sound by themselves.
    spots:   kind -> id -> where its key stands, for every id that is written, sound or not.
    unread:  kinds with a file whose ids could not be made out; nothing is called unknown there.
    retired: kind -> id -> where an overlay retires it, for ids that no layer above brings back.
    rescaled: `table/word` of the scales -> where an overlay gives that word another number.
    papers:  every file that could be read, by the name messages give it.
    overlay: what `overlay.yaml` says, where this is an overlay; its `scales` are left to the merging of layers.
    """

    about: About | None = None
    overlay: Overlay | None = None
    scales: Scales | None = None
    entries: dict[str, dict[str, Any]] = field(default_factory=lambda: {kind: {} for kind in KINDS})
    spots: dict[str, dict[str, Spot]] = field(default_factory=lambda: {kind: {} for kind in KINDS})
    documents: dict[tuple[str, str], Document] = field(default_factory=dict)
    unread: set[str] = field(default_factory=set)
    retired: dict[str, dict[str, Spot]] = field(default_factory=lambda: {kind: {} for kind in KINDS})
    rescaled: dict[str, Spot] = field(default_factory=dict)
    papers: dict[str, Document] = field(default_factory=dict)
    issues: list[Issue] = field(default_factory=list)

    def fault(
        self,
        kind: str,
        name: str,
        way: Way,
        code: str,
        what: str,
        why: str,
        hint: str = "",
        *,
        at_key: bool = False,
        find: str = "",
    ) -> None:
        """Note a fault at a way inside an entry: a text where it begins, anything else at its key.

        at_key: at the key even of a text; find: the part of a text to point at.
        """
        document = self.documents[kind, name]
        full: Way = (name, *way)
        text = full in document.marks and isinstance(_at(document, full), str)
        spot = document.value_spot(full) if text and not at_key else document.key_spot(full)
        self.issues.append(document.issue(_find(document, spot, find), code, what, why, hint))

    def places(self) -> dict[str, Spot]:
        """`kind/id` and `kind/id/field/n` -> spot, in sorted order."""
        found: dict[str, Spot] = {}
        for (kind, name), document in sorted(self.documents.items()):
            found[f"{kind}/{name}"] = document.key_spot((name,))
            for key, value in document.data[name].items():
                if isinstance(value, list):
                    for n in range(len(value)):
                        found[f"{kind}/{name}/{key}/{n}"] = document.key_spot((name, key, n))
        return found


def _find(document: Document, spot: Spot, part: str) -> Spot:
    """Where a part of a text stands, from the beginning of the text on; the beginning where it is not found."""
    for number in range(spot.line, len(document.lines) + 1) if part else ():
        column = document.line(number).find(part, spot.column - 1 if number == spot.line else 0)
        if column >= 0:
            return Spot(spot.file, number, column + 1)
    return spot


def _at(document: Document, way: Way) -> Any:
    value = document.data
    for step in way:
        value = value[step]
    return value


def gather(files: Mapping[str, Path], raw: Mapping[str, bytes], shown: str) -> Draft:
    """Read every file of one layer.

    files: name inside the rule base (`causes/toe.yaml`) -> path; raw: the same names -> bytes, where already read.
    """
    draft = Draft()
    for name, path in sorted(files.items()):
        label = f"{shown}/{name}"
        if name in raw:
            document, issues = examine_plain_bytes(raw[name], label)
        else:
            document, issues = examine_plain(path, shown=label)
        draft.issues += issues
        if document is not None:
            document = _marked(draft, document, name.partition("/")[0])
            draft.papers[label] = document
        kind, slash, _ = name.partition("/")
        if not slash:
            _single(draft, name, document, over=OVERLAY in files)
            continue
        if document is not None:
            _entries(draft, kind, document)
        if document is None or not document.whole:
            _scan(draft, kind, label, raw.get(name))
    return draft


def _marked(draft: Draft, document: Document, kind: str) -> Document:
    """The document with every TODO noted and marked as faulty, so that nothing else is said about such an entry."""
    blanks = unfilled(document, KINDS.get(kind), keyed=kind in KINDS)
    draft.issues += [document.issue(blank.spot, "unfilled", blank.what, OPEN, blank.hint) for blank in blanks]
    return replace(document, faulty=document.faulty | {blank.way for blank in blanks})


def _single(draft: Draft, name: str, document: Document | None, *, over: bool) -> None:
    """`about.yaml`, `overlay.yaml` and `scales.yaml`: the file is the entry."""
    if document is None or document.faulty or not document.whole:
        return
    if name == "about.yaml":
        draft.about = _checked(draft, About, document, ())
    elif name == OVERLAY:
        draft.overlay = _checked(draft, Overlay, document, ())
    elif not over:
        draft.scales = _checked(draft, Scales, document, ())


def _checked(draft: Draft, model: type[_Model], document: Document, way: Way) -> _Model | None:
    entry, issues = checked(model, document, way, NAMES)
    draft.issues += issues
    return entry


def _entries(draft: Draft, kind: str, document: Document) -> None:
    faulty = {way[0] for way in document.faulty if way}
    if not document.whole and document.data:
        faulty.add(next(reversed(document.data)))
    before, given_up = len(draft.issues), False
    for name in document.data:
        spot = document.key_spot((name,))
        if not _ID.match(name) or len(name) > 60:
            what = f"'{name[:60]}' is not written like an id"
            hint = "small letters and digits with single hyphens, at most 60"
            draft.issues.append(document.issue(spot, "bad-id", what, WHY["bad-id"], hint))
            continue
        if first := draft.spots[kind].get(name):
            what, why = f"'{name}' is written a second time under {kind}", "only one of the two entries could count"
            hint = f"rename or delete one; the first stands at {first}"
            draft.issues.append(document.issue(spot, "duplicate-id", what, why, hint))
            continue
        draft.spots[kind][name] = spot
        if len(draft.issues) - before > MOST:
            if not given_up:
                what = f"more than {MOST} faults; from here on the file was not checked"
                why = "one mistake may be behind them all"
                draft.issues.append(document.issue(spot, "too-many-faults", what, why, "mend those first"))
            given_up = True
        elif name not in faulty and (entry := _checked(draft, KINDS[kind], document, (name,))) is not None:
            draft.entries[kind][name] = entry
            draft.documents[kind, name] = document


def _scan(draft: Draft, kind: str, label: str, raw: bytes | None) -> None:
    """Make out the ids of a file that could not be read to its end, so that using them is no second fault."""
    if raw is None or b"\0" in raw:
        draft.unread.add(kind)
        return
    for number, line in enumerate(raw.decode("utf-8", "replace").splitlines(), 1):
        if found := _KEY_LINE.match(line):
            draft.spots[kind].setdefault(found[1], Spot(label, number, 1))
