"""A small rule base of its own, so that the messages tested here do not change with the shipped rules."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

from lugwright.plain_yaml import read_plain
from lugwright.rulebase.base import Content, RuleBase
from lugwright.rulebase.scales import Scales
from lugwright.rulebase.schema import About, Cause, Check, ContextFact, MachineSheet, Symptom

SHIPPED = Path(__file__).parents[2] / "rules"
_SAID = {"because": "a demo entry", "basis": "judgement"}


def _symptom(component: str, where: str, by: str = "look", **more: Any) -> Symptom:
    said = {"name": "demo sign", "recognise": "so", "sound": "rarely", **_SAID}
    return Symptom.model_validate({"component": component, "where": where, "by": by, **said, **more})


def _check(where: str, computation: str | None = None, **reading: dict[str, Any]) -> Check:
    fields = {name.replace("_", "-"): {"means": f"the {name}", **one} for name, one in reading.items()}
    given = {"name": "demo check", "where": where, "minutes": 5, "risk": "low", "decides": [], "steps": ["do it"]}
    return Check.model_validate({**given, **_SAID, "computation": computation, "reading": fields})


def _question(**more: Any) -> ContextFact:
    return ContextFact.model_validate({"name": "demo question", "question": "what?", **_SAID, **more})


def _sheet(layout: str, drive: str) -> MachineSheet:
    return MachineSheet.model_validate({"name": "demo", **_SAID, "layout": layout, "drive": drive, "invented": True})


@lru_cache(maxsize=1)
def small_rulebase() -> RuleBase:
    """Ten symptoms, a cause, four questions, five checks, two sheets."""
    length = {"quantity": "length"}
    content = Content(
        about=About(title="demo", version="0.0.1"),
        scales=Scales.model_validate(read_plain(SHIPPED / "scales.yaml").data),
        symptoms={
            "belt-wanders": _symptom("behaviour", "unit", "drive"),
            "hub-hot": _symptom("hubs", "unit", "measure"),
            "hub-oil-leak": _symptom("hubs", "unit"),
            "idler-flank-polish": _symptom("idlers", "side", also_called=["idler-flank-polish-one-side"]),
            "lug-chunked": _symptom("lugs", "unit"),
            "lug-edge-torn": _symptom("lugs", "side"),
            "lug-face-smear": _symptom("lugs", "side", "touch"),
            "lug-side-hot": _symptom("lugs", "side", "measure", directed=True),
            "pulls-to-one-side": _symptom("behaviour", "machine", "drive"),
            "ratcheting": _symptom("drive-wheel", "unit", "drive", drives=["positive"]),
            "roller-rubber-chunked": _symptom("mid-rollers", "unit"),
            "drive-bar-worn-hooked": _symptom("drive-wheel", "unit", drives=["positive"]),
            "cross-beam-cracked": _symptom("frame", "axle", layouts=["four-track"]),
            "unit-leans-in": _symptom("frame", "axle", "measure"),
            "dirt-under-belly": _symptom("frame", "machine"),
        },
        causes={
            "frame-alignment-error": Cause.model_validate(
                {
                    "name": "demo cause",
                    **_SAID,
                    "acts_on": "unit",
                    "beforehand": "common",
                    "if_ignored": "it goes on",
                    "remedy": "align",
                    "shows": [{"symptom": "hub-hot", "how_often": "often"}],
                }
            ),
        },
        context={
            "belt-hours": _question(quantity="hours"),
            "belt-life": _question(answers={"new": "new", "old": "old"}, derived=True),
            "roading-share": _question(quantity="share"),
            "slope-work": _question(answers={"none": "none", "alternating": "to and fro", "left-uphill": "left"}),
        },
        checks={
            "gauge-count": _check("machine", lugs={"quantity": "count", "needed": False}),
            "lug-clearance": _check("unit", "side-clearance", inboard=length, outboard=length),
            "lug-side-temperature": _check(
                "unit", "side-temperature", inboard={"quantity": "temperature"}, outboard={"quantity": "temperature"}
            ),
            "oil-look": _check("unit", state={"quantity": "word", "answers": ["clear", "milky"]}),
            "toe": _check("axle", "toe", leading=length, trailing=length),
            "turn-repeat": _check("unit"),
        },
        chaining={},
        procedures={},
        machines={
            "demo-four-track": _sheet("four-track", "positive"),
            "demo-two-track": _sheet("two-track", "friction"),
        },
    )
    return RuleBase.of(content, "00000000", {}, Path("rules"), "rules")
