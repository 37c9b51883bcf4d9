"""Run the rules over a case and read off what they concluded, with every firing as a step."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from lugwright.chaining.base_facts import base_facts
from lugwright.chaining.compile import BEARING, compile_rules
from lugwright.chaining.rules import Fact, Step, fact
from lugwright.places import Place

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.chaining.engine import Engine
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import MachineSheet


@dataclass(frozen=True, order=True)
class Known:
    """A symptom at a place whose state is known: seen or absent, to what extent, and where that came from.

    source: `seen`, `not_seen`, `looked_at` as written in the case, or `rule`.
    """

    symptom: str
    place: Place
    state: str
    extent: str = ""
    source: str = "rule"

    @property
    def key(self) -> str:
        """Symptom and place, e.g. `hub-hot@front-right`."""
        return f"{self.symptom}@{self.place.key}"


@dataclass(frozen=True)
class Conclusions:
    """What the rules made of a case.

    findings:       every symptom with a known state, sorted; contradictory ones are left out.
    contradictory:  keys of findings that are both seen and absent.
    shifts:         (cause, shift word, place); excluded: (cause, place, rule); void: (check, unit).
    verdicts:       (action, limit, number, place, rule, the finding that led to it).
    """

    findings: tuple[Known, ...]
    contradictory: tuple[str, ...]
    context: Mapping[str, object]
    shifts: tuple[tuple[str, str, Place], ...]
    excluded: tuple[tuple[str, Place, str], ...]
    void: tuple[tuple[str, str], ...]
    verdicts: tuple[tuple[str, str, str, Place, str, str], ...]
    steps: tuple[Step, ...]


def engine_for(rulebase: RuleBase, sheet: MachineSheet | None) -> Engine:
    """An engine with every rule of the rule base, for many cases with the same machine sheet.

    It gives the same steps as the engine `conclude` builds for one case; building it takes longer than one run.
    """
    from lugwright.chaining.engine import Engine

    return Engine(compile_rules(rulebase, sheet))


def conclude(case: CaseRecord, rulebase: RuleBase, engine: Engine | None = None) -> Conclusions:
    """Chain the rule base over a case. Without an engine only rules that the facts at hand can reach are built.

    engine: from `engine_for` this rule base and the case's own sheet.
    """
    from lugwright.chaining.engine import Engine, reachable, strata

    facts = base_facts(case, rulebase)
    if engine is None:
        rules = compile_rules(rulebase, case.sheet)
        engine = Engine(reachable(rules, facts), strata(rules))
    chained = engine.run(facts)
    written: dict[tuple[str, Place, str], tuple[str, str]] = {
        (one.symptom, one.place, one.state): (one.extent or "", one.source) for one in case.findings
    }
    findings, contradictory = _settle(_known(chained.facts, written))
    reasons = {new: step for step in reversed(chained.steps) for new in (*step.confirmed, *step.concluded)}
    context = {str(one.get("name")): one.get("value") for one in chained.facts if one.kind == "context"}
    return Conclusions(
        findings=findings,
        contradictory=contradictory,
        context=context,
        shifts=tuple(
            (_text(one, "cause"), _text(one, "becomes"), place_of(one)) for one in _of(chained.facts, "shift")
        ),
        excluded=tuple(
            (_text(one, "cause"), place_of(one), reasons[one].rule if one in reasons else "")
            for one in _of(chained.facts, "excluded")
        ),
        void=tuple(sorted((_text(one, "check"), _text(one, "unit")) for one in _of(chained.facts, "void"))),
        verdicts=tuple(
            (
                _text(one, "action"),
                _text(one, "limit"),
                _text(one, "number"),
                place_of(one),
                reasons[one].rule,
                fact_words(reasons[one].used[0]),
            )
            for one in _of(chained.facts, "verdict")
        ),
        steps=chained.steps,
    )


def bearings(seen: Iterable[str], links: Iterable[tuple[str, str, str]], first: int) -> tuple[Step, ...]:
    """Which seen sign bears on which cause: the general rule over links (sign key, cause key, how-often word).

    first: number of the first step, so that the trace goes on where chaining ended.
    """
    from lugwright.chaining.engine import Engine

    facts = [fact("finding", sign=sign, state="seen") for sign in seen]
    facts += [Fact("bears", (("sign", sign), ("cause", cause), ("how-often", word))) for sign, cause, word in links]
    steps = Engine((BEARING,)).run(facts).steps
    return tuple(
        Step(first + index, s.rule, s.file, s.line, s.bindings, s.used, s.absent, s.concluded, s.confirmed)
        for index, s in enumerate(steps)
    )


def place_of(one: Fact) -> Place:
    """The place a fact names; fields it lacks stand empty."""
    named = dict(one.fields)
    return Place(*(str(named.get(name) or "") for name in ("unit", "axle", "side", "hand")))


def fact_words(one: Fact) -> str:
    """A fact in a short readable line.

    >>> fact_words(fact("finding", symptom="hub-hot", state="seen", extent="", unit="left", axle="", side=""))
    'hub-hot@left seen'
    >>> fact_words(fact("reading", check="toe", unit="", axle="front", leading=2212, trailing=2210))
    'reading toe@front-axle leading=2212 trailing=2210'
    """
    named = one.as_dict()
    place = place_of(one)
    at = "" if place == Place() else f"@{place.key}"
    if one.kind == "finding":
        extent = f" ({named['extent']})" if named.get("extent") else ""
        return f"{named.get('symptom', named.get('sign'))}{at} {named['state']}{extent}"
    hidden = {"unit", "axle", "side", "hand"}
    if one.kind == "reading":
        values = " ".join(f"{k}={_short(v)}" for k, v in named.items() if k not in hidden | {"check"})
        return f"reading {named['check']}{at} {values}"
    if one.kind in ("context", "shift", "excluded", "void", "verdict", "evidence"):
        main = [_short(v) for k, v in named.items() if k not in hidden and v != ""]
        return f"{one.kind} {' '.join(main)}{at}"
    return f"{one.kind} " + " ".join(f"{k}={_short(v)}" for k, v in named.items())


def _short(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _of(facts: Iterable[Fact], kind: str) -> list[Fact]:
    return [one for one in facts if one.kind == kind]


def _text(one: Fact, name: str) -> str:
    return str(one.get(name) or "")


def _known(facts: Iterable[Fact], written: Mapping[tuple[str, Place, str], tuple[str, str]]) -> list[Known]:
    found = []
    for one in _of(facts, "finding"):
        named = dict(one.fields)
        symptom, state, said = (str(named.get(name) or "") for name in ("symptom", "state", "extent"))
        place = place_of(one)
        extent, source = written.get((symptom, place, state), (said, "rule"))
        found.append(Known(symptom, place, state, said or extent, source))
    return found


def _settle(known: Iterable[Known]) -> tuple[tuple[Known, ...], tuple[str, ...]]:
    """One state for each symptom at each place.

    A sign that a rule or the writer names as seen outweighs an absence that only comes from sweeping a component.
    Any other clash is no evidence either way: the finding is set aside and named.
    """
    by_key: dict[str, list[Known]] = {}
    for one in known:
        by_key.setdefault(one.key, []).append(one)
    settled, clash = [], []
    for key, ones in sorted(by_key.items()):
        states = {one.state for one in ones}
        if len(states) == 2:
            ones = [one for one in ones if not (one.state == "absent" and one.source == "looked_at")]
            if len({one.state for one in ones}) == 2:
                clash.append(key)
                continue
        settled.append(max(ones, key=lambda one: (one.source != "rule", one.extent)))
    return tuple(settled), tuple(clash)
