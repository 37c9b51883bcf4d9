"""Lints of symptoms: is a sign of any use, and can its state be settled?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from lugwright.rulelint.registry import Flaw, lint
from lugwright.rulelint.whole import Whole, named

#: Fewer causes than this cannot show that a sign tells nothing.
FEWEST = 3


@lint("unread-symptom", "error")
def unread_symptom(whole: Whole) -> Iterator[Flaw]:
    """A symptom that no cause and no rule has anything to do with."""
    for name in whole.rulebase.symptoms:
        if not any(name in known for known in (whole.links_of, whole.readers, whole.concluded)):
            yield Flaw(
                f"symptoms/{name}",
                f"no cause shows '{name}', and no rule reads or concludes it",
                "whoever notes it changes nothing",
                "let a cause show it, let a rule read it, or take it out",
            )


@lint("finding-leads-nowhere", "warning")
def finding_leads_nowhere(whole: Whole) -> Iterator[Flaw]:
    """A symptom that rules conclude, and nothing takes up."""
    for name, rules in whole.concluded.items():
        if name in whole.rulebase.symptoms and name not in whole.links_of and name not in whole.readers:
            yield Flaw(
                f"symptoms/{name}",
                f"'{name}' is concluded by {named(rules)}, and nothing reads it",
                "a conclusion that leads nowhere changes nothing",
                "let a cause show it or a rule read it",
            )


@lint("measured-not-decided", "error")
def measured_not_decided(whole: Whole) -> Iterator[Flaw]:
    """A measured symptom without a check that measures it."""
    decided = {name for check in whole.rulebase.checks.values() for name in check.decides}
    for name, symptom in whole.rulebase.symptoms.items():
        if symptom.by == "measure" and name not in decided:
            yield Flaw(
                f"symptoms/{name}",
                f"'{name}' is measured, and no check decides it",
                "nobody is told how to measure it, and it is never proposed as the next check",
                "name it under decides: of a check, or say by: look where it needs no measuring",
            )


@lint("shown-by-all", "warning")
def shown_by_all(whole: Whole) -> Iterator[Flaw]:
    """A symptom that every cause shows equally often."""
    for name, symptom in whole.rulebase.symptoms.items():
        able = {cause for cause, entry in whole.rulebase.causes.items() if any(whole.machines_of(entry, symptom))}
        words: dict[str, set[str]] = defaultdict(set)
        for link in whole.links_of.get(name, ()):
            if not link.never:
                words[link.cause].add(link.show.how_often)
        if len(able) >= FEWEST and able <= set(words) and len(set().union(*words.values())) == 1:
            yield Flaw(
                f"symptoms/{name}",
                f"every cause shows '{name}', and all of them {next(iter(words.values())).pop()}",
                "a sign that all causes share tells none from another",
                "take it out of the causes it does not belong to, or tell the words apart",
            )


@lint("symptom-like-itself", "error")
def symptom_like_itself(whole: Whole) -> Iterator[Flaw]:
    """A symptom named as its own look-alike."""
    for name, symptom in whole.rulebase.symptoms.items():
        for n, other in enumerate(symptom.look_alikes):
            if other == name:
                yield Flaw(
                    f"symptoms/{name}/look_alikes/{n}",
                    f"'{name}' is named as a look-alike of itself",
                    "another symptom must be meant",
                    "write the one it is mistaken for",
                )


@lint("symptom-alike-one-sided", "warning")
def symptom_alike_one_sided(whole: Whole) -> Iterator[Flaw]:
    """A look-alike symptom that does not name this one in return."""
    for name, symptom in whole.rulebase.symptoms.items():
        for n, other in enumerate(symptom.look_alikes):
            if other != name and name not in whole.rulebase.symptoms[other].look_alikes:
                yield Flaw(
                    f"symptoms/{name}/look_alikes/{n}",
                    f"'{name}' is mistaken for '{other}', and '{other}' does not say so",
                    "whoever begins at the other symptom is not warned",
                    f"add {name} to the look_alikes of {other}",
                )
