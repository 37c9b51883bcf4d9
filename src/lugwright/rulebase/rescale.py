"""An overlay may give words of `scales.yaml` other numbers: the tables it names, and in them the words it names.

It cannot bring in a word that the layer below does not have, and it says why and on what its numbers rest. The list of
probability words is replaced whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from lugwright.issues import did_you_mean
from lugwright.plain_build import short
from lugwright.plain_yaml import Document
from lugwright.rulebase.base import Layer
from lugwright.rulebase.gather import NAMES, Draft
from lugwright.rulebase.scales import Scales
from lugwright.rulebase.words import Basis, Frozen, Text
from lugwright.validation import Names, checked


class _Reason(Frozen):
    """Why an overlay gives a word another number."""

    because: Text
    basis: Basis


_REASON_NAMES = Names({_Reason: "scales.yaml"})


def rescaled(below: Draft, scales: Document, top: Document | None, layer: Layer) -> tuple[Document, Sequence[str]]:
    """The scales with the numbers an overlay gives to words, and those words as `scales/table/word`."""
    if top is None or top.faulty or not top.whole:
        return scales, ()
    given = {key: top.data[key] for key in ("because", "basis") if key in top.data}
    reason, faults = checked(_Reason, top, (), _REASON_NAMES, given)
    issues = list(faults)
    data: dict[str, Any] = dict(scales.data)
    words: list[str] = []
    for table, value in top.data.items():
        known = scales.data.get(table)
        if table in ("because", "basis"):
            continue
        if not isinstance(known, dict) or not isinstance(value, dict):
            data[table] = value
            words.append(f"scales/{table}")
            continue
        data[table] = dict(known)
        for word, number in value.items():
            if word in known:
                data[table][word] = number
                words.append(f"scales/{table}/{word}")
                below.rescaled[f"{table}/{word}"] = top.key_spot((table, word))
                continue
            what = f"'{short(word)}' is not a word of '{table}' in the layer below"
            why = "an overlay gives a word another number; it cannot bring in new words"
            spot = top.key_spot((table, word))
            issues.append(top.issue(spot, "unknown-word", what, why, did_you_mean(word, known)))
    if reason is not None and not issues:
        said = f"{reason.basis.kind}: {reason.basis.source}" if reason.basis.source else reason.basis.kind
        data["because"] = f"{scales.data['because']} In {layer.title} ({said}): {reason.because}"
    document = Document(top.name, data, top.lines, top.marks)
    entry, faults = checked(Scales, document, (), NAMES)
    issues += faults
    below.issues += issues
    if entry is None or issues:
        return scales, words
    below.scales = entry
    return document, words
