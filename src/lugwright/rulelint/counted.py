"""Lints of evidence: is one observation counted twice, and does a measurement lead where its check says?"""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.rulebase import rules as written
from lugwright.rulelint.registry import Flaw, lint
from lugwright.rulelint.whole import Whole

#: Words strong enough that two of them make one observation weigh like two.
NEAR_CERTAIN = ("almost-always", "usually")

#: How often a sound undercarriage shows a sign that weighs so little that counting it again turns no answer.
ORDINARY = ("usually", "often")


@lint("evidence-twice", "warning")
def evidence_twice(whole: Whole) -> Iterator[Flaw]:
    """A rule that makes a second sign out of a first, and a cause that shows both with near-certain words."""
    for name, n, one in whole.conclusions:
        if not isinstance(one, written.Finding) or one.is_ != "seen":
            continue
        for given in whole.rulebase.rules[name].when:
            if not isinstance(given, written.Seen) or given.seen == one.finding:
                continue
            if whole.rulebase.symptoms[one.finding].sound in ORDINARY:
                continue
            for cause in whole.rulebase.causes:
                words = [_words(whole, cause, symptom) for symptom in (given.seen, one.finding)]
                if all(set(said) & set(NEAR_CERTAIN) for said in words):
                    yield Flaw(
                        f"chaining/{name}/then/{n}",
                        f"'{given.seen}' counts twice for '{cause}': it shows '{given.seen}' and '{one.finding}' "
                        f"{words[0][0]} and {words[1][0]}, and '{name}' makes the second out of the first",
                        "one observation must not weigh like two",
                        "let the cause show only one of them, or take the rule out",
                    )


def _words(whole: Whole, cause: str, symptom: str) -> list[str]:
    links = whole.links_of.get(symptom, ())
    return [link.show.how_often for link in links if link.cause == cause and not link.never]


@lint("measured-and-swept", "error")
def measured_and_swept(whole: Whole) -> Iterator[Flaw]:
    """A sign that a reading decides although it is found by looking or touching."""
    for name, n, one in whole.conclusions:
        readings = [given for given in whole.rulebase.rules[name].when if isinstance(given, written.ReadingIs)]
        if isinstance(one, written.Finding) and readings:
            by = whole.rulebase.symptoms[one.finding].by
            if by in ("look", "touch"):
                yield Flaw(
                    f"chaining/{name}/then/{n}",
                    f"'{one.finding}' is found by {by}, and '{name}' concludes it from a reading of "
                    f"'{readings[0].reading}'",
                    "whoever looks over the whole component records it as absent without measuring",
                    "write by: measure for the symptom, or conclude another one",
                )


@lint("concluded-not-decided", "warning")
def concluded_not_decided(whole: Whole) -> Iterator[Flaw]:
    """A sign that rules conclude from a reading, and the check does not say that it decides it."""
    told = set()
    for name, n, one in whole.conclusions:
        for given in whole.rulebase.rules[name].when:
            if (
                isinstance(one, written.Finding)
                and isinstance(given, written.ReadingIs)
                and (
                    one.finding not in whole.rulebase.checks[given.reading].decides
                    and (given.reading, one.finding) not in told
                )
            ):
                told.add((given.reading, one.finding))
                yield Flaw(
                    f"chaining/{name}/then/{n}",
                    f"'{name}' concludes '{one.finding}' from a reading of '{given.reading}', and '{given.reading}' "
                    f"does not name it under decides",
                    "the check would not be proposed for what it settles",
                    f"add {one.finding} to decides: of {given.reading}",
                )


@lint("reading-unread", "warning")
def reading_unread(whole: Whole) -> Iterator[Flaw]:
    """A check with numbers to write down that no rule reads."""
    read = {
        one.reading
        for rule in whole.rulebase.rules.values()
        for one in (*rule.when, *rule.unless)
        if isinstance(one, written.ReadingIs)
    }
    for name, check in whole.rulebase.checks.items():
        if check.reading and name not in read:
            yield Flaw(
                f"checks/{name}",
                f"no rule reads the numbers of '{name}'",
                "whoever measures and writes them down is told nothing by them",
                "write a rule that draws a finding from them, or take reading: out",
            )
