"""Laying overlays over a rule base: entries added, replaced and retired by id.

Nothing is replaced in silence: an id that exists below must be listed under `replaces`, and whatever is listed under
`replaces` or `retires` must exist below. Every fault points into the layer that holds it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from lugwright.issues import Issue, Spot, nearest
from lugwright.plain_build import short
from lugwright.rulebase.base import KINDS, Layer
from lugwright.rulebase.gather import Draft
from lugwright.rulebase.layers import Home
from lugwright.rulebase.listing import OVERLAY
from lugwright.rulebase.rescale import rescaled

_KEY = re.compile(r"([a-z]+)/([a-z][a-z0-9]*(?:-[a-z0-9]+)*)$")
_SHIPPED = "shipped"


@dataclass
class _Listed:
    """The entries named under `replaces` and `retires`, each with where it is named."""

    replaces: dict[str, Spot]
    retires: dict[str, Spot]


def merged(homes: Sequence[Home], drafts: Sequence[Draft]) -> tuple[Draft, tuple[Layer, ...]]:
    """All layers as one draft, from the bottom up, and what each of them does. The drafts are used up."""
    below = drafts[0]
    bottom = homes[0]
    about = below.about
    layers = [Layer(about.title if about else "", about.version if about else "", bottom.folder, bottom.shown)]
    scales = below.papers.get(f"{bottom.shown}/scales.yaml")
    for home, top in zip(homes[1:], drafts[1:], strict=True):
        below.issues += top.issues
        below.unread |= top.unread
        below.papers.update(top.papers)
        over = _Over(below, top, home, layers)
        over.stands_on([(one, draft.overlay.title) for one, draft in zip(homes, drafts, strict=True) if draft.overlay])
        layers.append(over.lay())
        if below.scales is not None and scales is not None:
            scales, words = rescaled(below, scales, top.papers.get(f"{home.shown}/scales.yaml"), layers[-1])
            layers[-1] = replace(layers[-1], replaces=(*layers[-1].replaces, *words))
    return below, tuple(layers)


class _Over:
    """One overlay while it is laid over what lies below."""

    def __init__(self, below: Draft, top: Draft, home: Home, layers: Sequence[Layer]) -> None:
        self.below, self.top, self.home, self.layers = below, top, home, layers
        self.name = f"{home.shown}/{OVERLAY}"

    def fault(self, spot: Spot, code: str, what: str, why: str, hint: str = "") -> None:
        document = self.below.papers.get(spot.file)
        text = document.line(spot.line) if document else ""
        self.below.issues.append(Issue(spot, code, what, why, hint, text=text))

    def stands_on(self, overlays: Sequence[tuple[Home, str]]) -> None:
        """The title must be its own, and the layer it was written over must lie below."""
        overlay = self.top.overlay
        if overlay is None:
            return
        document = self.below.papers[self.name]
        titles = {layer.title: layer for layer in self.layers}
        if overlay.title in titles:
            what = f"'{overlay.title}' is already the title of {titles[overlay.title].shown}"
            why = "every page names the layer an entry comes from"
            self.fault(document.value_spot(("title",)), "wrong-layers", what, why, "give it a title of its own")
        if overlay.over == _SHIPPED or overlay.over in titles:
            return
        above = [home for home, title in overlays if title == overlay.over and home is not self.home]
        what = f"this overlay was written over '{short(overlay.over)}', which does not lie below it"
        why = "what it replaces or builds on may not be there"
        hint = f"name the folder of '{short(overlay.over)}' before {self.home.shown}"
        if above:
            hint = f"name {above[0].shown} first: --rules {above[0].shown} --rules {self.home.shown}"
        elif close := nearest(overlay.over, [*titles, _SHIPPED], 1):
            hint = f"did you mean '{close[0]}'?"
        self.fault(document.value_spot(("over",)), "wrong-layers", what, why, hint)

    def lay(self) -> Layer:
        """Retire, replace and add in the draft below."""
        below, top = self.below, self.top
        known = {kind: set(below.spots[kind]) for kind in KINDS}
        listed = self._listed()
        self._nothing_in_silence(listed)
        retires = [key for key in listed.retires if self._is_below(key) and not self._is_written(key)]
        for key in retires:
            kind, _, name = key.partition("/")
            below.retired[kind][name] = listed.retires[key]
            for kept in (below.spots[kind], below.entries[kind]):
                kept.pop(name, None)
            below.documents.pop((kind, name), None)
        adds: list[str] = []
        replaces: list[str] = []
        for kind in KINDS:
            for name, spot in top.spots[kind].items():
                (replaces if name in known[kind] else adds).append(f"{kind}/{name}")
                below.retired[kind].pop(name, None)
                below.entries[kind].pop(name, None)
                below.documents.pop((kind, name), None)
                below.spots[kind][name] = spot
                if name in top.entries[kind]:
                    below.entries[kind][name] = top.entries[kind][name]
                    below.documents[kind, name] = top.documents[kind, name]
        title, version = (top.overlay.title, top.overlay.version or "") if top.overlay else ("", "")
        return Layer(
            title, version, self.home.folder, self.home.shown, True,
            tuple(sorted(adds)), tuple(sorted(replaces)), tuple(sorted(retires)),
        )  # fmt: skip

    def _is_below(self, key: str) -> bool:
        kind, _, name = key.partition("/")
        return name in self.below.spots[kind]

    def _is_written(self, key: str) -> bool:
        kind, _, name = key.partition("/")
        return name in self.top.spots[kind]

    def _listed(self) -> _Listed:
        """What is listed in `overlay.yaml`; what is not written like `kind/id`, or listed twice, is a fault."""
        found = _Listed({}, {})
        overlay = self.top.overlay
        document = self.below.papers.get(self.name)
        if overlay is None or document is None:
            return found
        first: dict[str, Spot] = {}
        for part, keys in (("replaces", overlay.replaces), ("retires", overlay.retires)):
            for n, key in enumerate(keys):
                spot = document.value_spot((part, n))
                if hint := self._misspelt(key):
                    what, why = f"'{short(key)}' does not name an entry", "an entry is named by its folder and its id"
                    self.fault(spot, "bad-entry-key", what, why, hint)
                elif key in first:
                    what, why = f"'{key}' is listed a second time", "an entry is either replaced or retired, once"
                    self.fault(spot, "bad-entry-key", what, why, f"keep one; the first stands at {first[key]}")
                else:
                    first[key] = getattr(found, part)[key] = spot
        return found

    def _misspelt(self, key: str) -> str:
        """What to write instead of something that is not `kind/id`; empty where it is."""
        form = _KEY.match(key)
        if form and form[1] in KINDS:
            return ""
        name = key.rpartition("/")[2]
        kinds = [kind for kind in KINDS if name in self.below.spots[kind]]
        if kinds:
            return "write " + " or ".join(f"{kind}/{name}" for kind in kinds)
        folder, slash, _ = key.partition("/")
        if slash and _KEY.match(key) and (close := nearest(folder, KINDS, 1)):
            return f"write {close[0]}/{name}"
        return "write it like causes/toe-in-error; the folders are " + ", ".join(KINDS)

    def _nothing_in_silence(self, listed: _Listed) -> None:
        if self.top.overlay is None:
            return  # what it lists is not known
        for kind in KINDS:
            for name, spot in self.top.spots[kind].items():
                key = f"{kind}/{name}"
                if self._is_below(key) and key not in listed.replaces and key not in listed.retires:
                    what = f"'{name}' exists in the layer below ({self.below.spots[kind][name]})"
                    why = "an entry must not take the place of another unnoticed"
                    hint = f"list {key} under replaces in {self.name}, or give this one an id of its own"
                    self.fault(spot, "clash-below", what, why, hint)
        for part, keys in (("replaces", listed.replaces), ("retires", listed.retires)):
            for key, spot in keys.items():
                self._one_listed(part, key, spot)

    def _one_listed(self, part: str, key: str, spot: Spot) -> None:
        kind, _, name = key.partition("/")
        if not self._is_below(key):
            if kind not in self.below.unread:
                self._nothing_below(part, key, spot)
        elif part == "replaces" and not self._is_written(key) and kind not in self.top.unread:
            what = f"'{key}' is listed under replaces, and this overlay does not write it"
            hint = f"write '{name}' in a file under {self.home.shown}/{kind}, or list it under retires"
            self.fault(spot, "nothing-below", what, "there is nothing to take its place", hint)
        elif part == "retires" and self._is_written(key):
            what = f"'{key}' is listed under retires, and this overlay writes it ({self.top.spots[kind][name]})"
            hint = "list it under replaces, or delete the entry"
            self.fault(spot, "clash-below", what, "an entry cannot be gone and be there", hint)

    def _nothing_below(self, part: str, key: str, spot: Spot) -> None:
        kind, _, name = key.partition("/")
        what = f"no layer below has '{key}', so it {part[:-1]}s nothing"
        why = "a list that names nothing hides a misspelt id, or an entry that has been renamed below"
        close = nearest(name, self.below.spots[kind])
        hint = "did you mean " + " or ".join(f"'{kind}/{other}'" for other in close) + "?" if close else ""
        if gone := self.below.retired[kind].get(name):
            what = f"'{key}' is already retired below ({gone}), so it {part[:-1]}s nothing"
            hint = "take it off this list" + (": a retired id is brought back by writing it" * (part == "replaces"))
        elif part == "replaces" and self._is_written(key):
            hint = f"{hint} Or " * bool(hint) + "take it off this list: a new id is simply added"
        self.fault(spot, "nothing-below", what, why, hint or "take it off this list")
