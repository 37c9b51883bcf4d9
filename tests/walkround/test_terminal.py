"""The walk-round over a pipe and at a pseudo-terminal: saved at once, resumed, corrected, killed."""

from __future__ import annotations

import io
import os
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from walk import ROOT, begun, shipped

from lugwright.casefile.load import load_case
from lugwright.walkround.draft import Draft
from lugwright.walkround.save import load
from lugwright.walkround.terminal import talk

MACHINE = ["Tractor 9", "two", "friction", "1400", ""]
COMMAND = [sys.executable, "-m", "lugwright", "walkround"]


def told(path: Path, draft: Draft, lines: list[str]) -> tuple[str, str]:
    """Why it ended and what was printed, for some lines typed."""
    out = io.StringIO()
    why = talk(path, draft, shipped(), io.StringIO("".join(line + "\n" for line in lines)), out, echo=True)
    return why, out.getvalue()


def test_a_pipe_builds_a_case_that_triage_reads(tmp_path: Path) -> None:
    path = tmp_path / "yard-7.yaml"
    script = [*MACHINE, "complaint", "done", "n", "n", "2", "inboard", "many", "quit"]
    done = subprocess.run(
        [*COMMAND, str(path)], input="\n".join(script) + "\n", capture_output=True, text=True, timeout=60, check=True
    )
    assert "Saved." in done.stdout
    assert done.stderr == ""
    case = load_case(path, shipped())
    assert (case.case, case.machine_name, case.layout, case.hours) == ("yard-7", "Tractor 9", "two-track", 1400)
    assert case.context["visit"] == "complaint"
    assert [one.state for one in case.findings].count("seen") == 1


def test_the_caution_stands_before_the_first_question(tmp_path: Path) -> None:
    _, text = told(tmp_path / "a.yaml", begun(), ["quit"])
    assert text.index("engine off, key out") < text.index("--- ")


def test_it_goes_on_where_it_was_left(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    _, first = told(path, begun(), ["n", "", "quit"])
    _, second = told(path, load(path), ["quit"])
    last = first.rsplit("anything not right?", 1)[0].splitlines()[-1]
    again = second.split("anything not right?")[0].splitlines()[-1]
    assert last == again


def test_help_recognise_and_lists_change_nothing(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    _, text = told(path, begun(), ["?", "? 1", "? 99", "help", "list", "quit"])
    assert "Confused with:" in text or "Looks like:" in text
    assert "Not understood: the list goes from 1" in text
    assert "take back the last answer" in text
    assert not path.exists()


def test_back_takes_the_last_answer_back_in_the_file_too(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    told(path, begun(), ["n", "back", "quit"])
    assert load(path) == begun()
    _, text = told(path, load(path), ["back", "quit"])
    assert "nothing was answered in this sitting" in text


def test_every_answer_is_in_the_file_before_the_next_question(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"

    class Watched(io.StringIO):
        """Looks at the file whenever the next line is asked for."""

        def __init__(self, text: str) -> None:
            super().__init__(text)
            self.states: list[int] = []

        def readline(self, *size: int) -> str:  # type: ignore[override]
            self.states.append(len(load(path).asked) if path.exists() else 0)
            return super().readline(*size)

    lines = Watched("n\nn\n\nquit\n")
    talk(path, begun(), shipped(), lines, io.StringIO(), echo=False)
    before = len(begun().asked)
    assert lines.states[1] == before + 1
    assert lines.states[:2] == sorted(lines.states[:2])
    assert len(load(path).asked) > before + 1


def test_a_kill_loses_at_most_the_answer_being_typed(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    process = subprocess.Popen([*COMMAND, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert process.stdin
    assert process.stdout
    for text in MACHINE:
        process.stdin.write(text + "\n")
    process.stdin.write("comp")  # half an answer
    process.stdin.flush()
    seen = ""
    end = time.monotonic() + 60
    while "context" not in str(load(path).data if path.exists() else "") and time.monotonic() < end:
        ready, _, _ = select.select([process.stdout], [], [], 0.2)
        if ready:
            seen += os.read(process.stdout.fileno(), 4096).decode()
        if "brought you here" in " ".join(seen.split()) or "planned look" in seen:
            break
    process.send_signal(signal.SIGKILL)
    process.wait(timeout=20)
    process.stdin.close()
    process.stdout.close()
    case = load_case(path, shipped())
    assert (case.machine_name, case.layout, case.drive, case.hours) == ("Tractor 9", "two-track", "friction", 1400)
    assert [one.name for one in tmp_path.iterdir()] == ["a.yaml"]


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are POSIX")
def test_it_works_at_a_terminal(tmp_path: Path) -> None:
    import pty

    path = tmp_path / "a.yaml"
    leader, follower = pty.openpty()
    process = subprocess.Popen([*COMMAND, str(path)], stdin=follower, stdout=follower, stderr=follower, close_fds=True)
    os.close(follower)
    text, typed = "", iter([*MACHINE, "routine", "quit"])
    end = time.monotonic() + 90
    answered = 0
    while time.monotonic() < end:
        ready, _, _ = select.select([leader], [], [], 0.2)
        if ready:
            try:
                part = os.read(leader, 4096).decode(errors="replace")
            except OSError:
                break
            if not part:
                break
            text += part
        if text.count("\n> ") > answered and text.endswith("> "):
            answered = text.count("\n> ")
            os.write(leader, (next(typed, "quit") + "\n").encode())
        if process.poll() is not None and not ready:
            break
    process.wait(timeout=20)
    os.close(leader)
    assert process.returncode == 0, text
    assert "Saved." in text
    assert load_case(path, shipped()).context["visit"] == "routine"


def test_the_end_of_a_pipe_is_leaving(tmp_path: Path) -> None:
    why, text = told(tmp_path / "a.yaml", begun(), ["n"])
    assert why == "left"
    assert f"lugwright walkround {tmp_path}" in text


def test_a_case_that_is_broken_is_refused_before_anything_is_asked(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text(
        "case: a\nmachine: {name: U, layout: two-track, drive: friction}\nseen: [{symptom: nonsense, unit: left}]\n",
        encoding="utf-8",
    )
    before = path.read_bytes()
    done = subprocess.run([*COMMAND, str(path)], input="n\n", capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 2
    assert "there is no symptom 'nonsense'" in done.stderr
    assert path.read_bytes() == before


def test_control_characters_are_never_sent_to_the_terminal(tmp_path: Path) -> None:
    draft = begun()
    machine = {**draft.data["machine"], "name": "a\x1b[31mb"}
    _, text = told(tmp_path / "a.yaml", draft.put("machine", machine), ["list", "\x1b[2J", "quit"])
    assert "\x1b" not in text


def test_a_hand_written_example_is_gone_on_with(tmp_path: Path) -> None:
    path = tmp_path / "one.yaml"
    path.write_bytes((ROOT / "examples" / "one-unit-off-line.yaml").read_bytes())
    why, text = told(path, load(path), ["done", "done"])
    assert why == "settled"
    assert "Settled:" in text
