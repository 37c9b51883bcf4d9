"""Ground slip in work."""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.readings.uncertainty import ReadingRefused, against

#: Slip that is high for a belt. common practice: 2 to 5 % is usual, 10 % is high.
LIMIT = 0.10
#: Plus-or-minus of a slip worked out from two taped distances. judgement
PLUS_MINUS = 0.01


def slip(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Slip as a share, as written, against the limit.

    fields: `slip`, 0 to 1. Adds `state`: inside, outside or too-close.

    >>> [slip({"slip": share}, {})["state"] for share in (0.035, 0.10, 0.14)]
    ['inside', 'too-close', 'outside']
    """
    return {**fields, "slip": float(fields["slip"]), "state": against(float(fields["slip"]), LIMIT, PLUS_MINUS)}


def from_distances(loaded: float, empty: float) -> float:
    """Slip from the way covered in the same number of wheel turns, pulling and empty, in one unit: 1 - loaded / empty.

    Raises ReadingRefused where the loaded way is the longer one by more than the tape explains.
    Source: definition of travel reduction (agricultural engineering texts).

    >>> round(from_distances(59.8, 62.0), 3)
    0.035
    """
    if empty <= 0 or loaded < 0:
        raise ReadingRefused("empty", "a distance must be above zero", "measure again")
    share = 1 - loaded / empty
    if share < -PLUS_MINUS:
        raise ReadingRefused("loaded", "the loaded way is longer than the empty one", "the two look swapped")
    return max(0.0, share)
