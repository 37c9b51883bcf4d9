"""May the machine keep running? The most severe rule that fired decides; no probability softens it."""

from __future__ import annotations

from lugwright.chaining.conclude import Conclusions
from lugwright.diagnosis import ReadingShown, Reason, VerdictShown
from lugwright.rulebase.words import SEVERITY

#: Said when no rule calls for a limit. It never clears what nobody looked at.
NOTHING_FOUND = "nothing that was noted calls for a limit; what was not looked at is not cleared by this"


def verdict(conclusions: Conclusions, names: dict[str, str], readings: tuple[ReadingShown, ...] = ()) -> VerdictShown:
    """The verdict and every reason for it, most severe first.

    names:    symptom and check ids with their plain names, for the finding that led to a verdict.
    readings: the measurements, so that a reason can show the figure it rests on.
    """
    reasons = [
        Reason(
            action=action,  # type: ignore[arg-type]
            place_words=place.words if place.key != "machine" else "",
            finding=_plain(finding, names),
            measured=_measured(finding, readings),
            limit=limit,
            number=number,
            rule=rule,
        )
        for action, limit, number, place, rule, finding in conclusions.verdicts
    ]
    reasons += _two_limits(reasons)
    reasons.sort(key=lambda one: (SEVERITY.index(one.action), one.place_words, one.rule))
    if not reasons:
        return VerdictShown(
            action="keep-running",
            reasons=(Reason(action="keep-running", place_words="", finding=NOTHING_FOUND),),
        )
    return VerdictShown(action=reasons[0].action, reasons=tuple(dict.fromkeys(reasons)))


def _two_limits(reasons: list[Reason]) -> list[Reason]:
    """Two different limits on one unit are a stop for the road. common practice among cautious workshops."""
    found: dict[str, set[str]] = {}
    for one in reasons:
        if one.action == "limit-use" and one.place_words:
            found.setdefault(one.place_words.split(",")[0], set()).add(one.finding)
    return [
        Reason(
            action="limit-use",
            place_words=unit,
            finding="Two or more limits on one unit",
            limit="No road at all until one of them is put right; move it only to the nearest safe place.",
            number="Each alone would allow slow travel; together they are treated as a stop for roading.",
            rule="two-limits-on-one-unit",
        )
        for unit, findings in sorted(found.items())
        if len(findings) > 1
    ]


def _plain(finding: str, names: dict[str, str]) -> str:
    """The finding by its plain name.

    >>> _plain("hub-hot@left seen", {"hub-hot": "Hot hub"})
    'Hot hub'
    """
    head = finding.split("@")[0].split(" ")
    name = head[1] if head[0] == "reading" and len(head) > 1 else head[0]
    return names.get(name, finding)


def _measured(finding: str, readings: tuple[ReadingShown, ...]) -> str:
    """The reading behind a finding, as written, or nothing."""
    for one in readings:
        if finding.startswith(one.key) or finding.split(" ")[0] in one.findings:
            return one.text
    return ""
