"""One small mistake for each lint and the whole message a trainer reads for it; a flawless rule base stays silent."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from lint_examples import EXAMPLES
from quiet_base import HERE, lay, loaded, look, no_cache, told  # noqa: F401

from lugwright.issues import render
from lugwright.rulebase.load import inspect, load
from lugwright.rulelint import run
from lugwright.rulelint.registry import LINTS, lint
from lugwright.rulelint.whole import Whole

PAGE = HERE.parent.parent / "docs" / "rule-errors.md"
MESSAGES = HERE / "messages"


def message(name: str) -> str:
    return (MESSAGES / f"{name}.txt").read_text(encoding="utf-8")


def test_a_rule_base_without_a_flaw_is_silent(tmp_path, monkeypatch):
    assert told(look(lay(tmp_path), monkeypatch)) == "no faults\n"


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_a_small_mistake_gives_the_whole_message(name, tmp_path, monkeypatch):
    issues = look(lay(tmp_path, EXAMPLES[name]), monkeypatch)
    assert told(issues) == message(name)
    code = name.partition(".")[0]
    assert {issue.severity for issue in issues if issue.code == code} == {LINTS[code].severity}


def test_every_lint_has_an_example_and_every_message_belongs_to_one():
    assert {name.partition(".")[0] for name in EXAMPLES} == set(LINTS)
    assert {path.stem for path in MESSAGES.glob("*.txt")} == set(EXAMPLES)


def test_every_lint_has_a_section_with_a_message_that_is_really_given():
    page = PAGE.read_text(encoding="utf-8")
    (part,) = re.findall(r"^## The knowledge as a whole\n(.*?)(?=^## |\Z)", page, flags=re.M | re.S)
    sections = dict(re.findall(r"^### `([a-z0-9-]+)`\n(.*?)(?=^### |\Z)", part, flags=re.M | re.S))
    assert set(sections) == set(LINTS)
    for code, text in sections.items():
        (shown,) = re.findall(r"```text\n(.*?)```", text, flags=re.S)
        assert f"{LINTS[code].severity}[{code}]" in shown
        assert any(shown in message(name) for name in EXAMPLES if name.partition(".")[0] == code), code
        assert f"({LINTS[code].severity})" in text
        assert "Repair: " in text


def test_no_lint_has_the_code_of_a_loading_fault():
    page = PAGE.read_text(encoding="utf-8")
    headed = re.findall(r"^### `([a-z0-9-]+)`$", page, flags=re.M)
    assert len(headed) == len(set(headed))


def test_a_code_is_taken_once():
    with pytest.raises(ValueError, match="two lints are called 'unread-symptom'"):
        lint("unread-symptom", "error")(lambda whole: iter(()))


def test_a_second_sign_that_sound_machines_show_as_well_may_be_counted(tmp_path, monkeypatch):
    rarely = "  by: measure\n  sound: rarely\n  recognise: One face is hotter."
    edits = [*EXAMPLES["evidence-twice"], ("symptoms/all.yaml", rarely, rarely.replace("rarely", "often"))]
    assert "evidence-twice" not in told(look(lay(tmp_path, edits), monkeypatch))


def test_the_rule_base_that_comes_with_the_package_has_no_flaw():
    assert [render(issue) for issue in run.lint(load())] == []


def test_lints_give_the_same_every_time_and_change_nothing(tmp_path, monkeypatch):
    edits = [*EXAMPLES["negation-cycle"], *EXAMPLES["cause-without-procedure"], *EXAMPLES["sign-twice"]]
    rulebase = loaded(lay(tmp_path, edits), monkeypatch)
    before = rulebase.fingerprint
    first = run.lint(rulebase)
    assert first == run.lint(rulebase)
    assert len(first) == 4
    again, _ = inspect(Path("rules"))
    assert again == rulebase
    assert again.fingerprint == before


def test_two_links_that_never_hold_together_are_not_the_same_sign(tmp_path, monkeypatch):
    link = "{symptom: side-hot, how_often: often, side: same}"
    parted = (
        "{symptom: side-hot, how_often: often, side: same, unless: {slope: yes}}\n"
        "    - {symptom: side-hot, how_often: sometimes, side: same, given: {slope: yes}}"
    )
    assert look(lay(tmp_path, [("causes/all.yaml", link, parted)]), monkeypatch) == ()


def test_what_a_talk_settles_splits_causes_that_the_context_tells_apart(tmp_path, monkeypatch):
    talk = (
        "talk:\n  name: Talk\n  where: machine\n  minutes: 5\n  risk: low\n  order: 5\n  decides: [pulls-aside]\n"
        "  steps: [Ask.]\n  because: People know.\n  basis: judgement\n"
    )
    edits = [
        ("checks/all.yaml", "", talk),
        ("causes/all.yaml", "split_by: clearance, how: Centred", "split_by: talk, how: Centred"),
        ("symptoms/all.yaml", "  by: drive", "  by: ask"),
    ]
    assert look(lay(tmp_path, edits), monkeypatch) == ()
    rulebase = loaded(Path("rules").absolute(), monkeypatch)
    assert "side-slope" in Whole(rulebase).links_from
