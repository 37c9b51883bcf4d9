"""Thousands of mangled case files: each gives a record or a told refusal, never anything else."""

from __future__ import annotations

import copy
import tempfile
from pathlib import Path
from typing import Any

import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_rulebase import small_rulebase

from lugwright.casefile.load import case_from_text, load_case
from lugwright.casefile.record import CaseRecord
from lugwright.issues import UnusableInput
from lugwright.places import UNITS

VALID: dict[str, Any] = {
    "case": "north-yard-031",
    "machine": {
        "name": "Unit 12", "layout": "four-track", "drive": "positive", "hours": "1860", "sheet": "demo-four-track",
    },
    "context": {"roading-share": "15 %", "slope-work": "none", "belt-hours": "30 h"},
    "seen": [
        {"symptom": "idler-flank-polish", "unit": "front-right", "side": "inboard"},
        {"symptom": "lug-edge-torn", "units": ["front-right", "rear-left"], "side": "both", "extent": "many"},
        {"symptom": "roller-rubber-chunked", "unit": "rear-left", "wheel": "mid-roller-2"},
        {"symptom": "unit-leans-in", "axle": "rear"},
        {"symptom": "pulls-to-one-side"},
    ],
    "looked_at": [{"component": "lugs", "units": "all"}, {"component": "frame", "unit": "rear-left"}],
    "not_seen": [{"symptom": "hub-hot", "unit": "all"}],
    "measured": [
        {"check": "lug-clearance", "unit": "front-right", "inboard": "1 mm", "outboard": "1/4 in"},
        {"check": "toe", "axle": "front", "leading": "2212 mm", "trailing": "87 3/32 in", "at": "1850"},
        {"check": "oil-look", "unit": "rear-left", "state": "clear"},
    ],
    "note": "after rain",
    "invented": "true",
}  # fmt: skip
WORDS = [
    "left", "front-left", "rear-right", "all", "both", "inboard", "main", "front", "two-track", "friction", "hub-hot",
    "toe", "lugs", "6 bar", "-1 mm", "1/0 in", "nan", "99999999999999999999", "2,5 mm", "", " ", "no", "12:30",
    "x" * 300, "𝄞", "°",
]  # fmt: skip
SPLINTERS = ["", ":", "{", "]", "\t", "- ", "&a ", "*a", "!!int ", "'", "\n", "é", "\x07"]
JUNK: list[Any] = [*WORDS, None, [], {}, ["left"], {"left": "right"}, [[[]]], 3, -1, 2.5, True]
MANY = settings(max_examples=800, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def outcome(text: str) -> CaseRecord | None:
    """The record, or None after checking that the refusal is one a person can use."""
    try:
        return case_from_text(text, "mangled.yaml", small_rulebase())
    except UnusableInput as refused:
        issues = refused.issues
    lines = text.count("\n") + 2
    assert issues
    assert all(one.what and one.code and one.why and one.spot.file == "mangled.yaml" for one in issues)
    assert all(0 <= one.spot.line <= lines for one in issues)
    return None


def ways(value: Any, way: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The way to everything inside a value."""
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [found for step, inner in steps for found in ((*way, step), *ways(inner, (*way, step)))]


@st.composite
def mangled(draw: st.DrawFn) -> str:
    """The valid case after one to four accidents: a dropped, swapped, repeated or replaced part, an unknown key."""
    data = copy.deepcopy(VALID)
    for _ in range(draw(st.integers(1, 4))):
        places = ways(data)
        if not places:
            break
        *above, step = draw(st.sampled_from(places))
        holder: Any = data
        for one in above:
            holder = holder[one]
        accident = draw(st.sampled_from(["drop", "replace", "rename", "repeat", "junk text"]))
        if accident == "drop":
            del holder[step]
        elif accident == "replace":
            holder[step] = copy.deepcopy(draw(st.sampled_from(JUNK)))
        elif accident == "junk text":
            holder[step] = draw(st.text(max_size=20))
        elif isinstance(holder, dict):
            holder[draw(st.sampled_from([*WORDS, "unit", "side", "symptom", "seen"]))] = copy.deepcopy(holder[step])
        else:
            holder.append(copy.deepcopy(holder[step]))
    return yaml.safe_dump(data, allow_unicode=True, sort_keys=False)


def test_the_case_that_is_mangled_is_sound() -> None:
    assert outcome(yaml.safe_dump(VALID)) is not None


@MANY
@given(mangled())
def test_a_case_with_accidents_gives_a_sound_record_or_is_refused(text: str) -> None:
    record = outcome(text)
    if record is not None:
        keys = [one.key for one in record.findings]
        assert len(keys) == len(set(keys))
        assert all(one.place.unit in ("", *UNITS[record.layout]) for one in (*record.findings, *record.readings))
        assert all(one.symptom in small_rulebase().symptoms and one.spot.line for one in record.findings)


@MANY
@given(st.data())
def test_cut_swapped_and_overwritten_text_never_breaks_the_reader(data: st.DataObject) -> None:
    text = yaml.safe_dump(VALID, default_flow_style=data.draw(st.sampled_from([None, False, True])), width=100)
    for _ in range(data.draw(st.integers(1, 3))):
        first, last = sorted(data.draw(st.tuples(st.integers(0, len(text)), st.integers(0, len(text)))))
        last = min(last, first + data.draw(st.sampled_from([1, 5, 10_000])))
        text = text[:first] + data.draw(st.sampled_from(SPLINTERS)) + text[last:]
    outcome(text)


@MANY
@given(st.data())
def test_damaged_bytes_never_break_the_reader(data: st.DataObject) -> None:
    raw = bytearray(yaml.safe_dump(VALID, allow_unicode=True).encode())
    for _ in range(data.draw(st.integers(1, 4))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "case.yaml")
        path.write_bytes(bytes(raw[: data.draw(st.integers(0, len(raw)))]))
        try:
            record = load_case(path, small_rulebase())
        except UnusableInput as refused:
            record, told = None, refused.issues
            assert told
    assert record is None or record.case
