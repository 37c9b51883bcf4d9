"""The schemas for YAML editors, judged by an independent JSON Schema library and read as an editor reads YAML.

An editor reads YAML 1.2 and guesses: `12` is a number and `true` a truth value, but `no` is a text.
"""

from __future__ import annotations

import copy
import json
import os
from functools import cache
from pathlib import Path

import pytest
from bench_calls import Bench
from filled import CASES, ENTRIES, fill
from jsonschema import Draft7Validator, Draft202012Validator  # source: jsonschema, written apart from pydantic
from ruamel.yaml import YAML

from lugwright.cli.rules.file_kinds import FILE_KINDS, kind_of, schema_of, schema_text
from lugwright.cli.rules.new import NewKind
from lugwright.rulebase.json_schema import FILLS, models_in
from lugwright.rulebase.known import known
from lugwright.rulebase.meanings import MEANINGS, meaning
from lugwright.rulebase.rules import CONCLUSIONS, CONDITIONS
from lugwright.rulebase.words import Id
from lugwright.shapes import keys

ROOT = Path(__file__).resolve().parents[2]
FILES = sorted([*(ROOT / "rules").rglob("*.yaml"), *(ROOT / "examples").glob("*.yaml")])


@pytest.fixture
def bench(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("LUGWRIGHT_CACHE", "off")
    return Bench(tmp_path, capsys, monkeypatch)


@cache
def schema(name: str) -> dict:
    return schema_of(FILE_KINDS[name], _known())


@cache
def _known():
    return known()


def as_an_editor_reads(text: str):
    return YAML(typ="safe", pure=True).load(text)


def faults(name: str, text: str) -> list[str]:
    found = Draft202012Validator(schema(name)).iter_errors(as_an_editor_reads(text))
    return [error.message for error in found]


@pytest.mark.outside
@pytest.mark.parametrize("name", sorted(FILE_KINDS))
def test_a_schema_is_a_schema_of_2020_12_and_older_editors_can_read_it_too(name):
    assert schema(name)["$schema"] == Draft202012Validator.META_SCHEMA["$id"]
    Draft202012Validator.check_schema(schema(name))
    Draft7Validator.check_schema({key: value for key, value in schema(name).items() if key != "$schema"})
    json.loads(schema_text(schema(name)))


@pytest.mark.outside
@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_shipped_file_and_every_example_fits_its_schema(path):
    text = path.read_text(encoding="utf-8")
    kind = kind_of(path, as_an_editor_reads(text))
    assert kind is not None
    assert faults(kind.name, text) == []


@pytest.mark.outside
@pytest.mark.parametrize("kind", sorted(ENTRIES))
def test_a_filled_skeleton_fits_the_schemas_that_are_written_beside_it(bench, kind):
    assert bench("schema", "-o", "yard/.schema", "--rules", "yard")[0] == 0
    assert bench("new", kind, "sand-thing", "--rules", "yard")[0] == 0
    files = bench.files()
    for part, words in ((NewKind(kind).folder, ENTRIES), ("cases", CASES)):
        if kind not in words:
            continue
        text = files[f"{part}/sand-thing.yaml"]
        way = text.split("\n")[0].removeprefix("# yaml-language-server: $schema=")
        beside = json.loads((bench.yard / part / way).read_text(encoding="utf-8"))
        validator = Draft202012Validator(beside)
        assert list(validator.iter_errors(as_an_editor_reads(text))) != [], "a TODO is underlined in an editor"
        filled = as_an_editor_reads(fill(text, words[kind]))
        assert [error.message for error in validator.iter_errors(filled)] == []


BROKEN = {
    "misspelt key": ("causes", "  beforehand: rare", "  befor: rare"),
    "missing key": ("causes", "  remedy: Wash.\n", ""),
    "word of another scale": ("causes", "how_often: often", "how_often: seldom"),
    "sign that does not exist": ("causes", "symptom: hub-hot", "symptom: hub-hut"),
    "sign with a side it has not": ("causes", "how_often: often}", "how_often: often, side: same}"),
    "side oriented machine": ("causes", "acts_on: unit", "acts_on: machine\n  oriented: side"),
    "answer nobody can give": ("causes", "how_often: often}", "how_often: often, given: {turning: never}}"),
    "published without a source": ("causes", "basis: judgement", "basis: {kind: published}"),
    "published as a word": ("causes", "basis: judgement", "basis: published"),
    "no sign": ("causes", "\n    - {symptom: hub-hot, how_often: often}", " []"),
    "text where a list belongs": ("causes", "  remedy: Wash.\n", "  remedy: Wash.\n  feeds: toe-in-error\n"),
    "id in capitals": ("causes", "sand:", "Sand:"),
    "kind of condition that is none": ("chaining", "- {seen: hub-hot", "- {sees: hub-hot"),
    "two kinds in one condition": ("chaining", "- {seen: hub-hot", "- {absent: hub-hot, seen: hub-hot"),
    "conclusion among the conditions": ("chaining", "- {seen: hub-hot, unit: $unit}", "- {finding: hub-hot}"),
    "place that is none": ("chaining", "{seen: hub-hot, unit: $unit", "{seen: hub-hot, unit: middle"),
    "answer to another question": ("chaining", "{seen: hub-hot, unit: $unit}", "{context: visit, is: both-hands}"),
    "number where a word belongs": ("chaining", "{seen: hub-hot, unit: $unit}", "{context: visit, above: 3}"),
    "field of another check": (
        "chaining", "{seen: hub-hot, unit: $unit}", "{reading: toe, axle: $axle, with: {inboard: {above: 1 mm}}}",
    ),
    "limit-use without a limit": ("chaining", "{finding: hub-oil-low, unit: $unit}", "{verdict: limit-use}"),
    "answer to what is asked": ("chaining", "{finding: hub-oil-low, unit: $unit}", "{context: visit, is: routine}"),
    "unknown sign in a case": ("case", "symptom: hub-hot", "symptom: hub-hut"),
    "unit of no machine": ("case", "hub-hot, unit: left", "hub-hot, unit: middle"),
    "field the check has not": ("case", "inboard: 1 mm", "inbord: 1 mm"),
    "reading without what it needs": ("case", ", trailing: 2210 mm", ""),
    "derived answer in a case": ("case", "visit: routine", "belt-life: old"),
    "layout that is none": ("case", "layout: two-track", "layout: six-track"),
    "case that expects nothing it can name": ("cases", "first: toe-in-error", "first: toe-on-error"),
    "rule as a cause": ("cases", "first: toe-in-error", "first: hot-hub-low"),
    "kind of case that is none": ("cases", "kind: typical", "kind: usual"),
    "name inside a case of the rules": ("cases", "  case:\n", "  case:\n    case: x\n"),
}  # fmt: skip
SOUND = {
    "causes": """
sand:
  name: Sand
  acts_on: unit
  beforehand: rare
  because: It grinds.
  basis: judgement
  if_ignored: It seizes.
  remedy: Wash.
  shows:
    - {symptom: hub-hot, how_often: often}
""",
    "chaining": """
hot-hub-low:
  name: Hot hub
  when:
    - {seen: hub-hot, unit: $unit}
  then:
    - {finding: hub-oil-low, unit: $unit}
  because: Less oil.
  basis: {kind: published, source: A book.}
""",
    "case": """
case: one
machine: {name: 12, layout: two-track, drive: friction, hours: 1860}
context: {visit: routine, recent-parts: no, belt-hours: 12 h}
seen:
  - {symptom: hub-hot, unit: left}
  - {symptom: lug-face-scuff, units: [left, right], side: both}
measured:
  - {check: lug-clearance, unit: left, inboard: 1 mm, outboard: 8 mm, at: 1850}
  - {check: toe, leading: 2212 mm, trailing: 2210 mm}
""",
    "cases": """
one:
  sentence: It is toe.
  for: toe-in-error
  kind: typical
  case:
    machine: {layout: two-track, drive: friction}
  expect:
    first: toe-in-error
    at_least: {toe-in-error@main-axle: 20 %}
""",
}


@pytest.mark.outside
@pytest.mark.parametrize("name", sorted(SOUND))
def test_the_files_that_are_broken_below_are_sound_before(name):
    assert faults(name, SOUND[name]) == []


@pytest.mark.outside
@pytest.mark.parametrize("mistake", BROKEN)
def test_a_broken_file_fails_in_its_schema(mistake):
    name, old, broken = BROKEN[mistake]
    assert SOUND[name].count(old) == 1
    assert faults(name, SOUND[name].replace(old, broken)) != []


def _id_keys():
    for kind in FILE_KINDS.values():
        for shape in {one for top in (kind.shape, *kind.beside) for one in models_in(top)}:
            for name, declared in shape.model_fields.items():
                inside = str(declared.annotation)
                if Id in (declared.annotation, *getattr(declared.annotation, "__args__", ())) or (
                    "[a-z][a-z0-9]*(-[a-z0-9]+)*" in inside + str(declared.metadata)
                ):
                    yield shape, declared.alias or name, kind


#: Ids that name nothing declared elsewhere.
FREE = {
    ("Symptom", "also_called"), ("Check", "set_up"), ("Check", "reading"), ("ReadingField", "answers"),
    ("ContextFact", "answers"), ("MachineSheet", "numbers"), ("ReadingIs", "with"), ("Case", "case"),
    ("Scales", "rate_per_visit"), ("Scales", "stages"), ("Scales", "extents"),
}  # fmt: skip


def test_every_id_of_every_shape_is_completed_or_known_to_be_free():
    found = {(shape.__name__, key): (shape, key) in {**FILLS, **kind.fills} for shape, key, kind in _id_keys()}
    assert len(found) > 30
    assert {name for name, filled in found.items() if not filled} == FREE


def test_every_key_of_every_shape_has_its_meaning_and_no_meaning_is_left_over():
    shapes = {one for kind in FILE_KINDS.values() for top in (kind.shape, *kind.beside) for one in models_in(top)}
    silent = [(shape.__name__, key) for shape in shapes for key in keys(shape) if not meaning(shape, key)]
    assert silent == []
    known_keys = {(shape.__name__, key) for shape in shapes for key in keys(shape)}
    told = {(name, key) for name, table in MEANINGS.items() if name != "*" for key in table}
    assert told <= known_keys


def test_ids_are_offered_with_their_names():
    cause = schema("causes")["$defs"]["Shows"]["properties"]["symptom"]
    at = cause["enum"].index("hub-hot")
    assert cause["enumDescriptions"][at] == _known().entries["symptoms"]["hub-hot"]["name"]
    assert cause["enum"] == sorted(_known().entries["symptoms"])


def test_each_kind_of_condition_and_conclusion_is_one_branch_that_asks_for_its_head_key():
    rule = schema("chaining")["$defs"]["ChainingRule"]["properties"]
    for key, kinds in (("when", CONDITIONS), ("unless", CONDITIONS), ("then", CONCLUSIONS)):
        branches = rule[key]["items"]["oneOf"]
        heads = [schema("chaining")["$defs"][one["$ref"].rpartition("/")[2]]["required"][0] for one in branches]
        assert heads == list(kinds)


@pytest.mark.outside
def test_an_overlay_may_give_a_single_word_another_number(bench):
    bench("schema", "scales", "-o", "yard/.schema", "--rules", "yard")
    made = json.loads((bench.yard / ".schema" / "scales.json").read_text(encoding="utf-8"))
    text = "because: measured here\nbasis: judgement\nsound: {usually: 0.6}\n"
    assert list(Draft202012Validator(made).iter_errors(as_an_editor_reads(text))) == []
    assert faults("scales", text) != []


def test_new_ids_are_offered_at_once_where_schemas_are_kept(bench):
    assert bench("schema", "-o", "yard/.schema", "--rules", "yard")[0] == 0
    assert bench("new", "symptom", "sand-in-hub", "--rules", "yard")[0] == 0
    made = json.loads((bench.yard / ".schema" / "causes.json").read_text(encoding="utf-8"))
    assert "sand-in-hub" in made["$defs"]["Shows"]["properties"]["symptom"]["enum"]


def test_a_schema_is_printed_or_every_schema_is_written(bench):
    code, out, _ = bench("schema", "causes")
    assert code == 0
    assert json.loads(out) == schema("causes")
    code, _, err = bench("schema", "-o", "there", "--rules", "yard")
    assert code == 0
    names = {path.name for path in (bench.folder / "there").iterdir()}
    assert names == {f"{name}.json" for name in FILE_KINDS if name != "about"}
    assert err.count("written: ") == len(names)
    code, out, err = bench("schema")
    assert (code, out) == (2, "")
    assert "name a kind of file" in err


def test_the_same_rule_base_gives_the_same_bytes():
    assert schema_text(schema_of(FILE_KINDS["cases"], known())) == schema_text(copy.deepcopy(schema("cases")))


def test_schemas_are_no_part_of_the_rule_base(bench):
    from lugwright.rulebase.load import inspect

    bench("schema", "-o", "yard/.schema", "--rules", "yard")
    assert inspect(bench.yard)[1] == ()


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="this user may write everywhere")
def test_a_folder_that_cannot_be_written_to_is_told(bench):
    bench.yard.chmod(0o500)
    try:
        code, _, err = bench("schema", "-o", "yard/.schema")
    finally:
        bench.yard.chmod(0o700)
    assert code == 2
    assert "error[cannot-write]" in err
