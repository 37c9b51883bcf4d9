"""The rule base as everything else reads it: checked, frozen, every kind of entry in the order of its ids."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from lugwright.issues import Issue, Spot
from lugwright.rulebase.rules import ChainingRule
from lugwright.rulebase.scales import Scales
from lugwright.rulebase.schema import About, Cause, Check, ContextFact, Entry, MachineSheet, Procedure, Symptom
from lugwright.rulebase.words import Frozen

#: Folder -> the shape of its entries. The folder is the kind of an entry in keys such as `causes/toe-in-error`.
KINDS: dict[str, type[Entry]] = {
    "symptoms": Symptom,
    "causes": Cause,
    "context": ContextFact,
    "chaining": ChainingRule,
    "checks": Check,
    "procedures": Procedure,
    "machines": MachineSheet,
}


class Content(Frozen):
    """Everything a rule base says, without where it says it. Ids stand in sorted order."""

    about: About
    scales: Scales
    symptoms: dict[str, Symptom]
    causes: dict[str, Cause]
    context: dict[str, ContextFact]
    chaining: dict[str, ChainingRule]
    checks: dict[str, Check]
    procedures: dict[str, Procedure]
    machines: dict[str, MachineSheet]

    def plain(self) -> dict[str, Any]:
        """The content as plain data: what equals a default is left out, keys as they are written."""
        return self.model_dump(mode="json", by_alias=True, exclude_defaults=True)


def fingerprint(plain: Mapping[str, Any]) -> str:
    """Eight hex digits over plain content; comments, layout, files and the order of keys do not matter.

    >>> fingerprint({"a": 1, "b": {"d": 2, "c": 3}}) == fingerprint({"b": {"c": 3, "d": 2}, "a": 1})
    True
    """
    text = json.dumps(plain, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:8]


@dataclass(frozen=True)
class Layer:
    """One folder of a rule base: the whole rule base at the bottom, or an overlay laid over it.

    shown:    how messages name the folder.
    adds, replaces, retires: what an overlay does to the layers below it, as `kind/id`; a word of `scales.yaml` that it
              gives another number is a replacement, named `scales/how_often/usually`.
    """

    title: str
    version: str
    folder: Path
    shown: str
    overlay: bool = False
    adds: tuple[str, ...] = ()
    replaces: tuple[str, ...] = ()
    retires: tuple[str, ...] = ()


@dataclass(frozen=True)
class RuleBase:
    """A whole rule base. Every dict maps id -> entry in the order of the ids.

    aliases:     other symptom ids a case file may use -> the symptom's id.
    spots:       `kind/id` (kind = folder, e.g. `chaining/toe-over-limit-in`) -> where the entry is written; also
                 `causes/id/shows/0`, `chaining/id/when/2` and so on for the items of its lists.
    fingerprint: eight hex digits that change when, and only when, the content changes.
    folder:      where the files of the bottom layer are; messages show them as `shown`/....
    layers:      every folder it was made of, from the bottom up; one, where there is no overlay.
    """

    about: About
    scales: Scales
    symptoms: Mapping[str, Symptom]
    causes: Mapping[str, Cause]
    context: Mapping[str, ContextFact]
    rules: Mapping[str, ChainingRule]
    checks: Mapping[str, Check]
    procedures: Mapping[str, Procedure]
    machines: Mapping[str, MachineSheet]
    aliases: Mapping[str, str]
    fingerprint: str
    spots: Mapping[str, Spot] = field(default_factory=dict, repr=False, compare=False)
    folder: Path = field(default=Path("rules"), repr=False, compare=False)
    shown: str = field(default="rules", repr=False, compare=False)
    layers: tuple[Layer, ...] = field(default=(), repr=False, compare=False)

    @classmethod
    def of(
        cls,
        content: Content,
        print_: str,
        spots: Mapping[str, Spot],
        folder: Path,
        shown: str,
        layers: tuple[Layer, ...] = (),
    ) -> RuleBase:
        """A rule base from checked content."""
        layers = layers or (Layer(content.about.title, content.about.version, folder, shown),)
        aliases = {alias: name for name, symptom in content.symptoms.items() for alias in symptom.also_called}
        return cls(
            content.about, content.scales, content.symptoms, content.causes, content.context, content.chaining,
            content.checks, content.procedures, content.machines, dict(sorted(aliases.items())), print_, spots, folder,
            shown, layers,
        )  # fmt: skip

    @property
    def label(self) -> str:
        """Version, fingerprint and overlays, as in `rule base 0.1.0 (a1b2c3d4) + yard rules`."""
        over = "".join(f" + {layer.title}" for layer in self.layers[1:])
        return f"rule base {self.about.version} ({self.fingerprint}){over}"

    @cached_property
    def layer_of(self) -> Mapping[str, str]:
        """`kind/id` -> the title of the layer the entry comes from; also `scales/table/word` of a changed word."""
        bottom = self.layers[0].title if self.layers else self.about.title
        found = {f"{kind}/{name}": bottom for kind in KINDS for name in self.entries(kind)}
        for layer in self.layers[1:]:
            found.update(dict.fromkeys((*layer.adds, *layer.replaces), layer.title))
        return {key: found[key] for key in sorted(found) if key.startswith("scales/") or self._has(key)}

    def overlay_of(self, key: str) -> str:
        """The title of the overlay an entry (`kind/id`) comes from; empty for an entry of the bottom layer."""
        title = self.layer_of.get(key, "")
        return title if any(layer.title == title for layer in self.layers[1:]) else ""

    def _has(self, key: str) -> bool:
        kind, _, name = key.partition("/")
        return kind in KINDS and name in self.entries(kind)

    def entries(self, kind: str) -> Mapping[str, Entry]:
        """The entries of one kind, by the name of its folder."""
        found: Mapping[str, Entry] = getattr(self, "rules" if kind == "chaining" else kind)
        return found

    def issue(self, key: str, code: str, what: str, why: str = "", hint: str = "", severity: str = "error") -> Issue:
        """A fault of a loaded entry, at the spot of `key` or of the nearest key above it, with the author's line."""
        while key not in self.spots and "/" in key:
            key = key.rpartition("/")[0]
        spot = self.spots.get(key, Spot(self.shown))
        return Issue(spot, code, what, why, hint, severity, self._line(spot))

    def _line(self, spot: Spot) -> str:
        homes = [(layer.shown, layer.folder) for layer in self.layers] or [(self.shown, self.folder)]
        inside = [home for home in homes if spot.file.startswith(f"{home[0]}/")]
        shown, folder = max(inside, key=lambda home: len(home[0]), default=homes[0])
        try:
            path = folder / spot.file.removeprefix(f"{shown}/")
            lines = path.read_text(encoding="utf-8-sig").splitlines()
        except (OSError, UnicodeDecodeError):
            return ""
        return lines[spot.line - 1] if 0 < spot.line <= len(lines) else ""
