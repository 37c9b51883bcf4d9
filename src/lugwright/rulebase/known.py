"""What is written in a rule base, sound or not: every id with where it stands, and its entry as plain data.

For the tools that help to write a rule base, which is unfinished while it is being written. Nothing is checked here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lugwright.issues import Spot, UnusableInput
from lugwright.plain_yaml import examine_plain_bytes
from lugwright.rulebase.base import KINDS
from lugwright.rulebase.layers import homes
from lugwright.rulebase.listing import OVERLAY
from lugwright.rulebase.reading_fields import DERIVED


@dataclass(frozen=True)
class Known:
    """The entries of all layers, an upper one in place of a lower one of the same kind and id.

    entries: kind -> id -> plain data, in the order of the ids. spots: kind -> id -> where it stands.
    scales:  `scales.yaml` of the bottom layer as plain data.
    """

    entries: Mapping[str, Mapping[str, Any]] = field(default_factory=lambda: {kind: {} for kind in KINDS})
    spots: Mapping[str, Mapping[str, Spot]] = field(default_factory=lambda: {kind: {} for kind in KINDS})
    scales: Mapping[str, Any] = field(default_factory=dict)

    def names(self, kind: str) -> dict[str, str]:
        """Id -> plain name of every entry of a kind."""
        return {one: _text(entry, "name") for one, entry in self.entries[kind].items()}

    def aliases(self) -> dict[str, str]:
        """Other name of a symptom -> its id."""
        found = {}
        for one, entry in self.entries["symptoms"].items():
            others = entry.get("also_called") if isinstance(entry, dict) else ()
            found.update({other: one for other in others if isinstance(other, str)} if isinstance(others, list) else {})
        return found

    def answers(self, context: str) -> dict[str, str]:
        """Answer -> meaning of a context entry; empty where it is answered with a number."""
        return {key: text for key, text in self._table("context", context, "answers") if isinstance(text, str)}

    def derived(self, context: str) -> bool:
        """Whether a context entry is concluded by rules, not asked."""
        return _text(self.entries["context"].get(context), "derived").lower() in ("true", "yes", "on", "1", "y", "t")

    def fields(self, check: str) -> dict[str, str]:
        """Field -> meaning of what is written down at a check."""
        return {key: _text(entry, "means") for key, entry in self._table("checks", check, "reading")}

    def needed(self, check: str) -> list[str]:
        """The fields without which a reading of a check is incomplete."""
        no = ("false", "no", "off", "0", "n", "f")
        fields = self._table("checks", check, "reading")
        return [key for key, entry in fields if _text(entry, "needed").lower() not in no]

    def offered(self, check: str) -> list[str]:
        """The fields a rule may read from a reading of a check: those written down and those worked out."""
        own = dict(self._table("checks", check, "reading"))
        worked_out = DERIVED.get(_text(self.entries["checks"].get(check), "computation"), {})
        both = "inboard" in own and "outboard" in own
        return [*own, *(key for key, what in worked_out.items() if key not in own and (what != "same" or both))]

    def words(self, table: str) -> list[str]:
        """The words of a table of the scales."""
        found = self.scales.get(table)
        return list(found) if isinstance(found, dict) else []

    def _table(self, kind: str, name: str, key: str) -> Iterator[tuple[str, Any]]:
        entry = self.entries[kind].get(name)
        table = entry.get(key) if isinstance(entry, dict) else None
        yield from table.items() if isinstance(table, dict) else ()


def _text(entry: Any, key: str) -> str:
    value = entry.get(key) if isinstance(entry, dict) else None
    return value if isinstance(value, str) else ""


def known(folders: Sequence[Path] = ()) -> Known:
    """What is written in a rule base of one or more layers, from the bottom up; without any, in the shipped one.

    Raises UnusableInput where the folders do not make up a rule base. Faults inside the files are passed over.

    >>> "toe-in-error" in known().spots["causes"]
    True
    """
    layers, issues = homes(folders)
    if not layers:
        raise UnusableInput(issues)
    entries: dict[str, dict[str, Any]] = {kind: {} for kind in KINDS}
    spots: dict[str, dict[str, Spot]] = {kind: {} for kind in KINDS}
    scales: Mapping[str, Any] = {}
    for home in layers:
        for name, raw in sorted(home.raw.items(), key=lambda file: (file[0] != OVERLAY, file[0])):
            document, _ = examine_plain_bytes(raw, f"{home.shown}/{name}", empty_ok=True)
            kind = name.partition("/")[0]
            if document is None or not isinstance(document.data, dict):
                continue
            if name == OVERLAY:
                for key in document.data.get("retires", ()):
                    retired_kind, _, one = key.partition("/") if isinstance(key, str) else ("", "", "")
                    for kept in (entries.get(retired_kind, {}), spots.get(retired_kind, {})):
                        kept.pop(one, None)
            elif name == "scales.yaml" and not home.overlay:
                scales = document.data
            elif kind in KINDS:
                for one, entry in document.data.items():
                    entries[kind][one] = entry
                    spots[kind][one] = document.key_spot((one,))
    return Known(
        {kind: dict(sorted(found.items())) for kind, found in entries.items()},
        {kind: dict(sorted(found.items())) for kind, found in spots.items()},
        scales,
    )
