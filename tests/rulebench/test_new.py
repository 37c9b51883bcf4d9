"""A new entry begins as a skeleton that explains itself, and nothing is overwritten or left half-written."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path

import pytest
from bench_calls import Bench
from filled import CASES, ENTRIES, fill

import lugwright.cli.rules.new as new
from lugwright.plain_yaml import read_plain_text
from lugwright.rulebase.base import KINDS
from lugwright.rulebase.key_order import key_order
from lugwright.rulebase.known import Known, known
from lugwright.rulebase.load import inspect
from lugwright.rulebase.skeleton import skeleton
from lugwright.rulebase.unfilled import unfilled
from lugwright.rulecases.book import inspect_cases
from lugwright.shapes import bare, choices

ALL = [kind.value for kind in new.NewKind]


@pytest.fixture
def bench(tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("LUGWRIGHT_CACHE", "off")
    return Bench(tmp_path, capsys, monkeypatch)


def folder_of(kind: str) -> str:
    return new.NewKind(kind).folder


@pytest.mark.parametrize("kind", ALL)
def test_a_skeleton_is_accepted_once_every_todo_is_filled_in(bench, kind):
    assert bench("new", kind, "sand-thing", "--rules", "yard")[0] == 0
    path = bench.yard / folder_of(kind) / "sand-thing.yaml"
    path.write_text(fill(path.read_text(encoding="utf-8"), ENTRIES[kind]), encoding="utf-8")
    rulebase, issues = inspect(bench.yard)
    assert issues == ()
    assert "sand-thing" in rulebase.entries(folder_of(kind))


@pytest.mark.parametrize("kind", sorted(CASES))
def test_the_cases_of_a_skeleton_are_accepted_once_every_todo_is_filled_in(bench, kind):
    assert bench("new", kind, "sand-thing", "--rules", "yard")[0] == 0
    for part, words in ((folder_of(kind), ENTRIES), ("cases", CASES)):
        path = bench.yard / part / "sand-thing.yaml"
        path.write_text(fill(path.read_text(encoding="utf-8"), words[kind]), encoding="utf-8")
    rulebase, issues = inspect(bench.yard)
    assert issues == ()
    text = (bench.yard / "cases" / "sand-thing.yaml").read_text(encoding="utf-8")
    home = bench.folder / "alone"
    (home / "cases").mkdir(parents=True)
    (home / "cases" / "sand-thing.yaml").write_text(text, encoding="utf-8")
    cases, faults = inspect_cases(_with_cases_of(rulebase, home))
    assert faults == ()
    wanted = {"symptom": {"sound"}, "cause": {"typical", "mild", "look-alike"}, "chaining": {"fires", "silent"}}
    assert {case.written.kind for case in cases} == wanted[kind]


def _with_cases_of(rulebase, home: Path):
    from dataclasses import replace

    layer = replace(rulebase.layers[-1], folder=home, shown="yard")
    return replace(rulebase, folder=home, shown="yard", layers=(layer,))


@pytest.mark.parametrize("kind", ALL)
def test_what_is_left_open_is_told_at_its_place_with_what_belongs_there(bench, kind):
    bench("new", kind, "sand-thing", "--rules", "yard")
    for name, text in bench.files().items():
        if not name.endswith("sand-thing.yaml"):
            continue
        shape = KINDS.get(name.split("/")[0])
        told = unfilled(read_plain_text(text, name), shape, keyed=True)
        written = [
            (number, match.start() + 1)
            for number, line in enumerate(text.split("\n"), 1)
            if not line.lstrip().startswith("#")
            for match in re.finditer("TODO", line)
        ]
        assert [(blank.spot.line, blank.spot.column) for blank in told] == written
        assert all("still says TODO" in blank.what and blank.hint.startswith("write ") for blank in told)


def test_an_open_choice_is_told_with_its_words():
    document = read_plain_text("a:\n  shows:\n    - {symptom: TODO, how_often: TODO}", "a.yaml")
    told = [(blank.what, blank.hint) for blank in unfilled(document, KINDS["causes"], keyed=True)]
    assert told == [
        ("'symptom' still says TODO", "write the id of the sign"),
        ("'how_often' still says TODO", "write one of: almost-always, usually, often, sometimes, rarely, never"),
    ]


def test_a_finished_file_leaves_nothing_open():
    for path in sorted((Path(__file__).parents[2] / "rules" / "causes").glob("*.yaml")):
        assert unfilled(read_plain_text(path.read_text(encoding="utf-8"), path.name), KINDS["causes"], keyed=True) == ()


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_skeleton_explains_every_key_and_lists_every_choice(kind):
    text = skeleton(kind, "sand-thing", known())
    lines = text.split("\n")
    for key in key_order(KINDS[kind]):
        at = next(n for n, line in enumerate(lines) if re.match(rf"  (# )?{key}:", line))
        above = []
        while lines[at - 1].startswith("  ## "):
            at -= 1
            above.insert(0, lines[at][5:])
        said = " ".join(above)
        assert len(said) > 8, key
        declared = next(f for name, f in KINDS[kind].model_fields.items() if key in (name, f.alias))
        assert all(re.search(rf"\b{re.escape(str(word))}\b", said) for word in choices(bare(declared.annotation))), key


def test_a_skeleton_says_what_a_word_is_worth_in_this_rule_base():
    assert "common = 8" in skeleton("causes", "a", known())
    assert "(common, occasional, uncommon, rare)" in skeleton("causes", "a", Known())


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_taking_the_sign_away_makes_an_optional_key_part_of_the_entry(kind):
    text = skeleton(kind, "sand-thing", known())
    open_text = re.sub(r"^  # ", "  ", text, flags=re.M)
    entry = read_plain_text(open_text, "x").data["sand-thing"]
    required = {key for key, f in KINDS[kind].model_fields.items() if f.is_required()}
    assert required <= set(read_plain_text(text, "x").data["sand-thing"])
    assert list(entry) == [key for key in key_order(KINDS[kind]) if key in entry]
    assert set(entry) == set(key_order(KINDS[kind]))


def test_what_to_do_next_is_told(bench):
    code, out, _ = bench("new", "cause", "sand-thing", "--rules", "yard")
    assert code == 0
    assert out == (
        "written: yard/causes/sand-thing.yaml (9 TODO)\n"
        "written: yard/cases/sand-thing.yaml (20 TODO)\n"
        "\n"
        "Next:\n"
        "  1. write something for every TODO\n"
        "  2. lugwright rules check yard\n"
        "  3. lugwright rules test yard\n"
        "A YAML editor offers ids and words after: lugwright rules schema -o yard/.schema --rules yard\n"
    )


@pytest.mark.parametrize(
    ("kind", "name", "code", "says"),
    [
        (
            "cause",
            "toe-in-error",
            "duplicate-id",
            "already the id of an entry under causes, at rules/causes/toe-in-error",
        ),
        ("machine", "toe-in-error", "duplicate-id", "already the id of an entry under causes"),
        ("symptom", "de-tracking", "alias-clash", "another name of the symptom 'belt-came-off'"),
        ("cause", "Toe In", "bad-id", "for example 'toe-in'"),
        ("cause", "a--b", "bad-id", "small letters and digits with single hyphens"),
        ("cause", "x" * 61, "bad-id", "at most 60 characters"),
        ("symptom", "hub-hots", "near-duplicate-id", "nearly the same as 'hub-hot' (rules/symptoms/hubs.yaml:"),
        ("symptom", "hot-hub", "near-duplicate-id", "nearly the same as 'hub-hot'"),
    ],
)
def test_an_id_that_is_taken_odd_or_too_much_like_another_is_refused(bench, kind, name, code, says):
    before = bench.files()
    answer, out, err = bench("new", kind, name, "--rules", "yard")
    assert (answer, out) == (2, "")
    assert f"error[{code}]" in err
    assert says in err
    assert bench.files() == before


def test_an_id_like_another_is_taken_when_it_is_meant(bench):
    assert bench("new", "symptom", "hot-hub", "--rules", "yard", "--anyway")[0] == 0
    assert "symptoms/hot-hub.yaml" in bench.files()


def test_an_id_of_the_overlay_itself_is_taken_too(bench):
    assert bench("new", "context", "sand-thing", "--rules", "yard")[0] == 0
    code, _, err = bench("new", "symptom", "sand-thing", "--rules", "yard")
    assert code == 2
    assert "yard/context/sand-thing.yaml" in err


def test_hardly_any_two_shipped_ids_are_taken_for_one_another():
    there = known()
    pairs = set()
    for spots in there.spots.values():
        for name in spots:
            others = {other: spot for other, spot in spots.items() if other != name}
            pairs |= {tuple(sorted((name, other))) for other in new.alike(name, others)}
    assert len(pairs) <= 5, sorted(pairs)


def test_a_folder_that_is_no_rule_base_is_refused_with_how_to_begin_one(bench):
    (bench.folder / "empty").mkdir()
    for folder in ("empty", "nowhere"):
        code, _, err = bench("new", "cause", "sand-thing", "--rules", folder)
        assert code == 2
        assert "error[not-a-rule-base]" in err
        assert "overlay.yaml" in err
        assert "over: shipped" in err
    assert list((bench.folder / "empty").iterdir()) == []


def test_the_way_to_begin_a_folder_that_is_told_works(bench):
    # the two lines that the refusal names are those the fixture wrote
    assert "`title: yard rules` and `over: shipped`" in new._OWN
    assert inspect(bench.yard)[1] == ()


def test_the_rule_base_inside_the_package_is_never_written_to(bench, monkeypatch):
    package = bench.folder / "package" / "lugwright"
    (package / "cli" / "rules").mkdir(parents=True)
    monkeypatch.setattr(new, "__file__", str(package / "cli" / "rules" / "new.py"))
    home = package / "shipped_rules"
    (home / "causes").mkdir(parents=True)
    code, _, err = bench("new", "cause", "sand-thing", "--rules", str(home))
    assert code == 2
    assert "belongs to the installed package" in err
    assert "--rules yard-rules" in err


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="this user may write everywhere")
def test_a_folder_that_cannot_be_written_to_is_refused(bench):
    bench.yard.chmod(stat.S_IRUSR | stat.S_IXUSR)
    try:
        code, _, err = bench("new", "cause", "sand-thing", "--rules", "yard")
    finally:
        bench.yard.chmod(stat.S_IRWXU)
    assert code == 2
    assert "error[cannot-write]" in err


def test_nothing_half_written_stays(bench, monkeypatch):
    from lugwright.report import render

    real, calls = render.write_whole, []

    def failing(target, data):
        calls.append(target)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        real(target, data)

    monkeypatch.setattr(render, "write_whole", failing)
    before = bench.files()
    code, _, err = bench("new", "cause", "sand-thing", "--rules", "yard")
    assert code == 2
    assert "no space left" in err
    assert len(calls) == 2
    assert bench.files() == before
    assert not (bench.yard / "causes").exists()
    assert not (bench.yard / "cases").exists()


def test_a_file_of_that_name_is_never_overwritten(bench):
    (bench.yard / "causes").mkdir()
    (bench.yard / "causes" / "sand-thing.yaml").write_text("# mine\n", encoding="utf-8")
    before = bench.files()
    code, _, err = bench("new", "cause", "sand-thing", "--rules", "yard")
    assert code == 2
    assert "there is such a file already" in err
    assert bench.files() == before


def test_an_id_of_the_greatest_length_has_cases_with_ids_that_fit(bench):
    name = "a" * 57 + "-bc"
    assert bench("new", "cause", name, "--rules", "yard")[0] == 0
    ids = read_plain_text(bench.files()[f"cases/{name}.yaml"], "x").data
    assert len(ids) == 3
    assert all(re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", one) and len(one) <= 60 for one in ids)
