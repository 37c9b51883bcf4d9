"""The command as a person uses it: exit codes, where text goes, what is left behind."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from lugwright.cli import app, main
from lugwright.report import render

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*.yaml"))
ONE_UNIT = ROOT / "examples" / "one-unit-off-line.yaml"

#: The stable keys of the JSON answer.
KEYS = ("case", "rulebase", "verdict", "ranked", "no_fault", "undecided", "unexplained", "conflict_bits", "next_checks",
        "work", "steps", "cautions")  # fmt: skip


def run(*words: str, **more: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, **more}
    return subprocess.run(
        [sys.executable, "-m", "lugwright", *words],
        capture_output=True,
        text=True,
        env=environment,
        cwd=ROOT,
        check=False,
    )


def call(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *words: str) -> tuple[int, str, str]:
    """Run the command in this process; gives exit code, standard output, standard error."""
    monkeypatch.setattr(sys, "argv", ["lugwright", *words])
    code = 0
    try:
        main()
    except SystemExit as stop:
        code = int(stop.code or 0)
    said = capsys.readouterr()
    return code, said.out, said.err


@pytest.mark.parametrize("case", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_is_answered_with_the_stable_keys(
    case: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    code, out, _ = call(capsys, monkeypatch, "triage", str(case), "--json")
    answer = json.loads(out)
    assert code == 0
    assert set(KEYS) <= set(answer)
    assert {"version", "fingerprint"} <= set(answer["rulebase"])
    assert answer["invented"] is True


def test_the_same_case_gives_the_same_bytes_for_ten_hash_seeds() -> None:
    case = str(ROOT / "examples" / "side-hill-look-alike.yaml")
    said = {run("triage", case, "--json", PYTHONHASHSEED=str(seed)).stdout for seed in range(10)}
    assert len(said) == 1
    assert len(said.pop()) > 1000


def test_the_drawn_graph_is_the_same_text_for_any_hash_seed(tmp_path: Path) -> None:
    for seed in ("1", "2"):
        run("trace", str(ONE_UNIT), "-o", str(tmp_path / f"{seed}.dot"), PYTHONHASHSEED=seed)
    assert (tmp_path / "1.dot").read_bytes() == (tmp_path / "2.dot").read_bytes()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("triage", "no-such-file.yaml"), "no-such-file.yaml"),
        (("triage", "examples"), "folder"),
        (("triage", "README.md"), "README.md"),
        (("triage", "examples/healthy.yaml", "--rules", "no-such-folder"), "no-such-folder"),
        (("trace", "examples/healthy.yaml", "--cause", "no-such-cause"), "no-such-cause"),
        (("trace", "examples/healthy.yaml", "-o", "picture.gif"), "picture.gif"),
        (("trace", "examples/healthy.yaml", "-o", "no-such-folder/picture.svg"), "no-such-folder"),
        (("rules", "show", "lug-face-scuf"), "lug-face-scuff"),
        (("triage", "examples/healthy.yaml", "--top", "0"), "--top"),
    ],
)
def test_bad_input_is_told_in_words_with_exit_code_two(words: tuple[str, ...], says: str) -> None:
    done = run(*words)
    assert done.returncode == 2
    assert says in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""


def test_without_a_renderer_the_graph_is_written_as_text_and_the_command_ends_well(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(render.shutil, "which", lambda *_, **__: None)
    code, out, err = call(capsys, monkeypatch, "trace", str(ONE_UNIT), "-o", str(tmp_path / "trace.png"))
    assert code == 0
    assert out == ""
    assert "pip install" in err
    assert [path.name for path in tmp_path.iterdir()] == ["trace.dot"]
    assert (tmp_path / "trace.dot").read_text(encoding="utf-8").startswith("// observations, signs, causes\ndigraph")


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_the_trace_is_drawn(
    ending: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    if render.renderer(ending) is None:
        pytest.skip("no program that can draw is installed")
    target = tmp_path / f"trace.{ending}"
    assert call(capsys, monkeypatch, "triage", str(ONE_UNIT), "--draw", str(target))[0] == 0
    head = target.read_bytes()[:200]
    assert (b"<?xml" in head or b"<svg" in head) if ending == "svg" else head.startswith(b"\x89PNG")
    assert [path.name for path in tmp_path.iterdir()] == [target.name]


def test_a_failed_drawing_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_: str) -> bytes:
        raise render.CannotDraw("the drawing program failed: no memory")

    monkeypatch.setattr(render, "renderer", lambda _: broken)
    with pytest.raises(render.CannotDraw):
        render.draw("digraph { a }", tmp_path / "trace.svg")
    assert list(tmp_path.iterdir()) == []


def test_piped_output_is_plain_and_narrow_windows_cut_nothing() -> None:
    from lugwright.report.lines import Line, laid_out

    done = run("triage", str(ONE_UNIT))
    assert "\x1b" not in done.stdout
    words = "a rather long line that must be wrapped and never cut off at the edge of a narrow window"
    rows = laid_out([Line(words, indent=2, label="for", label_width=6, right="without it  71 %")], 44)
    assert all(len(text) <= 44 for text, _ in rows)
    assert " ".join(" ".join(text for text, _ in rows).replace("without it  71 %", "").split()) == f"for {words}"


def test_a_closed_pipe_ends_quietly() -> None:
    piped = f"{sys.executable} -m lugwright rules list | head -1"
    done = subprocess.run(["bash", "-c", piped], capture_output=True, text=True, cwd=ROOT, check=False)
    assert "Traceback" not in done.stderr
    assert done.stdout.startswith("symptoms")


def commands() -> Iterator[tuple[str, ...]]:
    def walk(command: object, path: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
        subcommands = getattr(command, "commands", None)
        if not subcommands:
            yield path
            return
        for name, sub in subcommands.items():
            yield from walk(sub, (*path, name))

    yield from walk(typer.main.get_command(app), ())


@pytest.mark.parametrize("path", sorted(commands()), ids=" ".join)
def test_every_command_has_help_with_an_example(path: tuple[str, ...]) -> None:
    shown = CliRunner().invoke(app, [*path, "--help"]).output
    assert re.search(r"Example: lugwright " + " ".join(path), re.sub(r"\s+", " ", shown))


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
@pytest.mark.parametrize("words", [["triage", "--json"], ["triage"], ["next"]])
def test_output_that_cannot_be_written_is_told_in_words(words: list[str]) -> None:
    call = [sys.executable, "-m", "lugwright", *words[:1], str(ROOT / "examples" / "signs-only.yaml"), *words[1:]]
    with open("/dev/full", "w", encoding="utf-8") as full:
        done = subprocess.run(call, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 2
    assert "cannot be written: No space left on device" in done.stderr
    assert "Traceback" not in done.stderr
    assert "Exception ignored" not in done.stderr
