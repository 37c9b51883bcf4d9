"""`rules diff`: what changed in knowledge, by meaning and not by line."""

from __future__ import annotations

import json
from collections import Counter
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from rulebench_bases import SOUND, Edit, edited, shipped

from lugwright.plain_yaml import read_plain
from lugwright.rulebase.base import KINDS
from lugwright.rulebase.load import load
from lugwright.rulebase.scales import Scales
from lugwright.rulebase.schema import About
from lugwright.rulediff.compare import compare
from lugwright.rulediff.fields import changes
from lugwright.rulediff.labels import label
from lugwright.rulediff.meaning import plain, same
from lugwright.rulediff.shape import RuleDiff


@pytest.fixture(autouse=True)
def _no_cache(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LUGWRIGHT_CACHE", "off")


def _file(kind: str) -> str:
    return next(path for path in sorted((SOUND / kind).glob("*.yaml"))).relative_to(SOUND).as_posix()


CAUSES, RULES, SYMPTOMS, CHECKS, CONTEXT, MACHINES, PROCEDURES = (
    _file(kind) for kind in ("causes", "chaining", "symptoms", "checks", "context", "machines", "procedures")
)

#: An edit and the sentence it must be told with.
TOLD: dict[str, tuple[Edit, str]] = {
    "how often": (
        (CAUSES, "face-scuff, how_often: usually, side: same", "face-scuff, how_often: almost-always, side: same"),
        "how often face-scuff is seen under out-of-line: usually -> almost-always, same side",
    ),
    "how often at a fixed side": (
        (CAUSES, "how_often: often, side: inboard", "how_often: usually, side: inboard"),
        "how often face-scuff is seen under splayed-axle: often -> usually, side inboard",
    ),
    "where": (
        (CAUSES, "side-hot, how_often: often, side: same", "side-hot, how_often: often, side: opposite"),
        "where side-hot is seen under out-of-line: same side -> opposite side",
    ),
    "circumstances": (
        (CAUSES, ", given: {slope: yes}", ""),
        "where pulls-aside is seen under side-slope: when slope is yes -> plainly",
    ),
    "a sign came": (
        (CAUSES, "shows:\n", "shows:\n    - {symptom: unit-leans, how_often: often}\n"),
        "unit-leans is now a sign of out-of-line: often",
    ),
    "a sign went": (
        (CAUSES, "    - {symptom: side-hot, how_often: often, side: same}\n", ""),
        "side-hot is no longer a sign of out-of-line (was often, same side)",
    ),
    "a sign against went": (
        (CAUSES, "  never_shows:\n    - {symptom: even-polish, how_often: never}\n", ""),
        "even-polish no longer speaks against out-of-line",
    ),
    "splitting check": (
        (CAUSES, "split_by: clearance, how: One", "split_by: toe, how: One"),
        "what splits out-of-line from splayed-axle: clearance -> toe",
    ),
    "look-alike went": (
        (CAUSES, "  look_alikes:\n    - {cause: splayed-axle, split_by: clearance, how: One unit or both.}\n", ""),
        "out-of-line may no longer be taken for splayed-axle; split by clearance",
    ),
    "brings about": (
        (CAUSES, "feeds: [splayed-axle]", "feeds: [splayed-axle, side-slope]"),
        "what out-of-line brings about: now also side-slope",
    ),
    "beforehand": (
        (CAUSES, "beforehand: rare", "beforehand: uncommon"),
        "how likely splayed-axle is beforehand: rare -> uncommon",
    ),
    "sound rate": ((SYMPTOMS, "sound: rarely", "sound: sometimes"), "sound rate of side-hot: rarely -> sometimes"),
    "set of words": (
        (SYMPTOMS, "  drives: [friction, positive]\n", ""),
        "drives with which pulls-aside exists: now also none",
    ),
    "basis": (
        (SYMPTOMS, "basis: judgement", "basis: common practice"),
        "what face-scuff rests on: judgement -> common practice",
    ),
    "long text": (
        (SYMPTOMS, "recognise: One face is matt.", "recognise: One face is matt, and it stays so " + "for long " * 9),
        'how to recognise face-scuff: "One face is matt." -> "One face is matt, and it stays so '
        + ("for long " * 9).strip() + '"',
    ),
    "condition went": (
        (RULES, "    - {machine: drive, is: friction}\n", ""),
        "rule young-belt: condition removed: drive of the machine is friction",
    ),
    "condition changed": (
        (RULES, "belt-hours, below: 20 h", "belt-hours, below: 30 h"),
        "rule young-belt: condition changed: belt-hours below 20 h -> belt-hours below 30 h",
    ),
    "blocked no more": (
        (RULES, "  unless:\n    - {absent: face-scuff, unit: $unit, side: inboard}\n", ""),
        "rule tight-inboard: what blocks it removed: face-scuff is looked for and absent at unit $unit, side inboard",
    ),
    "conclusion changed": (
        (RULES, "becomes: less-likely, hand: left", "becomes: likelier, hand: left"),
        "rule young-belt: conclusion changed: side-slope becomes less-likely at hand left -> "
        "side-slope becomes likelier at hand left",
    ),
    "conclusion came": (
        (RULES, "- {excludes: splayed-axle}", "- {excludes: splayed-axle}\n    - {excludes: side-slope, hand: left}"),
        "rule young-belt: conclusion added: side-slope is ruled out at hand left",
    ),
    "steps moved": (
        (CHECKS, "steps: [Measure in front., Measure behind.]", "steps: [Measure behind., Measure in front.]"),
        "steps of toe: same steps in another order, now 2, 1",
    ),
    "a step came": (
        (CHECKS, "steps: [Look.]", "steps: [Clean it., Look.]"),
        "steps of look-over: new step 1: Clean it.",
    ),
    "minutes": ((CHECKS, "minutes: 10", "minutes: 12"), "minutes for clearance: 10 -> 12"),
    "answer": ((CONTEXT, "no: flat land", "no: flat land only"), "answers to slope, 'no': flat land -> flat land only"),
    "sheet number": ((MACHINES, "value: 6 mm", "value: 8 mm"), "numbers of demo, 'toe-limit': 6 mm -> 8 mm"),
    "step of work": (
        (PROCEDURES, "Turn the screw by", "Slowly turn the screw by"),
        "steps of align, step 1: Turn the screw by {first-step}. -> Slowly turn the screw by {first-step}.",
    ),
    "number of a word": (
        ("scales.yaml", "often: {value: 0.50", "often: {value: 0.51"),
        "number behind the how-often word 'often': 0.5 -> 0.51",
    ),
    "range of a word": (
        ("scales.yaml", "0.50, low: 0.38", "0.50, low: 0.40"),
        "low end of the number behind the how-often word 'often': 0.38 -> 0.4",
    ),
    "version": (("about.yaml", "1.2.3", "1.2.4"), "version of the rule base: 1.2.3 -> 1.2.4"),
}  # fmt: skip
#: Edits that mean nothing.
SILENT: dict[str, Edit] = {
    "another unit": (MACHINES, "value: 6 mm", "value: 0.6 cm"),
    "another unit in a rule": (RULES, "else 6 mm", "else 0.60 cm"),
    "hours spelled otherwise": (RULES, "below: 20 h", "below: 20.0 h"),
    "order of signs": (
        CAUSES,
        "symptom: face-scuff, how_often: usually, side: same}\n    - {symptom: side-hot, how_often: often, side: same}",
        "symptom: side-hot, how_often: often, side: same}\n    - {side: same, symptom: face-scuff, how_often: usually}",
    ),
    "a default written out": (CAUSES, "how_often: usually, side: same", "how_often: usually, side: same, units: own"),
    "basis as a mapping": (CAUSES, "basis: judgement", "basis: {kind: judgement, confidence: low}"),
    "layout of a text": (SYMPTOMS, "recognise: Both faces shine.", "recognise: >-\n    Both\n    faces shine."),
    "another variable": (RULES, "unit: $unit, other: $other}", "other: $mate, unit: $unit}"),
    "order of decisions": (CHECKS, "needs_first: [clearance]\n  decides: [unit-leans]",
                           "decides: [unit-leans]\n  needs_first: [clearance]"),
}  # fmt: skip


def sentences(found: RuleDiff) -> list[str]:
    return [change.says for one in found.entries for change in one.changes]


def test_a_rule_base_does_not_differ_from_itself(tmp_path: Path) -> None:
    sound = edited(tmp_path)
    for rulebase in (sound, shipped()):
        found = compare(rulebase, rulebase)
        assert found.same
        assert found.entries == ()


@pytest.mark.parametrize("name", TOLD)
def test_a_change_is_told_in_a_sentence(name: str, tmp_path: Path) -> None:
    edit, sentence = TOLD[name]
    found = compare(load(SOUND), edited(tmp_path, [edit]))
    assert sentence in sentences(found)
    assert not found.same
    assert len(found.entries) == 1


@pytest.mark.parametrize("name", SILENT)
def test_order_layout_and_spelling_are_no_change(name: str, tmp_path: Path) -> None:
    edits = [SILENT[name]]
    if name == "another variable":
        edits.append((RULES, "unit: $other}", "unit: $mate}"))
    found = compare(load(SOUND), edited(tmp_path, edits))
    assert sentences(found) == []
    assert found.same


def mirrored(found: RuleDiff) -> Counter[tuple[str, ...]]:
    """Everything a difference says, with old and new exchanged."""
    flip = {"added": "removed", "removed": "added"}
    rows: Counter[tuple[str, ...]] = Counter()
    for one in found.entries:
        was, name = (one.id, one.was) if one.how == "renamed" else ("", one.id)
        rows[one.kind, name, was, flip.get(one.how, one.how)] += 1
        rows.update((one.kind, name, two.field, flip.get(two.how, two.how), two.new, two.old) for two in one.changes)
    return rows


def said(found: RuleDiff) -> Counter[tuple[str, ...]]:
    rows: Counter[tuple[str, ...]] = Counter()
    for one in found.entries:
        rows[one.kind, one.id, one.was, one.how] += 1
        rows.update((one.kind, one.id, two.field, two.how, two.old, two.new) for two in one.changes)
    return rows


NEW_CAUSE = """
fresh-cause:
  name: A fresh cause
  acts_on: unit
  beforehand: rare
  if_ignored: Nothing good.
  remedy: Look again.
  shows:
    - {symptom: even-polish, how_often: usually}
  because: Invented for tests.
  basis: judgement
side-slope:"""
APART: dict[str, Edit] = {
    **{name: edit for name, (edit, _) in TOLD.items()},
    "a cause came": (CAUSES, "side-slope:", NEW_CAUSE.lstrip("\n")),
    "a rule renamed": (RULES, "young-belt:", "fresh-belt:"),
}
#: Edits that touch the same text cannot both be made.
CLASH = (
    {"where", "a sign went"},
    {"splitting check", "look-alike went"},
    {"condition changed", "a rule renamed"},
    {"number of a word", "range of a word"},
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(names=st.sets(st.sampled_from(sorted(APART)), max_size=6))
def test_exchanging_old_and_new_exchanges_added_and_removed(names: set[str], tmp_path: Path) -> None:
    for group in CLASH:
        names = names - set(sorted(names & group)[1:])
    old, new = load(SOUND), edited(tmp_path, [APART[name] for name in sorted(names)])
    assert mirrored(compare(old, new)) == said(compare(new, old))


def test_a_rename_is_told_once_and_not_at_every_mention(tmp_path: Path) -> None:
    old = load(SOUND)
    home = edited(tmp_path).folder
    for path in home.rglob("*.yaml"):
        path.write_text(path.read_text(encoding="utf-8").replace("splayed-axle", "spread-axle"), encoding="utf-8")
    found = compare(old, load(home))
    assert [(one.kind, one.how, one.was, one.id) for one in found.entries] == [
        ("causes", "renamed", "splayed-axle", "spread-axle")
    ]
    assert found.renames == {"causes": {"splayed-axle": "spread-axle"}}


def test_a_symptom_that_keeps_its_old_id_as_another_name_is_renamed_although_it_changed(tmp_path: Path) -> None:
    home = edited(tmp_path).folder
    for path in home.rglob("*.yaml"):
        text = path.read_text(encoding="utf-8").replace("even-polish", "both-shine")
        text = text.replace("recognise: Both faces shine.", "recognise: Both are bright.\n  also_called: [even-polish]")
        path.write_text(text, encoding="utf-8")
    found = compare(load(SOUND), load(home))
    assert [(one.how, one.was, one.id) for one in found.entries] == [("renamed", "even-polish", "both-shine")]
    assert sentences(found) == [
        "how to recognise both-shine: Both faces shine. -> Both are bright.",
        "other names of both-shine: now also even-polish",
    ]


def test_of_two_entries_with_one_content_none_is_taken_for_a_rename(tmp_path: Path) -> None:
    twin = NEW_CAUSE.lstrip("\n").removesuffix("side-slope:")
    one = edited(tmp_path / "one", [(CAUSES, "side-slope:", twin + "side-slope:")])
    two = [twin.replace("fresh-cause", name) for name in ("cause-a", "cause-b")]
    other = edited(tmp_path / "two", [(CAUSES, "side-slope:", "".join(two) + "side-slope:")])
    found = compare(one, other)
    assert [(entry.how, entry.id) for entry in found.entries] == [
        ("added", "cause-a"), ("added", "cause-b"), ("removed", "fresh-cause"),
    ]  # fmt: skip


SENTENCES_OF_THEIR_OWN = {
    *(("causes", field) for field in ("shows", "never_shows", "look_alikes")),
    *(("chaining", field) for field in ("when", "unless", "then")),
}


@pytest.mark.parametrize(
    ("kind", "field"),
    [(kind, field) for kind, shape in KINDS.items() for field in shape.model_fields]
    + [("about", field) for field in About.model_fields] + [("scales", field) for field in Scales.model_fields],
)  # fmt: skip
def test_every_field_has_words_of_its_own(kind: str, field: str) -> None:
    if (kind, field) in SENTENCES_OF_THEIR_OWN:
        return
    parts = [f"basis {part}" for part in ("kind", "source", "confidence")] if field == "basis" else [field]
    for part in parts:
        assert label(kind, part, "X").count("_") == 0


def spots(value: Any, way: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The way to every leaf and to every item of a list."""
    if isinstance(value, dict):
        return [way_ for key, item in value.items() for way_ in spots(item, (*way, key))]
    if isinstance(value, list):
        return [way_ for n, item in enumerate(value) for way_ in [(*way, n), *spots(item, (*way, n))]]
    return [way]


def spoilt(entry: dict[str, Any], way: tuple[Any, ...]) -> dict[str, Any]:
    """The entry with one thing different: an item taken out of a list, or a leaf with another value."""
    entry = deepcopy(entry)
    inner: Any = entry
    for step in way[:-1]:
        inner = inner[step]
    value = inner[way[-1]]
    if isinstance(way[-1], int):
        del inner[way[-1]]
    elif isinstance(value, bool):
        inner[way[-1]] = not value
    elif isinstance(value, (int, float)):
        inner[way[-1]] = value + 1
    else:
        inner[way[-1]] = "another-word" if value is None else value + "-too"
    return entry


BASE = load(SOUND)
PLACES = [
    (kind, name, way)
    for kind in KINDS
    for name, entry in BASE.entries(kind).items()
    for way in spots(plain(entry))
    if way
]


def test_no_single_difference_goes_unsaid() -> None:
    assert len(PLACES) > 300
    for kind, name, way in PLACES:
        old = plain(BASE.entries(kind)[name])
        new = spoilt(old, way)
        assert changes(kind, name, old, new), (kind, name, way)
        assert changes(kind, name, new, old), (kind, name, way)


def test_numbers_that_mean_different_things_are_not_the_same() -> None:
    assert not same("6 mm", "6 cm", "above")
    assert not same("sheet:toe-limit else 6 mm", "sheet:shim-thickness else 6 mm", "above")
    assert not same({"a": ["x", "x"]}, {"a": ["x"]})


def test_the_difference_is_json_with_stable_keys(tmp_path: Path) -> None:
    found = compare(load(SOUND), edited(tmp_path, [TOLD["sound rate"][0]]))
    data = json.loads(found.model_dump_json())
    assert list(data) == ["old", "new", "same", "entries", "cases"]
    assert data["entries"][0]["where"].endswith(read_spot("symptoms", "side-hot"))
    assert data["entries"][0]["changes"] == [
        {"field": "sound", "how": "changed", "says": "sound rate of side-hot: rarely -> sometimes", "old": "rarely",
         "new": "sometimes"}
    ]  # fmt: skip


def read_spot(kind: str, name: str) -> str:
    """File, line and column of an entry, counted here."""
    path = SOUND / _file(kind)
    assert name in read_plain(path).data
    line = next(n for n, text in enumerate(path.read_text(encoding="utf-8").splitlines(), 1) if text == f"{name}:")
    return f"{_file(kind)}:{line}:1"
