"""What a stranger types, and what else happens to the file: nothing is lost, nothing ends in a traceback."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from walk import begun, play, script, shipped, walked

from lugwright.cli.walkround import walkround_command
from lugwright.diagnosis import Undecided
from lugwright.issues import UnusableInput
from lugwright.places import Place
from lugwright.walkround.advice import Advice
from lugwright.walkround.draft import Draft, as_text
from lugwright.walkround.question import NotUnderstood, Question, Stop
from lugwright.walkround.save import foresee_saving, load, save, still
from lugwright.walkround.script import State
from lugwright.walkround.terminal import talk

COMMAND = [sys.executable, "-m", "lugwright", "walkround"]
MACHINE = ["Tractor 9", "two", "friction", "1400", ""]


def told(path: Path, draft: Draft, lines: list[str]) -> tuple[str, str]:
    """Why it ended and what was printed, for some lines typed."""
    out = io.StringIO()
    why = talk(path, draft, shipped(), io.StringIO("".join(line + "\n" for line in lines)), out, echo=True)
    return why, " ".join(out.getvalue().split())


def run(path: Path, lines: bytes) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run([*COMMAND, str(path)], input=lines, capture_output=True, timeout=60, check=False)


@pytest.mark.parametrize("odd", ["²", "٣", "9" * 6000, "? ²", "? foo", "? " + "9" * 6000, "-1", "1.5", "½"])
def test_digits_that_are_no_number_of_the_list_are_not_understood(odd: str, tmp_path: Path) -> None:
    why, text = told(tmp_path / "a.yaml", begun(), [odd, "quit"])
    assert "Not understood" in text
    assert why == "left"


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(typed=st.lists(st.text(st.characters(exclude_characters="\r\n"), max_size=8), max_size=6))
def test_whatever_is_typed_the_talk_goes_on_and_the_file_can_be_read(typed: list[str], tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.unlink(missing_ok=True)
    why, _ = told(path, begun(), [*(one for one in typed if one.strip().lower() not in ("q", "quit")), "quit"])
    assert why == "left"
    if path.exists():
        assert as_text(load(path)) == path.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", [b"Blue\x07 tractor", b"Blue\x00", b"Blue\xff", b"\x1b[2J", b"\xed\xa0\x80"])
def test_a_name_that_is_not_text_is_asked_for_again(name: bytes, tmp_path: Path) -> None:
    done = run(tmp_path / "a.yaml", name + b"\nTractor 9\nquit\n")
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"Not understood: the character" in done.stdout
    assert load(tmp_path / "a.yaml").data["machine"]["name"] == "Tractor 9"


def test_a_name_may_hold_any_letters_and_pictures(tmp_path: Path) -> None:
    done = run(tmp_path / "a.yaml", "\ufeffBlåe 🚜 №7\r\nquit\r\n".encode())
    assert done.returncode == 0
    assert load(tmp_path / "a.yaml").data["machine"]["name"] == "Blåe 🚜 №7"


@pytest.mark.parametrize("hours", ["²", "٣", "-5 h", "1e9", "many", "9" * 500])
def test_hours_that_triage_could_not_read_are_not_saved(hours: str) -> None:
    draft = Draft({"case": "made-up", "machine": {"name": "Unit 1", "layout": "two-track", "drive": "friction"}})
    with pytest.raises(NotUnderstood):
        play(draft, [hours])


@pytest.mark.parametrize(
    "text",
    [
        "case: a-1\nmachine: [x]\n",
        "case: a-1\nmachine: tractor\n",
        "case: a-1\nmachine: {name: x, layout: six}\n",
        "case: a-1\nmachine: {name: x}\nseen: lugs\n",
        "case: a-1\nmachine: {name: x, layout: two-track}\nseen:\n- lugs\n",
        "case: a-1\nmachine: {name: x}\ncontext: [visit]\n",
    ],
)
def test_a_case_begun_by_hand_is_refused_in_words_where_it_is_wrong(text: str, tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text(text, encoding="utf-8")
    done = run(path, b"x\n")
    assert done.returncode == 2
    assert b"Traceback" not in done.stderr
    assert b"a.yaml:" in done.stderr
    assert path.read_text(encoding="utf-8") == text


def test_what_is_only_missing_from_a_case_begun_by_hand_is_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text("machine: {layout: two-track}\n", encoding="utf-8")
    assert run(path, b"yard-1\nTractor 9\nfriction\n\nquit\n").returncode == 0
    assert load(path).drive == "friction"


def test_a_layout_that_the_findings_do_not_fit_is_not_taken() -> None:
    draft = begun("four-track", "positive").with_sign("hub-oil-leak", Place(unit="rear-left"), "seen")
    state = script().again(State(draft), "layout")
    asked = script().question(state)
    assert isinstance(asked, Question)
    with pytest.raises(NotUnderstood, match="does not fit"):
        script().answer(state, asked, "two-track")
    assert script().answer(state, asked, "four-track").draft.layout == "four-track"


def test_a_write_protected_case_is_refused_before_anything_is_asked(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    save(begun(), path)
    path.chmod(0o444)
    with pytest.raises(UnusableInput, match="protected against writing"):
        foresee_saving(path)
    done = run(path, b"n\n")
    assert (done.returncode, done.stdout) == (2, b"")
    assert load(path) == begun()


def test_a_link_to_a_case_stays_a_link(tmp_path: Path) -> None:
    real, link = tmp_path / "real.yaml", tmp_path / "link.yaml"
    save(begun(), real)
    link.symlink_to(real)
    told(link, load(link), ["n", "quit"])
    assert link.is_symlink()
    assert load(real) == load(link) != begun()


def test_what_somebody_else_wrote_meanwhile_is_not_lost(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    save(begun(), path)

    class Meanwhile(io.StringIO):
        """Another person saves while the second answer is being typed."""

        asked = 0

        def readline(self, *size: int) -> str:  # type: ignore[override]
            self.asked += 1
            if self.asked == 2:
                save(begun().put("note", "hands off"), path)
            return super().readline(*size)

    with pytest.raises(UnusableInput, match="changed by somebody else"):
        talk(path, begun(), shipped(), Meanwhile("n\n" * 5), io.StringIO(), echo=False)
    assert load(path).data["note"] == "hands off"
    assert [one.name for one in tmp_path.iterdir()] == ["a.yaml"]


def test_a_file_that_went_away_is_noticed(tmp_path: Path) -> None:
    with pytest.raises(UnusableInput, match="changed by somebody else"):
        still(tmp_path / "gone.yaml", b"case: a\n")
    still(tmp_path / "gone.yaml", None)


def test_a_disk_that_is_full_ends_it_with_the_answers_before_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.yaml"
    save(begun(), path)

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(UnusableInput, match="No space left"):
        save(begun().put("note", "new"), path)
    assert load(path) == begun()
    assert [one.name for one in tmp_path.iterdir()] == ["a.yaml"]


def test_a_note_of_several_lines_keeps_its_lines(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    said = "first line\n\n# no comment\n  further in: it said\nlast"
    save(begun().put("note", said), path)
    assert load(path).data["note"] == said
    told(path, load(path), ["n", "quit"])
    assert load(path).data["note"] == said


def test_nobody_reading_on_is_no_failure(tmp_path: Path) -> None:
    process = subprocess.Popen(
        [*COMMAND, str(tmp_path / "a.yaml")], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert process.stdin
    assert process.stdout
    assert process.stderr
    process.stdout.readline()
    process.stdout.close()
    process.stdin.write(b"".join(one.encode() + b"\n" for one in MACHINE))
    process.stdin.close()
    assert process.wait(timeout=60) == 0
    assert process.stderr.read() == b""
    process.stderr.close()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_screen_that_cannot_be_written_to_is_told_in_words(tmp_path: Path) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [*COMMAND, str(tmp_path / "a.yaml")], input=b"quit\n", stdout=full, stderr=subprocess.PIPE, check=False
        )
    assert done.returncode == 2
    assert b"standard output: error[cannot-write]" in done.stderr
    assert b"Traceback" not in done.stderr


def test_an_interrupt_while_the_next_question_is_worked_out_is_leaving(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Advice, "following", interrupted)
    path = tmp_path / "a.yaml"
    save(walked(), path)
    walkround_command(path)
    assert f"lugwright walkround {path}" in capsys.readouterr().out
    assert load(path) == walked()


def test_what_stops_the_machine_is_said_at_once_and_at_the_end(tmp_path: Path) -> None:
    draft = begun("four-track", "positive")
    asked = script().question(State(draft))
    while isinstance(asked, Question) and not asked.id.startswith("part/lugs"):
        draft = draft.passed(asked.id)
        asked = script().question(State(draft))
    assert isinstance(asked, Question)
    name = shipped().symptoms["lug-missing-consecutive"].name
    number = asked.listed.index(name) + 1
    _, text = told(tmp_path / "a.yaml", draft, [str(number), "few", "quit"])
    assert text.count("! STOP: ") == 1
    assert text.index("! STOP: ") < text.rindex("anything not right?")
    seen = walked("four-track", "positive").with_sign("lug-missing-consecutive", Place(unit="front-right"), "seen")
    _, text = told(tmp_path / "b.yaml", seen, ["later"] * 40)
    assert text.rindex("! STOP: ") < text.rindex("Put off:")


def test_the_cautions_of_a_check_stand_before_it_is_done() -> None:
    draft = walked("two-track", "friction").with_sign("belt-sag-slap", Place(unit="left"), "seen")
    state, asked = State(draft), script().question(State(draft))
    checks = 0
    while isinstance(asked, Question) and checks < 12:
        entry = shipped().checks[asked.id.split("/")[1]]
        checks += 1
        for text in (*entry.cautions, *entry.preconditions):
            assert any(text in line for line in asked.why), asked.id
        state = script().answer(state, asked, "later")
        asked = script().question(state)
    assert checks


def test_a_check_that_was_put_off_is_named_at_the_end_and_asked_for_the_next_time(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    draft = walked().with_sign("lug-face-scuff", Place(unit="left", side="inboard"), "seen")
    why, text = told(path, draft, ["later"] * 40)
    assert why in ("undecided", "nothing-left")
    assert "Put off: " in text
    assert "No check is left that is worth its time. " not in text
    again = script().question(State(script().taken_up(load(path))))
    assert isinstance(again, Question)
    assert again == script().question(State(draft))


def test_what_stands_beside_a_settled_answer_is_named() -> None:
    draft = walked("two-track", "none")
    for symptom, unit in (("fastener-loose", "left"), ("scraper-edge-worn", "right")):
        draft = draft.with_sign(symptom, Place(unit=unit), "seen")
    for part in ("lugs", "idlers", "hubs", "mid-rollers", "tread", "carcass", "frame", "tensioner"):
        draft = draft.looked(part, "left").looked(part, "right")
    seen, _ = script().adviser.insight(draft)  # type: ignore[attr-defined]
    stop = script().question(State(draft))
    beside = [one for one in seen.standings(4)[1:] if one.probability >= 0.3]
    if isinstance(stop, Stop) and stop.reason == "settled":
        assert all(any(one.words in line for line in stop.lines) for one in beside)
        assert ("nothing stands beside it" in stop.lines[0]) == (not beside)
    else:
        pytest.fail(f"not settled: {stop}")


def test_an_example_fits_the_machine_and_its_words(tmp_path: Path) -> None:
    _, text = told(tmp_path / "a.yaml", begun(), ["help", "back", "change lugs front-left", "change lug-size", "quit"])
    assert "front-left" not in text.replace("> change lugs front-left", "")
    assert "change lugs left" in text
    assert "change lug-size left" in text
    for check, entry in shipped().checks.items():
        if entry.reading:
            asked = script().asking.waiting(Draft(begun().data, open=(f"figures|{check}|left",)))
            assert "..." not in asked.text


def test_a_check_that_would_split_but_is_not_safe_now_is_named_with_that(monkeypatch: pytest.MonkeyPatch) -> None:
    split = Undecided(
        between=("tension-low@left", "worn-drive-wheel@left"),
        check="drive-mark-test",
        check_name="Paint mark across drive wheel and belt",
        words=("Belt too slack (left)", "Worn drive wheel (left)"),
        how="asks: does it slip?",
        not_now="the machine must stand, and it would have to move for this check",
    )
    monkeypatch.setattr("lugwright.plan.next_checks.undecided_shown", lambda *_: split)
    draft = walked().with_sign("lug-missing-consecutive", Place(unit="left"), "seen")
    state, asked = State(draft), script().question(State(draft))
    while isinstance(asked, Question):
        state = script().answer(state, asked, "later")
        asked = script().question(state)
    assert asked.reason == "undecided"
    assert (
        "To split them: Paint mark across drive wheel and belt. Asks: does it slip? "
        "Not now: the machine must stand, and it would have to move for this check."
    ) in asked.lines
