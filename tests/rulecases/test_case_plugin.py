"""The pytest plugin: a trainer's cases as tests, and silence everywhere else. Run as a trainer runs pytest."""

from __future__ import annotations

import subprocess
import sys
from importlib.metadata import entry_points
from pathlib import Path

from case_bases import ONE_CASE, base, changed

#: Named on the command line unless the installed package brings it along.
PLUGIN = (
    []
    if any(one.name == "lugwright" for one in entry_points(group="pytest11"))
    else ["-p", "lugwright.rulecases.plugin"]
)


def pytest_in(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    run = [sys.executable, "-m", "pytest", *PLUGIN, "-p", "no:cacheprovider", *words]
    return subprocess.run(run, cwd=folder, capture_output=True, text=True, timeout=120, check=False)


def test_each_case_is_one_item_named_by_its_sentence(tmp_path: Path) -> None:
    base(tmp_path)
    done = pytest_in(tmp_path, "-v")
    assert "bench/cases/first.yaml::One face of one unit points at that unit. PASSED" in done.stdout
    assert done.returncode == 0


def test_a_failure_shows_expected_got_and_what_decided_it_and_no_stack(tmp_path: Path) -> None:
    base(tmp_path, changed(ONE_CASE, verdict="stop"))
    done = pytest_in(tmp_path)
    assert done.returncode == 1
    assert "expected   the verdict is stop" in done.stdout
    assert "got        limit-use: Clearance at the lug (tight-inboard)" in done.stdout
    assert "decided by the verdict rests on: Clearance at the lug, front-right (rule tight-inboard)" in done.stdout
    assert "Traceback" not in done.stdout
    assert ".py:" not in done.stdout


def test_a_faulty_case_is_a_collection_error_in_words(tmp_path: Path) -> None:
    base(tmp_path, changed(ONE_CASE, first="out-of-lin"))
    done = pytest_in(tmp_path)
    assert done.returncode == 2
    assert "did you mean 'out-of-line'?" in done.stdout
    assert "Traceback" not in done.stdout


def test_other_yaml_files_are_left_alone(tmp_path: Path) -> None:
    (tmp_path / "cases").mkdir()
    (tmp_path / "cases" / "mine.yaml").write_text("not: ours", encoding="utf-8")
    (tmp_path / "about.yaml").write_text("title: something else", encoding="utf-8")
    assert pytest_in(tmp_path).returncode == 5  # nothing was collected


def test_loading_the_plugin_loads_nothing_heavy() -> None:
    code = (
        "import sys, lugwright.rulecases.plugin\n"
        "heavy = {'experta', 'numpy', 'yaml', 'pydantic', 'typer', 'rich', 'graphviz'}\n"
        "ours = {name for name in sys.modules if name.startswith('lugwright')}\n"
        "print('LOADED', *sorted(heavy & set(sys.modules)), *sorted(ours))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.split()[1:] == ["lugwright", "lugwright.rulecases", "lugwright.rulecases.plugin"]
