"""Reading the cases beside a rule base: strictly, and every fault at its own line."""

from __future__ import annotations

from pathlib import Path

import pytest
from case_bases import ONE_CASE, base, changed, loaded

from lugwright.issues import UnusableInput
from lugwright.places import Place
from lugwright.rulebase.load import load
from lugwright.rulecases.book import inspect_cases, load_cases


def faults(folder: Path, cases: str) -> list[tuple[str, int, int, str]]:
    """Code, line, column and message of every fault of one cases file."""
    _, issues = inspect_cases(loaded(folder, cases))
    return [(one.code, one.spot.line, one.spot.column, f"{one.what}; {one.hint}") for one in issues]


def test_a_case_is_read_with_its_record_and_its_place(tmp_path: Path) -> None:
    rulebase = loaded(tmp_path)
    (case,) = load_cases(rulebase)
    assert (case.name, case.spot.line, case.spot.column) == ("one-face", 2, 1)
    assert case.spot.file == f"{rulebase.shown}/cases/first.yaml"
    assert case.record.case == "one-face"
    assert [one.key for one in case.record.findings] == ["face-scuff@rear-left/outboard", "side-hot@rear-left/outboard"]
    assert case.record.readings[0].fields == {"inboard": 1.0, "outboard": 21.0}
    assert case.record.sheet is rulebase.machines["demo"]
    assert case.written.expect.silent == ("young-belt",)


def test_a_word_may_stand_for_a_list_of_one(tmp_path: Path) -> None:
    (case,) = load_cases(loaded(tmp_path, changed(ONE_CASE, silent="young-belt")))
    assert case.written.expect.silent == ("young-belt",)


@pytest.mark.parametrize(
    ("change", "code", "line", "column", "message"),
    [
        ({"first": "out-of-lin@rear-left"}, "unknown-cause", 14, 12, "did you mean 'out-of-line'?"),
        ({"first": "out-of-line@left"}, "impossible-place", 14, 12, "cannot act at 'left'"),
        ({"first": "out-of-line@front-axle"}, "impossible-place", 14, 12, "cannot act at 'front-axle'"),
        ({"fires": "[tight-inbord]"}, "unknown-rule", 17, 13, "did you mean 'tight-inboard'?"),
        ({"silent": "[young-belts]"}, "unknown-rule", 18, 14, "did you mean 'young-belt'?"),
        ({"for_": "[out-of-line, tight-inbord]"}, "unknown-entry", 4, 22, "did you mean 'tight-inboard'?"),
        ({"at_least": "{out-of-line@rear-left: 20}"}, "no-unit", 15, 39, "'20'"),
        ({"at_least": "{out-of-line@rear-left: 200 %}"}, "out-of-range", 15, 39, "200"),
        ({"kind": "usual"}, "bad-choice", 5, 9, "typical"),
        ({"verdict": "go on"}, "bad-choice", 19, 14, "keep-running"),
        ({"no_fault": "{}"}, "does-not-fit", 16, 5, "at_least"),
        ({"for_": "[splayed-axle]"}, "untested", 5, 3, "'splayed-axle' is what this 'typical' case is for"),
        ({"for_": "[]"}, "untested", 5, 3, "names the cause it is for"),
        ({"kind": "look-alike"}, "untested", 5, 3, "under not_first, at_most or excluded"),
        ({"kind": "sound"}, "untested", 5, 3, "add no_fault: {at_least: ...}"),
        ({"silent": "[tight-inboard]"}, "contradiction", 13, 3, "both to fire and to be silent"),
    ],
    ids=lambda value: next(iter(value)) if isinstance(value, dict) else None,
)
def test_a_fault_is_told_at_its_own_line_with_the_nearest_name(
    tmp_path: Path, change: dict[str, str], code: str, line: int, column: int, message: str
) -> None:
    found = faults(tmp_path, changed(ONE_CASE, **change))
    assert [(one[0], one[1], one[2]) for one in found] == [(code, line, column)]
    assert message in found[0][3]


def test_a_harmless_cause_is_held_down_by_no_fault_and_never_by_a_rank(tmp_path: Path) -> None:
    home = base(tmp_path, changed(ONE_CASE, for_="[young-scuff]", kind="look-alike"))
    causes = (home / "causes" / "all.yaml").read_text(encoding="utf-8")
    harmless = causes[causes.index("side-slope:") :].replace("side-slope:", "young-scuff:") + "  harmless: yes\n"
    (home / "causes" / "young.yaml").write_text(harmless, encoding="utf-8")
    assert inspect_cases(load(home))[1] == ()
    base(tmp_path, changed(ONE_CASE, first="young-scuff"))
    found = inspect_cases(load(home))[1]
    assert [one.code for one in found] == ["untested"]
    assert "'young-scuff' is harmless and never ranked" in found[0].what


def test_a_case_that_cannot_be_read_is_a_fault_of_the_cases_file(tmp_path: Path) -> None:
    text = ONE_CASE.replace("symptom: face-scuff", "symptom: face-scuf").replace("inboard: 1 mm", "inboard: 1")
    found = faults(tmp_path, text)
    assert [(code, line, column) for code, line, column, _ in found] == [
        ("unknown-symptom", 9, 19), ("no-unit", 12, 55),
    ]  # fmt: skip
    assert "did you mean 'face-scuff'?" in found[0][3]


def test_a_case_needs_layout_and_drive_but_no_name(tmp_path: Path) -> None:
    found = faults(tmp_path, ONE_CASE.replace("drive: positive, ", ""))
    assert [(code, line) for code, line, _, _ in found] == [("missing-key", 7)]
    assert "drive" in found[0][3]


def test_a_case_has_no_case_line_of_its_own(tmp_path: Path) -> None:
    found = faults(tmp_path, ONE_CASE.replace("    machine:", "    case: other\n    machine:"))
    assert [(code, line, column) for code, line, column, _ in found] == [("unknown-key", 7, 5)]
    assert "its id above is its name" in inspect_cases(load(tmp_path / "bench"))[1][0].why


def test_an_id_is_written_once_over_all_files_of_a_folder(tmp_path: Path) -> None:
    base(tmp_path)
    home = base(tmp_path, ONE_CASE, "second.yaml")
    (issue,) = inspect_cases(load(home))[1]
    assert (issue.code, issue.spot.file) == ("duplicate-id", f"{home.as_posix()}/cases/second.yaml")
    assert f"{home.as_posix()}/cases/first.yaml:2:1" in issue.hint


def test_a_file_that_is_not_read_is_a_fault(tmp_path: Path) -> None:
    home = base(tmp_path)
    (home / "cases" / "more.yml").write_text("a: b", encoding="utf-8")
    (home / "cases" / "README.md").write_text("What these cases are.", encoding="utf-8")
    (issue,) = inspect_cases(load(home))[1]
    assert (issue.code, issue.hint) == ("unknown-file", "call it .yaml")


def test_no_cases_at_all_is_told(tmp_path: Path) -> None:
    home = base(tmp_path)
    (home / "cases" / "first.yaml").unlink()
    with pytest.raises(UnusableInput, match="no cases beside this rule base"):
        load_cases(load(home))


def test_one_faulty_case_does_not_hide_another(tmp_path: Path) -> None:
    text = changed(ONE_CASE, kind="usual") + changed(ONE_CASE, verdict="go").replace("one-face", "two-faces")
    assert [line for _, line, _, _ in faults(tmp_path, text)] == [5, 38]


def test_an_overlays_case_replaces_the_one_below_and_the_others_stay(tmp_path: Path) -> None:
    below = base(tmp_path, ONE_CASE + ONE_CASE.replace("one-face", "kept"))
    over = tmp_path / "over"
    (over / "cases").mkdir(parents=True)
    (over / "overlay.yaml").write_text(
        "title: Yard rules\nversion: 1.0.0\nover: A small sound rule base for tests\n", encoding="utf-8"
    )
    (over / "cases" / "own.yaml").write_text(changed(ONE_CASE, sentence="Our own word."), encoding="utf-8")
    from lugwright.rulebase.load import load_layers

    cases = load_cases(load_layers([below, over]))
    assert [(one.name, one.written.sentence) for one in cases] == [
        ("one-face", "Our own word."), ("kept", "One face of one unit points at that unit."),
    ]  # fmt: skip


def test_the_place_of_an_expected_cause_may_say_less_than_the_cause_has(tmp_path: Path) -> None:
    from lugwright.rulecases.answer import fits

    at = ("out-of-line", Place(unit="rear-left", side="outboard"))
    assert fits("out-of-line@rear-left", at)
    assert not fits("out-of-line@rear-left/inboard", at)
    assert load_cases(loaded(tmp_path, changed(ONE_CASE, first="out-of-line@rear-left")))
