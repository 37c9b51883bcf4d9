"""The commands of the report page: each one shown on it runs, and each says in words what stands in its way."""

from __future__ import annotations

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from report_answers import ROOT, small

from lugwright.cli import main
from lugwright.report import browser
from lugwright.report.page.sections import sections

PAGE = (ROOT / "docs" / "report.md").read_text(encoding="utf-8")
COMMANDS = re.findall(r"^\$ (lugwright .*)$", PAGE, re.M)


def run(words: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    monkeypatch.setattr(sys, "argv", words)
    code = 0
    try:
        main()
    except SystemExit as done:
        code = int(done.code or 0)
    said = capsys.readouterr()
    return code, said.out, said.err


@pytest.fixture(autouse=True)
def beside_the_examples(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_on_the_page_runs(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    words = shlex.split(command)
    code, out, err = run(words, monkeypatch, capsys)
    assert code == 0, err
    if "-o" in words:
        assert (tmp_path / words[words.index("-o") + 1]).stat().st_size > 1000
        assert out == ""
    else:
        assert len(out) > 200
    if "--json" in words:
        assert isinstance(json.loads(out), dict)


def test_the_notebook_lines_on_the_page_run(monkeypatch: pytest.MonkeyPatch) -> None:
    block = re.search(r"^```python\n(.*?)^```$", PAGE, re.S | re.M)
    assert block
    lines = block[1].rstrip().splitlines()
    names: dict[str, object] = {}
    exec("\n".join([*lines[:-1], "shown = " + lines[-1]]), names)
    assert str(names["shown"]._repr_html_()).startswith("<iframe")  # type: ignore[attr-defined]


def test_the_page_names_every_section_in_order() -> None:
    table = PAGE[PAGE.index("| section |") : PAGE.index("Redrawing the frequencies")]
    assert re.findall(r"^\| ([A-Z][^|]+?) \|", table, re.M) == [part.title for part in sections(small())]


@pytest.mark.parametrize(
    ("command", "says"),
    [
        ("report examples/healthy.yaml -o page.doc", ".html, .md, .pdf"),
        ("report examples/healthy.yaml -o nowhere/page.html", "No such file"),
        ("report nothing.yaml -o page.html", "nothing.yaml"),
        ("map examples/healthy.yaml -o map.gif", ".svg, .png"),
        ("why examples/healthy.yaml no-such-cause", "no-such-cause"),
        ("whynot examples/healthy.yaml toe-in-error@front-axle", "main-axle"),
        ("compare examples/healthy.yaml nothing.yaml", "nothing.yaml"),
    ],
)
def test_what_stands_in_the_way_is_told_in_words(
    command: str, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = run(["lugwright", *command.split()], monkeypatch, capsys)
    assert code == 2
    assert says in err
    assert out == ""
    assert [path.name for path in tmp_path.iterdir()] == ["examples"]


def test_without_chromium_a_pdf_is_refused_before_anything_is_worked_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(browser, "NAMES", ())
    code, _, err = run(shlex.split("lugwright report examples/healthy.yaml -o page.pdf"), monkeypatch, capsys)
    assert code == 2
    assert "apt-get install chromium" in err
    assert [path.name for path in tmp_path.iterdir()] == ["examples"]


def test_two_runs_write_the_same_bytes(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("one.html", "two.html"):
        run(shlex.split(f"lugwright report examples/one-unit-off-line.yaml -o {name}"), monkeypatch, capsys)
    first, second = (Path(name).read_bytes() for name in ("one.html", "two.html"))
    assert first == second
    assert len(first) < 500_000
    assert b"of 100 redraws" in first


@pytest.mark.parametrize(
    "command",
    [
        "why examples/signs-only.yaml improper-break-in",
        "whynot examples/signs-only.yaml toe-in-error --json",
        "compare examples/signs-only.yaml examples/healthy.yaml",
        "compare examples/signs-only.yaml examples/healthy.yaml --json",
        "map examples/signs-only.yaml",
        "trace examples/signs-only.yaml --collapse",
        "trace examples/signs-only.yaml",
    ],
)
def test_a_reader_that_closes_the_pipe_is_no_fault(command: str) -> None:
    """Closed before anything is written: `lugwright ... | head -1` may be that fast."""
    reading, writing = os.pipe()
    os.close(reading)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "lugwright", *command.split()],
            stdout=writing,
            stderr=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
            check=False,
        )
    finally:
        os.close(writing)
    assert (done.returncode, done.stderr) == (0, b"")
