"""From what the rules concluded about one machine to its network, and to the findings that are weighed on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lugwright.belief.ground import Ground, Key, Shift, ground_network
from lugwright.chaining.conclude import Conclusions

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.rulebase.load import RuleBase


def machine_network(case: CaseRecord, rulebase: RuleBase, concluded: Conclusions) -> Ground:
    """The network of this machine, with what the rules concluded about context and exclusions."""
    shifts, excluded = rate_changes(concluded, rulebase)
    return ground_network(
        rulebase,
        case.layout,
        case.drive,
        context=concluded.context,
        shifts=shifts,
        excluded=excluded,
        extents=extents_seen(concluded),
    )


def rate_changes(concluded: Conclusions, rulebase: RuleBase) -> tuple[list[Shift], list[Shift]]:
    """What the rules concluded about the rates of causes: the factors, and what is excluded."""
    shifts = [Shift(cause, rulebase.scales.shifts[word], place) for cause, word, place in concluded.shifts]  # type: ignore[index]
    return shifts, [Shift(cause, 0.0, place) for cause, place, _ in concluded.excluded]


def extents_seen(concluded: Conclusions) -> dict[Key, str]:
    """The extent of every sign that was seen to one."""
    return {(one.symptom, one.place): one.extent for one in concluded.findings if one.extent}


def known_signs(concluded: Conclusions) -> tuple[list[Key], list[Key]]:
    """The signs that are seen, and those that are known to be absent."""
    seen = [(one.symptom, one.place) for one in concluded.findings if one.state == "seen"]
    absent = [(one.symptom, one.place) for one in concluded.findings if one.state == "absent"]
    return seen, absent
