"""Scraper gap over a full turn of the wheel."""

from __future__ import annotations

from collections.abc import Mapping


def gap(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Spread of the gap round the wheel: run-out of the wheel shows here.

    fields: `largest` and, if taken, `smallest` gap in mm, each >= 0.
    Adds    `spread` (mm) when both were taken.

    >>> gap({"largest": 12.0, "smallest": 9.0}, {})["spread"]
    3.0
    >>> gap({"largest": 12.0}, {})
    {'largest': 12.0}
    """
    if "smallest" not in fields:
        return dict(fields)
    return {**fields, "spread": float(fields["largest"]) - float(fields["smallest"])}
