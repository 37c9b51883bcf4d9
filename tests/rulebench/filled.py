"""What a trainer might write for every TODO of a skeleton, in the order they stand in."""

from __future__ import annotations

import re

SIGN = "hub-hot"

ENTRIES: dict[str, tuple[str, ...]] = {
    "symptom": ("Sand in the hub", "hubs", "unit", "look", "never", "Sand trickles out.", "It got in.", "judgement"),
    "cause": ("Sandy oil", "unit", "rare", "Sand grinds.", "judgement", "It seizes.", "Wash it.", SIGN, "usually"),
    "chaining": ("Hot means low", f"{SIGN}, unit: $unit", "hub-oil-low, unit: $unit", "Less oil.", "judgement"),
    "check": ("Sieve test", "Sand stays in a sieve.", "judgement", "unit", "10", "low", SIGN, "Drain it.", ),
    "procedure": ("Wash the hub", "Sand must go.", "judgement", "Wash it.", "The oil is clear."),
    "context": ("Sand", "Is it sandy?", "yes-or", "it is", "no-or", "it is not", "Sand gets in.", "judgement"),
    "machine": ("Demo cart", "Invented.", "judgement", "two-track", "none", "yes"),
}  # fmt: skip
CASES: dict[str, tuple[str, ...]] = {
    "symptom": ("Dust alone.", "two-track", "friction", SIGN, "left", "hubs", "20 %"),
    "cause": (
        "Hot hub.", "two-track", "friction", SIGN, "left", "hubs",
        "Warm hub.", "two-track", "friction", SIGN, "left", "hubs", "1 %",
        "Hot hub, low oil.", "two-track", "friction", SIGN, "left", "hubs", "hub-lubrication-neglect",
    ),
    "chaining": (
        "Hot.", "two-track", "friction", SIGN, "left", "hubs",
        "Leaking.", "two-track", "friction", "hub-oil-leak", "left", "lugs",
    ),
}  # fmt: skip


def fill(text: str, words: tuple[str, ...]) -> str:
    """The text with each TODO outside a comment replaced by the next word; all words must be used up."""
    left = list(words)
    lines = [
        line if line.lstrip().startswith("#") else re.sub("TODO", lambda _: left.pop(0), line)
        for line in text.split("\n")
    ]
    assert left == []
    return "\n".join(lines)
