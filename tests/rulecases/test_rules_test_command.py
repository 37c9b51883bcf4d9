"""`lugwright rules test`: exit codes, JSON, options."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from case_bases import ONE_CASE, base, changed
from typer.testing import CliRunner

from lugwright.cli.rules import testing
from lugwright.issues import UnusableInput

app = typer.Typer()
app.command()(testing.test_command)


def test_all_pass_exits_0(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, [str(base(tmp_path))])
    assert (done.exit_code, done.stdout.splitlines()[-1]) == (0, "1 case passed.")


def test_a_failure_exits_1(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, [str(base(tmp_path, changed(ONE_CASE, verdict="stop")))])
    assert (done.exit_code, done.stdout.splitlines()[-1]) == (1, "1 of 1 case failed.")


def test_rules_or_cases_that_cannot_be_used_are_bad_input(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, [str(base(tmp_path, changed(ONE_CASE, kind="usual")))])
    assert isinstance(done.exception, UnusableInput)  # the command line turns it into exit code 2


def test_json_holds_every_case_and_the_coverage(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, [str(base(tmp_path)), "--json", "--coverage"])
    told = json.loads(done.stdout)
    assert [one["case"] for one in told["cases"]] == ["one-face"]
    assert told["cases"][0]["outcomes"][0]["passed"] is True
    assert told["coverage"]["checks"]["missing"] == ["look-over", "toe"]


def test_all_lists_passing_cases_with_what_decided_them(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, [str(base(tmp_path)), "--all"])
    assert "PASS  one-face (typical)" in done.stdout
    assert "decided by" in done.stdout


def test_coverage_of_a_part_is_refused(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, [str(base(tmp_path)), "--changed", "--coverage"])
    assert isinstance(done.exception, UnusableInput)
    assert "leave out --changed or --coverage" in str(done.exception)


def test_changed_says_how_many_cases_are_touched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from test_case_changes import git

    home = base(tmp_path)
    git(tmp_path, "init", "-q")
    git(tmp_path, "add", ".")
    git(tmp_path, "commit", "-q", "-m", "one")
    done = CliRunner().invoke(app, [str(home), "--changed"])
    assert "0 of 1 cases touched by changes since HEAD" in done.stdout
    assert "No case was run." in done.stdout
    assert done.exit_code == 0
