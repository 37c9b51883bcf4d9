"""`rules diff --cases`: what a change of the rules does to cases."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
import typer
from rulebench_bases import SOUND, TESTS, Edit, edited
from typer.testing import CliRunner

from lugwright.cli.rules.diff import diff_command
from lugwright.issues import UnusableInput
from lugwright.rulebase.load import load
from lugwright.rulediff.compare import compare
from lugwright.rulediff.effect import case_files, effect
from lugwright.rulediff.shape import CaseEffect
from lugwright.triage import triage

MACHINE = "machine: {name: Demo 1, layout: four-track, drive: positive}\ninvented: true\n"
SCUFFED = "seen:\n  - {symptom: face-scuff, unit: front-right, side: inboard}\n"
CASES = {
    "quiet.yaml": f"case: quiet\n{MACHINE}seen:\n  - {{symptom: even-polish, unit: rear-left}}\n",
    "scuffed.yaml": f"case: scuffed\n{MACHINE}{SCUFFED}  - {{symptom: side-hot, unit: front-right, side: inboard}}\n",
    "tight.yaml": f"case: tight\n{MACHINE}measured:\n"
    "  - {check: clearance, unit: front-right, inboard: 0 mm, outboard: 20 mm}\n",
}
CAUSES, RULES, SYMPTOMS, CHECKS = (
    next((SOUND / kind).glob("*.yaml")).relative_to(SOUND).as_posix()
    for kind in ("causes", "chaining", "symptoms", "checks")
)
NO_VERDICT: Edit = (RULES, "    - {verdict: limit-use, limit: no roading, unit: $other}\n", "")
RARE: Edit = (
    CAUSES,
    "points: the face that rubs\n  beforehand: common",
    "points: the face that rubs\n  beforehand: rare",
)
SELDOM: Edit = (CAUSES, "    - {symptom: side-hot, how_often: often, side: same}\n", "")


@pytest.fixture(autouse=True)
def _no_cache(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LUGWRIGHT_CACHE", "off")


@pytest.fixture
def cases(tmp_path: Path) -> Path:
    folder = tmp_path / "cases"
    folder.mkdir()
    for name, text in CASES.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def under_both(cases: Path, tmp_path: Path, *edits: Edit) -> CaseEffect:
    old, new = load(SOUND), edited(tmp_path, edits)
    return effect(case_files(cases), old, new, compare(old, new).renames)


def test_the_same_rules_change_no_case(cases: Path, tmp_path: Path) -> None:
    found = under_both(cases, tmp_path)
    assert (found.total, found.unchanged, found.changed, found.not_read) == (3, 3, (), ())


def test_a_verdict_that_changes_is_told(cases: Path, tmp_path: Path) -> None:
    found = under_both(cases, tmp_path, NO_VERDICT)
    assert [(one.case, one.changed) for one in found.changed] == [("tight", ("verdict",))]
    assert (found.changed[0].verdict_old, found.changed[0].verdict_new) == ("limit-use", "keep-running")
    assert found.unchanged == 2


def test_another_first_cause_is_told_with_the_figures_that_triage_gives_under_each_rule_base(
    cases: Path, tmp_path: Path
) -> None:
    from lugwright.casefile.load import load_case

    found = under_both(cases, tmp_path, RARE, SELDOM)
    one = next(one for one in found.changed if one.case == "scuffed")
    assert "first cause" in one.changed
    assert one.first_old.key != one.first_new.key
    old, new = load(SOUND), load(tmp_path / "rules")
    for first, side in ((one.first_old, "old"), (one.first_new, "new")):
        for name, rulebase in (("old", old), ("new", new)):
            answer = triage(load_case(cases / "scuffed.yaml", rulebase), rulebase)
            listed = {**{cause.key: cause.probability for cause in answer.ranked}, "no-fault": answer.no_fault}
            assert getattr(first, name) == listed.get(first.key)
            if name == side:
                assert listed[first.key] == max(listed.values())


def test_a_case_that_no_longer_loads_is_listed_with_the_reason(cases: Path, tmp_path: Path) -> None:
    home = edited(tmp_path).folder
    for path in home.rglob("*.yaml"):
        path.write_text(path.read_text(encoding="utf-8").replace("even-polish", "both-shine"), encoding="utf-8")
    (cases / "torn.yaml").write_text("case: [", encoding="utf-8")
    old, new = load(SOUND), load(home)
    found = effect(case_files(cases), old, new, compare(old, new).renames)
    assert [(one.file, one.under) for one in found.not_read] == [("quiet.yaml", "new"), ("torn.yaml", "both")]
    assert re.fullmatch(r"quiet\.yaml:\d+:\d+: .*'even-polish'.*", found.not_read[0].reasons[0])
    assert found.total == found.unchanged + len(found.changed) + len(found.not_read) == 4


def test_a_cause_or_check_under_another_id_is_no_change_of_the_case(cases: Path, tmp_path: Path) -> None:
    home = edited(tmp_path).folder
    for path in home.rglob("*.yaml"):
        text = path.read_text(encoding="utf-8").replace("out-of-line", "off-line").replace("clearance", "lug-room")
        path.write_text(text.replace("side-lug-room", "side-clearance"), encoding="utf-8")
    (cases / "tight.yaml").unlink()
    old, new = load(SOUND), load(home)
    names = compare(old, new).renames
    assert names["causes"] == {"out-of-line": "off-line"}
    assert names["checks"] == {"clearance": "lug-room"}
    found = effect(case_files(cases), old, new, names)
    assert found.changed == ()
    assert found.unchanged == 2


def test_progress_is_counted_to_the_end(cases: Path) -> None:
    counted: list[int] = []
    old = load(SOUND)
    effect(case_files(cases), old, old, {}, progress=counted.append)
    assert counted == [1, 2, 3]


@pytest.mark.parametrize("folder", ["nowhere", "empty"])
def test_a_folder_without_cases_is_refused_in_words(folder: str, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(UnusableInput, match=r"there is no such folder|no file here ends in \.yaml"):
        case_files(tmp_path / folder)


def command(*words: str) -> tuple[int, str, str]:
    app = typer.Typer()
    app.command()(diff_command)
    done = CliRunner().invoke(app, list(words))
    return done.exit_code, done.stdout, done.stderr


def test_the_command_tells_change_and_effect_and_leaves_with_0(cases: Path, tmp_path: Path) -> None:
    edited(tmp_path, [NO_VERDICT])
    code, out, err = command(str(SOUND), str(tmp_path / "rules"), "--cases", str(cases))
    assert code == 0
    assert "rule tight-inboard: conclusion removed: verdict limit-use at unit $other: no roading" in out
    assert "3 cases: 1 changed, 2 unchanged in first cause, verdict and next check." in out
    assert "tight  (tight.yaml): another verdict" in out
    assert "verdict      was  limit use" in out
    assert "now  keep running" in out
    assert "\x1b" not in out + err
    assert "\r" not in out + err


def test_the_command_says_so_where_nothing_differs_and_where_only_the_writing_does(tmp_path: Path) -> None:
    code, out, _ = command(str(SOUND), str(SOUND))
    assert code == 0
    assert "Both rule bases say the same." in out
    assert "way of writing" not in out
    edited(tmp_path, [(CHECKS, "minutes: 10", "minutes: 10.0"), (RULES, "below: 20 h", "below: 20.0 h")])
    code, out, _ = command(str(SOUND), str(tmp_path / "rules"))
    assert code == 0
    assert "Only the order or the way of writing differs." in out


def test_the_json_of_the_command_is_the_whole_answer(cases: Path, tmp_path: Path) -> None:
    edited(tmp_path, [NO_VERDICT])
    code, out, _ = command(str(SOUND), str(tmp_path / "rules"), "--cases", str(cases), "--json")
    answer = json.loads(out)
    assert code == 0
    assert answer["cases"]["total"] == 3
    assert [one["file"] for one in answer["cases"]["changed"]] == ["tight.yaml"]
    assert answer["same"] is False


def test_every_example_is_unchanged_under_the_rules_it_came_with() -> None:
    from rulebench_bases import shipped

    found = effect(case_files(TESTS.parent / "examples"), shipped(), shipped(), {})
    assert found.changed == ()
    assert found.not_read == ()
    assert found.total == len(list((TESTS.parent / "examples").glob("*.yaml")))
