"""Diagnoses to look at: the shipped examples, a small one that depends on no rule, a crowded one, and hostile ones."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from lugwright.casefile.load import load_case
from lugwright.diagnosis import (
    AnswerShown,
    Diagnosis,
    Edge,
    FindingShown,
    NextCheck,
    NormalShown,
    Outcome,
    RankedCause,
    ReadingShown,
    Reason,
    RulebaseLabel,
    RuledOut,
    SheetShown,
    Steadiness,
    StepShown,
    Undecided,
    VerdictShown,
    Without,
    Work,
    WorkStep,
)  # fmt: skip
from lugwright.places import UNITS, place_from_key
from lugwright.rulebase.load import RuleBase, load
from lugwright.triage import triage

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*.yaml"))


@lru_cache(maxsize=1)
def shipped() -> RuleBase:
    return load()


@lru_cache(maxsize=16)
def example(name: str) -> Diagnosis:
    return triage(load_case(ROOT / "examples" / f"{name}.yaml", shipped()), shipped())


def finding(symptom: str, component: str, place: str, state: str = "seen", **more: Any) -> FindingShown:
    words = place_from_key(place).words
    given = {"name": symptom.replace("-", " ").capitalize(), "source": "seen", **more}
    return FindingShown(
        symptom=symptom,
        component=component,
        place=place,
        place_words=words,
        state=state,
        **given,  # type: ignore[arg-type]
    )


def small(findings: tuple[FindingShown, ...] | None = None, layout: str = "four-track") -> Diagnosis:
    """An invented answer with something in every part, made without any rule base."""
    seen = (
        finding("rubbed-face", "lugs", "front-right/inboard", extent="many", note="worst near the joint"),
        finding("bright-flank", "idlers", "front-right/inboard", wheels=("front-idler",)),
        finding("warm-hub", "hubs", "rear-left"),
        finding("closed-front", "frame", "front-axle", source="rule"),
        finding("odd-noise", "behaviour", "machine"),
        finding("torn-bar", "tread", "rear-left", "absent", source="looked_at", note="in good light"),
    )
    found = seen if findings is None else findings
    ranked = (
        RankedCause(
            cause="crooked-unit", name="Unit out of line", unit="front-right", side="inboard",
            place_words="front-right, inboard", probability=0.93, word="very likely", mild=0.4, prior=0.01,
            without=(
                Without(finding="rubbed-face@front-right/inboard", words="Rubbed face, front-right, inboard",
                        speaks="for", probability=0.71),
                Without(finding="torn-bar@rear-left", words="not found: Torn bar, rear-left", speaks="against",
                        probability=0.95),
            ),
            because="The belt leans on one side.", if_ignored="It gets worse.", basis="judgement (confidence low)",
            written="rules/causes/crooked-unit.yaml:1",
        ),
        RankedCause(cause="soft-tyre", name="Something else", place_words="whole machine", probability=0.02,
                    word="very unlikely", mild=0.0, prior=0.02),
    )  # fmt: skip
    outcome = Outcome(result="seen", probability=0.3, first="crooked-unit@front-right/inboard",
                      first_words="Unit out of line (front-right, inboard)", first_probability=0.98,
                      moves="soft-tyre@machine", moves_words="Something else (whole machine)", moves_from=0.02,
                      moves_to=0.01)  # fmt: skip
    return Diagnosis(
        case="small-case", machine="Machine 1, four-track, positive drive, 100 h", layout=layout, drive="positive",
        hours=100.0, invented=True,
        rulebase=RulebaseLabel(version="1.0.0", fingerprint="0123abcd", overlays=("yard rules",),
                               layer_of={"chaining/face-rubbed": "yard rules"},
                               replaced=("chaining/face-rubbed [yard rules]",),
                               retired=("chaining/soil [yard rules]",)),
        verdict=VerdictShown(action="limit-use", reasons=(
            Reason(action="limit-use", place_words="front-right", finding="Rubbed face", measured="inboard 1 mm",
                   limit="Fields only.", number="No limit is published.", rule="face-rubbed"),)),
        ranked=ranked, no_fault=0.03, no_fault_word="very unlikely",
        normal=(NormalShown(cause="settling", name="Settling", place_words="whole machine", probability=0.3,
                            word="possible"),),
        undecided=Undecided(between=("crooked-unit@front-right/inboard", "no-fault"),
                            words=("Unit out of line (front-right, inboard)", "no fault beyond normal wear"),
                            check="coast",
                            check_name="Straight coast", how="Shows which."),
        unexplained=tuple(one for one in found if one.symptom == "odd-noise"),
        contradictory=("wet-hub@rear-left",), conflict_bits=1.5, bound=0.0,
        next_checks=(NextCheck(check="coast", name="Straight coast", unit="front-right", place_words="front-right",
                               minutes=15, gain_bits=0.4, risk="low", asks="Off centre, front-right?",
                               outcomes=(outcome,)),),
        work=(Work(procedure="align", name="Align", cause="crooked-unit@front-right/inboard",
                   place_words="front-right, inboard", before=("Clean it.",), cautions=("Chock it.",),
                   tools=("spanner",), steps=(WorkStep(caution="Hot rubber.", do="Turn the screw."),
                                              WorkStep(do="Drive on.")),
                   prove="Coast again.", recheck=("After 1 h.",)),),
        cautions=("Engine off.",), void=("Clearance, rear-left",),
        ruled_out=(RuledOut(cause="new-rubber", name="New rubber", place_words="", rule="old-belt"),),
        findings=found,
        readings=(ReadingShown(check="clearance", name="Clearance", place="front-right", place_words="front-right",
                               text="inboard 1 mm", means="offset 7 mm", void=False,
                               findings=("rubbed-face@front-right/inboard", "torn-bar@rear-left"),
                               note="two people read it"),
                  ReadingShown(check="clearance", name="Clearance", place="rear-left", place_words="rear-left",
                               text="inboard 9 mm", means="", void=True, findings=())),
        not_looked_at=("rear-right: hubs",), not_noted=("hubs@rear-right",),
        not_counted=("rear-left: lugs (Clearance)",), machine_name="Machine 1",
        note="The driver says it began in spring.", other_notes=("Wet hub, rear-left: dry",),
        sheet=SheetShown(sheet="demo", name="Demonstration sheet", written="rules/machines/demo.yaml:1"),
        context=(AnswerShown(context="hours", name="Hours of the belts", answer="900 h", rules=("old-belt",),
                             causes=("Unit out of line",)),
                 AnswerShown(context="soil", name="Soil", answer="sticky (it packs)"),
                 AnswerShown(context="visit", name="Reason for the visit", answer="complaint", everywhere=True)),
        steps=(StepShown(number=1, rule="face-rubbed", file="rules/chaining/a.yaml", line=7,
                         used=("reading clearance@front-right inboard=1",), absent=("void(check=clearance)",),
                         concluded=("rubbed-face@front-right/inboard seen",), because="It is tight.", name="Tight",
                         basis="judgement (confidence low)"),
               StepShown(number=2, rule="old-belt", file="rules/chaining/b.yaml", line=3, used=("context hours 900",),
                         absent=(), concluded=("excluded new-rubber",), because="It is old.", name="Old belt",
                         basis="judgement (confidence low)")),
        edges=tuple(Edge(finding=one.key, cause=ranked[0].key, worth=0.2 if one.state == "seen" else -0.02,
                         how_often="often" if one.state == "seen" else "") for one in found),
        steadiness=Steadiness(draws=300, first="crooked-unit@front-right/inboard", first_in=291, word="steady",
                              low=0.81, high=0.97, instead=("soft-tyre@machine",)),
    )  # fmt: skip


def crowded() -> Diagnosis:
    """A four-track on which 64 signs were seen, all of which bear on the first cause, and 200 were not found."""
    parts = ("lugs", "idlers", "hubs", "carcass", "tread", "frame", "mid-rollers", "scrapers")
    seen = [
        finding(f"sign-{index}-of-a-rather-long-name", parts[index % 8], f"{unit}/inboard" if index % 8 < 2 else unit)
        for index in range(16)
        for unit in UNITS["four-track"]
    ]
    absent = [
        finding(f"other-{index}", parts[index % 8], unit, "absent", source="looked_at")
        for index in range(50)
        for unit in UNITS["four-track"]
    ]
    return small((*seen, *absent))


#: Fields whose text comes from a case or rule file and is shown; ids, keys and words of the program are left alone.
SHOWN = frozenset(
    {
        "case", "machine", "no_fault_word", "name", "place_words", "word", "words", "because", "if_ignored", "basis",
        "written", "text", "means", "measured", "limit", "number", "check_name", "how", "first_words", "moves_words",
        "asks", "result", "do", "caution", "before", "cautions", "tools", "prove", "recheck", "file", "concluded",
        "used", "absent", "version", "fingerprint", "overlays", "not_looked_at", "contradictory", "void", "needs",
        "preconditions", "after", "how_often", "extent", "wheels", "risk", "note", "answer", "rules", "causes",
        "replaced", "retired", "machine_name", "other_notes", "not_counted",
    }
)  # fmt: skip


def poisoned(value: Any, bad: str, name: str = "") -> Any:
    """The same answer with a text put at the end of every shown field."""
    if isinstance(value, BaseModel):
        fields = type(value).model_fields
        changed = {key: poisoned(getattr(value, key), bad, key) for key in fields}
        if isinstance(value, Reason):
            changed["finding"] = f"{value.finding} {bad}"
        if isinstance(value, RulebaseLabel):
            changed["layer_of"] = {key: f"{title} {bad}" for key, title in value.layer_of.items()}
        return value.model_copy(update=changed)
    if isinstance(value, tuple):
        return tuple(poisoned(one, bad, name) for one in value)
    if isinstance(value, str) and name in SHOWN:
        return f"{value} {bad}"
    return value


HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onmouseover='alert(1)",
    "]]></style></svg><script>alert(1)</script><!--",
    "\u202egnp.exe\u2066 \u200f",
    "\x1b[31mred\x07 \x9b1m",
    "x" * 10_000,
    "🚜 👩‍🔧 ⚠️",
    "[click](javascript:alert(1)) ![x](data:text/html,1) | `code` **bold** <b>",
    "# heading\n- item\n1. one\n> said\n---\n| a | b |\n|---|---|",
    '\\N \\G \\l "]; n0 [label=<b>] //',
    "&lt;b&gt; &#x202e; &nbsp;",
)
