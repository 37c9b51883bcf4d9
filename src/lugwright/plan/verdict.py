"""May the machine keep running? The most severe rule that fired decides; no probability softens it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from lugwright.chaining.conclude import Conclusions, fact_words, place_of
from lugwright.chaining.facts import Fact
from lugwright.diagnosis import ReadingShown, Reason, VerdictShown
from lugwright.places import Place
from lugwright.plan.said import said
from lugwright.plan.waits import works_named
from lugwright.rulebase.words import SEVERITY

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

#: Said when no rule calls for a limit. It never clears what nobody looked at.
NOTHING_FOUND = "nothing that was noted calls for a limit; what was not looked at is not cleared by this"
#: Stands in the place of a rule where a limit follows from two others; it is built in, no rule base holds it.
TWO_LIMITS = "two-limits-on-one-unit"


def plain_names(conclusions: Conclusions, rulebase: RuleBase) -> dict[str, str]:
    """Symptom and check ids with their plain names, and the answers that rules used with theirs."""
    names = {key: one.name for kind in (rulebase.symptoms, rulebase.checks) for key, one in kind.items()}
    used = (one for step in conclusions.steps for one in step.used if one.kind in ("context", "machine"))
    return names | {fact_words(one): said(one, rulebase) for one in used}


#: Procedures that come first, each with its name.
Works = tuple[tuple[str, str], ...]


def works_of(conclusions: Conclusions, rulebase: RuleBase) -> dict[tuple[str, str], Works]:
    """Rules that named work which comes first, by the verdict (rule, action), with that work."""
    found = {}
    for action, _, _, _, rule, _ in conclusions.verdicts:
        if named := works_named(rule, action, rulebase):
            found[rule, action] = tuple((one, rulebase.procedures[one].name) for one in named)
    return found


def verdict(
    conclusions: Conclusions,
    names: Mapping[str, str],
    readings: tuple[ReadingShown, ...] = (),
    works: Mapping[tuple[str, str], Works] | None = None,
) -> VerdictShown:
    """The verdict and every reason for it, most severe first.

    names:    from `plain_names`, for the findings and answers that led to a verdict.
    readings: the measurements, so that a reason can show the figures it rests on.
    works:    from `works_of`.

    A reason names every sign and reading that its rule used, so that two rules on one hub can be told apart.
    """
    reasons = []
    limited: dict[str, set[str]] = {}
    for action, limit, number, place, rule, finding in conclusions.verdicts:
        used = tuple(dict.fromkeys((finding, *_used(conclusions, action, place, rule))))
        first = (works or {}).get((rule, action), ())
        reasons.append(
            Reason(
                action=action,  # type: ignore[arg-type]
                place_words=place.words if place.key != "machine" else "",
                finding=" + ".join(dict.fromkeys(_plain(one, names) for one in used)),
                measured="; ".join(dict.fromkeys(text for one in used if (text := _measured(one, readings)))),
                limit=limit,
                number=number,
                rule=rule,
                work=f"First comes the work: {', '.join(_called(*one) for one in first)}." if first else "",
                procedures=tuple(procedure for procedure, _ in first),
            )
        )
        if action == "limit-use" and place.key != "machine":
            limited.setdefault(place.words.split(",")[0], set()).add(_plain(finding, names))
    reasons += _two_limits(limited)
    reasons.sort(key=lambda one: (SEVERITY.index(one.action), one.place_words, one.rule))
    if not reasons:
        return VerdictShown(
            action="keep-running",
            reasons=(Reason(action="keep-running", place_words="", finding=NOTHING_FOUND),),
        )
    return VerdictShown(action=reasons[0].action, reasons=tuple(dict.fromkeys(reasons)))


def _called(procedure: str, name: str) -> str:
    return f"{name} (lugwright rules show {procedure})"


def _used(conclusions: Conclusions, action: str, place: Place, rule: str) -> Iterator[str]:
    """The signs that were seen and the readings that a rule used where it came to this verdict, in words of facts."""
    for step in conclusions.steps:
        if step.rule != rule:
            continue
        told = (one for one in (*step.concluded, *step.confirmed) if one.kind == "verdict")
        if any(one.get("action") == action and place_of(one) == place for one in told):
            yield from (fact_words(one) for one in step.used if _is_sign(one))


def _is_sign(one: Fact) -> bool:
    return one.kind == "reading" or (one.kind == "finding" and one.get("state") == "seen")


def _two_limits(limited: Mapping[str, set[str]]) -> list[Reason]:
    """Two different limits on one unit are a stop for the road. common practice among cautious workshops.

    limited: unit or axle in words -> the first sign of each limit on it.
    """
    return [
        Reason(
            action="limit-use",
            place_words=where,
            finding="Two or more limits on one unit",
            limit="No road at all until only one of them is left; move it only to the nearest safe place.",
            number="Two limits on one unit count as a stop for the road, whatever each of them would allow alone.",
            rule=TWO_LIMITS,
        )
        for where, findings in sorted(limited.items())
        if len(findings) > 1
    ]


def _plain(finding: str, names: Mapping[str, str]) -> str:
    """The finding by its plain name.

    >>> _plain("hub-hot@left seen", {"hub-hot": "Hot hub"})
    'Hot hub'
    """
    if finding in names:
        return names[finding]
    head = finding.split("@")[0].split(" ")
    name = head[1] if head[0] == "reading" and len(head) > 1 else head[0]
    return names.get(name, finding)


def _measured(finding: str, readings: tuple[ReadingShown, ...]) -> str:
    """The reading behind a finding, as written, or nothing."""
    for one in readings:
        if finding.startswith(one.key) or finding.split(" ")[0] in one.findings:
            return one.text
    return ""
