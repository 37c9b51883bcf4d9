"""How steady the first place of a case is, as it is shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.diagnosis import Steadiness

if TYPE_CHECKING:
    from lugwright.belief.steadiness import Steady


def steadiness_shown(found: Steady, asked: int) -> Steadiness:
    """How often the first place stayed first, and what was cut short; asked: the draws that were wanted."""
    notes = []
    if found.draws < asked:
        notes.append(f"{found.draws} redraws only: the findings hang together widely")
    if found.set_aside:
        notes.append(f"{found.set_aside} signs that are common on a sound machine were set aside")
    return Steadiness(
        draws=found.draws,
        first=found.first,
        first_in=found.first_in,
        word=found.word,
        low=found.low,
        high=found.high,
        instead=tuple(name for name, _ in found.firsts if name != found.first)[:3],
        note="; ".join(notes),
    )
