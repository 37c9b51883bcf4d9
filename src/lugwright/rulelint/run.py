"""All lints over one loaded rule base."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.issues import Issue, Spot
from lugwright.rulelint import alike, around, between, causes, conflict, counted, never, sheets, symptoms, texts, words
from lugwright.rulelint.registry import LINTS
from lugwright.rulelint.whole import Whole

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

#: The modules whose lints are declared by importing them.
ROOMS = (symptoms, causes, alike, never, between, conflict, counted, around, sheets, texts, words)


def lint(rulebase: RuleBase) -> tuple[Issue, ...]:
    """Every flaw of a loaded rule base, in the order of the files. No flaw stops another from being found.

    rulebase: from `lugwright.rulebase.load.load`; its files are read again only to show the author's own lines.
    """
    whole = Whole(rulebase)
    found = set()
    for one in LINTS.values():
        for flaw in one.find(whole):
            if flaw.key == "scales":
                spot = Spot(f"{rulebase.shown}/scales.yaml")
                found.add(Issue(spot, one.code, flaw.what, flaw.why, flaw.hint, one.severity))
            else:
                found.add(rulebase.issue(flaw.key, one.code, flaw.what, flaw.why, flaw.hint, one.severity))
    return tuple(sorted(found))
