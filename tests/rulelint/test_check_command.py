"""`lugwright rules check`: what it prints and how it ends."""

from __future__ import annotations

import json

import pytest
from lint_examples import EXAMPLES
from quiet_base import lay, no_cache, told  # noqa: F401
from typer.testing import CliRunner

from lugwright.cli import app
from lugwright.rulebase.load import inspect

WARNING, ERROR = EXAMPLES["verdict-without-number"], EXAMPLES["sign-twice"]
MISSPELT = [("causes/all.yaml", "beforehand: rare", "beforhand: rare")]


def check(*words: object):
    return CliRunner().invoke(app, ["rules", "check", *map(str, words)])


@pytest.mark.parametrize(
    ("edits", "plain", "strict"),
    [([], 0, 0), (WARNING, 0, 1), (ERROR, 1, 1), ([*WARNING, *ERROR], 1, 1), (MISSPELT, 1, 1)],
)
def test_errors_fail_and_warnings_only_when_asked_to(edits, plain, strict, tmp_path):
    home = lay(tmp_path, edits)
    assert check(home).exit_code == plain
    assert check(home, "--strict").exit_code == strict
    assert check(home, "--json").exit_code == plain


def test_the_text_stands_by_file_with_a_count_at_the_end(tmp_path, monkeypatch):
    monkeypatch.chdir(lay(tmp_path, [*WARNING, *ERROR]).parent)
    lines = check("rules").stdout.splitlines()
    assert [line for line in lines if line.startswith("rules/") and "[" not in line] == [
        "rules/causes/all.yaml: 1 error",
        "rules/chaining/all.yaml: 1 warning",
    ]
    assert lines[-1].startswith("rule base 1.2.3 (")
    assert lines[-1].endswith(
        "6 symptoms, 3 causes, 12 chaining, 4 checks, 4 context, 3 procedures, 1 machines. 1 error, 1 warning. "
        "Each code is explained in docs/rule-errors.md"
    )


def test_a_flawless_rule_base_is_told_in_one_line(tmp_path):
    done = check(lay(tmp_path))
    assert done.stdout.count("\n") == 1
    assert done.stdout.endswith("no faults.\n")


def test_json_gives_every_part_of_a_message(tmp_path, monkeypatch):
    monkeypatch.chdir(lay(tmp_path, ERROR).parent)
    assert json.loads(check("rules", "--json").stdout) == [
        {
            "code": "sign-twice",
            "severity": "error",
            "file": "rules/causes/all.yaml",
            "line": 14,
            "column": 7,
            "what": "'out-of-line' lists 'face-scuff' twice at one place (left, inboard): usually and often",
            "why": "the two links would be counted as two signs",
            "hint": "keep one, or part them by side, units, layout or context; "
            "the first is at rules/causes/all.yaml:11:7",
        }
    ]
    monkeypatch.chdir(lay(tmp_path / "sound").parent)
    assert check("rules", "--json").stdout == "[]\n"


def test_what_cannot_be_loaded_is_told_in_the_same_way(tmp_path, monkeypatch):
    monkeypatch.chdir(lay(tmp_path, MISSPELT).parent)
    (row,) = json.loads(check("rules", "--json").stdout)
    assert (row["code"], row["severity"], row["line"]) == ("unknown-key", "error", 24)
    assert check("rules").stdout.splitlines()[-1].startswith("1 error; nothing was loaded.")


def test_the_rule_base_that_comes_with_the_package_passes():
    done = check()
    assert done.exit_code == 0, done.stdout
    assert " error" not in done.stdout.splitlines()[-1]


@pytest.mark.parametrize("number", ["inf", "-inf", "nan", "1e999"])
def test_a_number_without_end_is_refused(number, tmp_path):
    home = lay(
        tmp_path,
        [
            (
                "procedures/all.yaml",
                "  prove: Measure the clearance",
                f"  minutes: {number}\n  prove: Measure the clearance",
            )
        ],
    )
    rulebase, issues = inspect(home)
    assert rulebase is None
    assert [(issue.code, issue.spot.line) for issue in issues] == [("out-of-range", 5)], told(issues)
