"""Putting a finding of a case otherwise: seen, looked for and absent, or not looked at."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from lugwright.belief.ground import Key, applies, sign_places
from lugwright.casefile.record import CaseRecord, Finding
from lugwright.chaining.conclude import Conclusions, place_of
from lugwright.issues import Issue, Spot, UnusableInput, did_you_mean, nearest
from lugwright.places import Place, opposite, place_from_key
from lugwright.prospects import Change

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

STATES = ("seen", "absent", "unknown")
#: Also understood for a state.
SAID = {"not-seen": "absent", "not_seen": "absent", "yes": "seen", "no": "absent"}
WHY = "a question about a finding needs the sign, its place and the state it should have"

Wanted = Mapping[Key, str]


def read_changes(texts: Sequence[str], case: CaseRecord, rulebase: RuleBase) -> dict[Key, str]:
    """`SIGN@PLACE=STATE` as given on the command line, checked against the rule base and the machine.

    Raises UnusableInput with every fault.
    """
    found: dict[Key, str] = {}
    issues = []
    for text in texts:
        try:
            key, state = _read(text, case, rulebase)
        except ValueError as problem:
            what, _, hint = str(problem).partition("\n")
            issues.append(Issue(Spot(text or "(empty)"), "cannot-ask", what, WHY, hint))
            continue
        if found.setdefault(key, state) != state:
            issues.append(Issue(Spot(text), "cannot-ask", "the same finding is asked for in two states", WHY))
    if issues:
        raise UnusableInput(issues)
    return found


def _read(text: str, case: CaseRecord, rulebase: RuleBase) -> tuple[Key, str]:
    head, equals, said = text.rpartition("=") if "=" in text else (text, "", "")
    state = SAID.get(said.strip().lower(), said.strip().lower())
    name, _, where = head.strip().partition("@")
    name = rulebase.aliases.get(name, name)
    if not name:
        raise ValueError("no sign is given\nwrite SIGN@PLACE=STATE, for instance hub-hot@front-left=absent")
    if name in rulebase.context:
        copy = "change it in a copy of the case, then `lugwright compare` sets the two cases against each other"
        raise ValueError(f"'{name}' is a question about the machine and its work, not a sign\n{copy}")
    if name in rulebase.checks and name not in rulebase.symptoms:
        signs = ", ".join(rulebase.checks[name].decides) or "none"
        raise ValueError(f"'{name}' is a check, not a sign\nname a sign that it decides instead: {signs}")
    if equals and state not in STATES:
        raise ValueError(f"'{said.strip()}' is not a state\nwrite {head.strip()}=seen, =absent or =unknown")
    if not equals:
        raise ValueError(f"no state is given\nwrite {head.strip()}=seen, =absent or =unknown")
    if name not in rulebase.symptoms:
        hint = did_you_mean(name, nearest(name, rulebase.symptoms)) or "lugwright rules list symptoms prints them all"
        raise ValueError(f"there is no symptom '{name}'\n{hint}")
    symptom = rulebase.symptoms[name]
    if not applies(symptom, case.layout, case.drive):
        raise ValueError(f"'{name}' does not occur on this machine\nchoose another sign")
    place = place_from_key(where)
    places = sign_places(symptom, case.layout)
    if place not in places:
        choices = ", ".join(f"{name}@{one.key}" if one.key != "machine" else name for one in places)
        raise ValueError(f"'{name}' is not noted at {place.words}\none of: {choices}")
    return (name, place), state


def refuse_both_sides(wanted: Wanted, now: Wanted, rulebase: RuleBase) -> None:
    """Refuse a difference between two sides that would be seen on both, as a case file is refused that says so.

    now: the states without the change. Raises UnusableInput.
    """
    then = {**now, **wanted}
    issues = []
    for (name, place), state in wanted.items():
        if state != "seen" or not rulebase.symptoms[name].directed:
            continue
        other = replace(place, side=opposite(place.side))
        if then.get((name, other)) == "seen":
            what = f"'{name}' on {place.unit} cannot be seen on both sides: it is a difference between the two"
            hint = f"ask for {name}@{other.key}=absent as well"
            issues.append(Issue(Spot(f"{name}@{place.key}=seen"), "cannot-ask", what, WHY, hint))
    if issues:
        raise UnusableInput(issues)


def states(concluded: Conclusions) -> dict[Key, str]:
    """The state of every finding; a sign that is not among them is unknown."""
    return {(one.symptom, one.place): one.state for one in concluded.findings}


def change_shown(key: Key, before: str, after: str, rulebase: RuleBase) -> Change:
    """A change in words."""
    symptom, place = key
    at = f"@{place.key}" if place != Place() else ""
    words = rulebase.symptoms[symptom].name + (f", {place.words}" if place != Place() else "")
    return Change(finding=f"{symptom}{at}", words=words, before=before, after=after)


def changed_case(case: CaseRecord, concluded: Conclusions, wanted: Wanted) -> tuple[CaseRecord, tuple[str, ...]]:
    """The case with some findings put otherwise, and the keys of the readings set aside for it.

    A reading that led to a finding that is changed is set aside, since it says the contrary; what else the rules drew
    from it stays, as if it had been written down.
    """
    now = states(concluded)
    changed = {key for key, state in wanted.items() if now.get(key, "unknown") != state}
    written = {(one.symptom, one.place): one for one in case.findings}
    aside: dict[str, None] = {}
    kept: dict[Key, str] = {}
    for step in concluded.steps:
        drawn = {
            (str(one.get("symptom")), place_of(one)): str(one.get("state"))
            for one in (*step.concluded, *step.confirmed)
            if one.kind == "finding"
        }
        readings = [one for one in step.used if one.kind == "reading"]
        if readings and changed & drawn.keys():
            aside.update({_reading_key(str(one.get("check")), place_of(one)): None for one in readings})
    for step in concluded.steps:
        if any(
            one.kind == "reading" and _reading_key(str(one.get("check")), place_of(one)) in aside for one in step.used
        ):
            for one in (*step.concluded, *step.confirmed):
                if one.kind == "finding":
                    kept[str(one.get("symptom")), place_of(one)] = str(one.get("state"))
    findings: list[Finding] = []
    for key, finding in written.items():
        if key not in wanted or wanted[key] == finding.state:
            findings.append(finding)
    spot = Spot(case.file)
    for key, state in (*wanted.items(), *((key, state) for key, state in kept.items() if key not in wanted)):
        if state == "unknown" or (key in written and written[key].state == state):
            continue
        if key in written and key not in wanted:
            continue
        if state == "seen":
            findings.append(Finding(key[0], key[1], "seen", "seen", spot))
        else:
            findings.append(Finding(key[0], key[1], "absent", "not_seen", spot))
    findings.sort(key=lambda one: (one.symptom, one.place))
    readings_left = tuple(one for one in case.readings if _reading_key(one.check, one.place) not in aside)
    return replace(case, findings=tuple(findings), readings=readings_left), tuple(aside)


def _reading_key(check: str, place: Place) -> str:
    return check + ("" if place == Place() else f"@{place.key}")


def follows_from(concluded: Conclusions) -> dict[Key, set[Key]]:
    """For each finding, those that rules drew from it and that would go if it went."""
    given = {(one.symptom, one.place) for one in concluded.findings if one.source != "rule"}
    reasons: dict[Key, list[set[Key]]] = {}
    for step in concluded.steps:
        used = {(str(one.get("symptom")), place_of(one)) for one in step.used if one.kind == "finding"}
        for one in (*step.concluded, *step.confirmed):
            if one.kind == "finding":
                reasons.setdefault((str(one.get("symptom")), place_of(one)), []).append(used)
    found: dict[Key, set[Key]] = {}
    for known in concluded.findings:
        start = (known.symptom, known.place)
        gone = {start}
        grown = True
        while grown:
            more = {
                key
                for key, ways in reasons.items()
                if key not in gone and key not in given and all(way & gone for way in ways)
            }
            grown = bool(more)
            gone |= more
        found[start] = gone - {start}
    return found
