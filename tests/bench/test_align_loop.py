"""The adjustment loop: it comes to an end, never turns too far, and stops when something else is wrong."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
import typer
from hypothesis import example, given, settings
from hypothesis import strategies as st
from simulated_unit import SETUP, Unit, drive
from typer.testing import CliRunner

from lugwright.casefile.load import case_from_text, load_case
from lugwright.casefile.record import CaseRecord
from lugwright.cli.align import align_command
from lugwright.diagnosis import Diagnosis
from lugwright.plan.alignment import Ask, Finish, stand, step_turns
from lugwright.plan.alignment_answers import AnswerRefused, turned
from lugwright.plan.alignment_setup import setup_of
from lugwright.readings.alignment import End, end
from lugwright.rulebase.load import load
from lugwright.rulebase.schema import SheetNumber
from lugwright.triage import triage

ROOT = Path(__file__).parents[2]
CASE = ROOT / "examples" / "one-unit-off-line.yaml"
SENSES = ("inboard-screw-first", "outboard-screw-first")


@settings(max_examples=60, deadline=None)
@given(
    st.floats(-8, 8), st.floats(4, 16), st.sampled_from(SENSES), st.booleans(),
    st.lists(st.floats(-0.2, 0.2), min_size=1, max_size=4),
)  # fmt: skip
@example(2.0, 8.0, "inboard-screw-first", False, [0.0, 0.125])  # the last of two moves is too small to tell by itself
def test_a_sound_adjuster_always_brings_the_belt_to_the_middle(
    offset: float, response: float, sense: str, known: bool, scatter: list[float]
) -> None:
    unit = Unit(offset, response=response, sense=sense, scatter=tuple(scatter))
    finish = drive(unit, replace(SETUP, sense=sense if known else "unknown"))
    assert finish.outcome in ("done", "nothing-to-do"), finish
    assert abs(unit.offset) <= 2.5
    assert len(unit.moved) <= 8
    if not known and unit.moved:
        assert sense in finish.text


@settings(max_examples=40, deadline=None)
@given(st.floats(-8, 8), st.floats(0.2, 40), st.sampled_from(SENSES), st.sampled_from([0.25, 0.5, 0.75, 1.0]))
def test_whatever_the_machine_does_the_rules_of_the_loop_hold(
    offset: float, response: float, sense: str, largest: float
) -> None:
    unit = Unit(offset, response=response, sense=sense)
    drive(unit, replace(SETUP, largest_step=largest, first_step=0.5))
    asked = [ask.id for ask, _ in unit.said]
    assert asked[0] == "debris"
    assert all(turns <= min(largest, 1.0) for turns in unit.moved)
    for n, name in enumerate(asked):
        if name == "tighten":
            assert asked[n - 1] == "loosen"
            assert asked[n + 1 : n + 5] == ["torque", "drive", "both-ways", "run"]
    for ask, _ in unit.said:
        if ask.id in ("loosen", "tighten"):
            assert "Unpowered hand tools only" in ask.caution
    if unit.moved:
        assert unit.moved[0] == min(0.5, largest)  # common practice: half a turn to begin, one turn at most


def test_the_same_answers_lead_to_the_same_place() -> None:
    unit = Unit(5.0)
    finish = drive(unit)
    answers = [(ask.id, text) for ask, text in unit.said]
    assert stand(SETUP, answers) == finish
    for n in range(len(answers)):
        here = stand(SETUP, answers[:n])
        assert isinstance(here, Ask)
        assert here.id == answers[n][0]


def test_from_the_second_reading_on_the_step_is_the_measured_response() -> None:
    unit = Unit(8.0, response=10.0, sense="inboard-screw-first")
    drive(unit, replace(SETUP, sense="inboard-screw-first"))
    assert unit.moved[:2] == [0.5, 0.25]  # 3 mm left at 10 mm a turn: 0.3, rounded down to an eighth
    assert step_turns(3.0, 10.0, 1.0) == 0.25


def test_an_unknown_sense_is_learned_from_the_first_response() -> None:
    unit = Unit(4.0, sense="outboard-screw-first", response=6.0)
    finish = drive(unit)
    told = " ".join(line for ask, _ in unit.said for line in ask.told)
    assert "a question put to the machine" in told
    assert "loosen the outboard screw first" in told
    assert finish.outcome == "done"


def test_a_belt_that_leans_on_its_flank_is_tried_the_other_way_once() -> None:
    unit = Unit(8.5, sense="outboard-screw-first", response=6.0)
    finish = drive(unit)
    assert any("leans on its flank" in line for ask, _ in unit.said for line in ask.told)
    assert unit.moved[:2] == [0.5, 1.0]
    assert finish.outcome == "done"
    dead = Unit(8.9, response=0.0)
    assert drive(dead).outcome == "stopped"
    assert len(dead.moved) == 2


def test_a_mark_on_the_machine_is_taken_for_the_sense() -> None:
    unit = Unit(5.0, sense="outboard-screw-first", mark="outboard")
    finish = drive(unit)
    assert finish.outcome == "done"
    assert "loosen the outboard screw" in next(ask.text for ask, _ in unit.said if ask.id == "loosen")


@pytest.mark.parametrize(
    ("unit", "setup", "says", "suspects"),
    [
        (Unit(6.0, response=0.0), SETUP, "less than 1 mm", "worn pivots"),
        (Unit(4.0, sense=SENSES[1]), replace(SETUP, sense=SENSES[0]), "wrong way", "screw sense"),
        (Unit(6.0, travel="1"), SETUP, "near its end", "bent frame"),
        (Unit(0.0, total=8.0), SETUP, "too narrow", "packed dirt"),
        (
            Unit(7.0, response=1.6, total=18.0, scatter=(0, 0, 0, 0)),
            replace(SETUP, largest_step=0.25),
            "less than 1 mm",
            "dirt",
        ),
    ],
)
def test_the_loop_stops_and_says_what_to_suspect(unit: Unit, setup: object, says: str, suspects: str) -> None:
    finish = drive(unit, setup)  # type: ignore[arg-type]
    assert finish.outcome == "stopped"
    assert says in finish.text
    assert suspects in " ".join(finish.suspects)


def test_an_erratic_answer_stops_the_loop() -> None:
    unit = Unit(8.0, response=2.5, sense=SENSES[0])
    plain = unit.answer

    def loose(ask: Ask) -> str:
        if len(unit.moved) == 1 and ask.id == "tighten":
            unit.response = 9.0
        return plain(ask)

    unit.answer = loose  # type: ignore[method-assign]
    finish = drive(unit, replace(SETUP, sense=SENSES[0]))
    assert finish.outcome == "stopped"
    assert "something gives that should not" in finish.text


def test_a_skewed_belt_is_no_matter_for_the_adjuster() -> None:
    unit = Unit(6.0)
    plain = unit.answer
    unit.answer = lambda ask: "15 mm, 3 mm" if ask.id == "rear" else plain(ask)  # type: ignore[method-assign]
    finish = drive(unit)
    assert finish.outcome == "stopped"
    assert "wheel is out of place" in finish.text


def test_a_screw_that_resists_is_not_forced() -> None:
    unit = Unit(6.0)
    plain = unit.answer
    unit.answer = lambda ask: "stuck" if ask.id == "tighten" else plain(ask)  # type: ignore[method-assign]
    assert "not forced" in drive(unit).text


@pytest.mark.parametrize(
    ("so_far", "text", "says"),
    [
        ([], "no", "clean first"),
        ([], "perhaps", "neither yes nor no"),
        (["yes", "yes"], "30 m", "at least 45 m"),
        (["yes", "yes"], "50", "no unit"),
        (["yes", "yes", "50 m"], "no", "coast again"),
        (["yes", "yes", "50 m", "yes"], "4 mm", "one side alone"),
        (["yes", "yes", "50 m", "yes"], "-4 mm, 3 mm", "below zero"),
        (["yes", "yes", "50 m", "yes"], "400 mm, 3 mm", "no lug has a gap"),
        (["yes", "yes", "50 m", "yes", "3 mm, 15 mm", "skip"], "left", "not an answer"),
        (["yes", "yes", "50 m", "yes", "3 mm, 15 mm", "skip", "unknown"], "60", "no screw has"),
        (["yes", "yes", "50 m", "yes", "3 mm, 15 mm", "skip", "unknown", "9"], "2 turn", "more than the 1"),
        (["yes", "yes", "50 m", "yes", "3 mm, 15 mm", "skip", "unknown", "9", "1/2"], "3/4", "more than the 0.5"),
        (["yes", "yes", "50 m", "yes", "3 mm, 15 mm", "skip", "unknown", "9", "1/2", "done", "yes"], "3",
         "not followed"),
        (["yes", "yes", "50 m", "yes", "3 mm, 15 mm", "skip", "unknown", "9", "1/2", "done", "yes", "6", "yes", "50 m",
          "yes"],
         "9 mm, 15 mm", "add up to"),
        (["yes", "yes", "50 m", "yes"], "3,5 mm, 14 mm", "can be read in two ways"),
        (["yes", "yes", "50 m", "yes", "3 mm, 15 mm", "skip", "unknown", "9"], "20 %", "turns of a screw"),
        (["yes", "yes", "50 m", "yes", "3 mm, 15 mm", "skip", "unknown", "9"], "6 mm", "a length"),
    ],
)  # fmt: skip
def test_an_answer_that_cannot_be_is_refused_with_the_reason(so_far: list[str], text: str, says: str) -> None:
    answers: list[tuple[str, str]] = []
    for one in so_far:
        here = stand(SETUP, answers)
        assert isinstance(here, Ask)
        answers.append((here.id, one))
    here = stand(SETUP, answers)
    assert isinstance(here, Ask)
    with pytest.raises(AnswerRefused, match=says):
        here.read(text)


def test_no_more_is_turned_than_was_loosened() -> None:
    assert turned(0.5, 0.5)("done") == 0.5
    assert turned(0.5, 0.5)("3/8 turn") == 0.375
    assert turned(0.5, 0.5)("stuck") is None


def test_the_set_up_comes_from_the_case_and_the_sheet() -> None:
    record = load_case(CASE, load())
    setup = setup_of(record)
    assert (setup.unit, setup.sense, setup.first) == ("front-right", "outboard-screw-first", end(1.0, 15.0, 6.35))
    assert setup.adjuster_torque == "130 N·m (96 lbf·ft)"
    assert setup.run == pytest.approx(45_720)
    bare = setup_of(replace(record, sheet=None, sheet_id=""), "rear-left")
    assert (bare.sense, bare.first, bare.run) == ("unknown", None, 45_000)
    assert "operator's manual" in bare.adjuster_torque + bare.lock_torque + bare.recheck


# --- readings on which no screw may be turned -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("front", "rear", "says"),
    [
        (end(6.2, 6.3), None, "too close to call"),  # in the middle already: no half turn for 0.05 mm
        (end(5.8, 5.9), None, "too close to call"),
        (end(2, 3), None, "Both faces refuse the shim"),
        (end(8, 9), end(2, 3), "Both faces refuse the shim"),  # pinched at the last roller alone
        (end(2, 8.5), None, "less than twice the shim"),  # no place in 10.5 mm where 6 mm passes on both faces
        (end(2, 14), end(14, 2), "Opposite faces bind"),
    ],
)
def test_no_screw_is_turned_where_no_adjuster_can_help(front: End, rear: End | None, says: str) -> None:
    here = stand(replace(SETUP, first=front, rear=rear), [("debris", "yes"), ("ready", "yes")])
    assert isinstance(here, Finish)
    assert here.outcome == "stopped"
    assert says in here.text
    assert here.suspects


@settings(max_examples=80, deadline=None)
@given(st.floats(0, 20), st.floats(0, 20), st.sampled_from(["unknown", *SENSES]))
def test_a_first_move_always_has_somewhere_to_go(inboard: float, outboard: float, sense: str) -> None:
    first = end(inboard, outboard)
    here = stand(replace(SETUP, first=first, sense=sense), [("debris", "yes"), ("ready", "yes")])
    if isinstance(here, Ask):
        assert abs(first.offset) > 1, "the belt is clearly out of the middle"
        assert first.total >= 11, "and the shim can pass on both faces"


def test_an_eighth_is_taken_where_it_lands_nearer_and_a_binding_face_is_never_done() -> None:
    unit = Unit(5.0, total=15.0, response=17.0, sense=SENSES[0])
    finish = drive(unit, replace(SETUP, sense=SENSES[0]))
    assert 0.125 in unit.moved or finish.outcome != "done"
    for offset in (3.0, 4.0, 5.0, 6.0):
        for response in (12.0, 17.0, 23.0, 31.0, 40.0):
            one = Unit(offset, total=14.2, response=response, sense=SENSES[0])
            said = drive(one, replace(SETUP, sense=SENSES[0]))
            if said.outcome == "done":
                assert end(one.total / 2 - one.offset, one.total / 2 + one.offset).state != "outside"


def test_a_sense_is_only_learned_from_a_move_that_can_be_seen() -> None:
    unit = Unit(1.9, response=1.4, sense=SENSES[0])  # 0.7 mm is less than two readings differ by
    finish = drive(unit)
    assert finish.outcome == "done"
    assert "too small to tell" in finish.text
    assert not any("settles the screw sense" in line for ask, _ in unit.said for line in ask.told)


def test_a_hand_goes_in_only_after_the_machine_was_secured() -> None:
    unit = Unit(8.0)
    finish = drive(unit)
    for ask, _ in unit.said:
        if ask.id in ("debris", "sense", "travel", "loosen", "tighten", "gaps", "rear"):
            assert "Engine off, key out" in ask.caution, ask.id  # also on the morning after, in the middle of a move
    assert finish.text.index("hot rubber") < finish.text.index("prove it hot")


def test_the_coast_is_asked_for_as_a_machine_can_drive_it() -> None:
    here = stand(replace(SETUP, speed="8.05 km/h (5 mph)"), [("debris", "yes"), ("ready", "yes")])
    assert isinstance(here, Ask)
    assert "no more than 8.05 km/h (5 mph)" in here.text
    assert "only some metres" in here.text  # statics: 8 km/h rolls out over 3 to 5 m, not over 45


def of_text(text: str) -> tuple[CaseRecord, Diagnosis]:
    rulebase = load()
    record = case_from_text(text, "one.yaml", rulebase)
    return record, triage(record, rulebase)


HEAD = "case: a\nmachine: {name: a, layout: two-track, drive: friction, sheet: demo-two-track}\n"
OFF = "  - {check: lug-clearance, unit: left, inboard: 2 mm, outboard: 14 mm%s}\n"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (HEAD + "measured:\n" + OFF % ", gap: packed", "lug gap is not clean"),
        (HEAD + "measured:\n" + OFF % ", run: 47 m", "at least 50 m"),  # what this sheet asks for
        (HEAD + "seen:\n  - {symptom: lug-gap-packed, unit: left}\nmeasured:\n" + OFF % "", "taken over dirt"),
    ],
)
def test_a_reading_of_the_case_that_does_not_count_is_taken_again(text: str, says: str) -> None:
    record, answer = of_text(text)
    setup = setup_of(record, None, answer)
    assert (setup.unit, setup.first) == ("left", None)
    assert says in setup.notes[0]
    here = stand(setup, [("debris", "yes"), ("ready", "yes")])
    assert isinstance(here, Ask)
    assert here.id == "run"


def test_play_of_the_case_and_both_ends_are_looked_at() -> None:
    turns = "  - {check: turn-repeat, unit: left, left: 5 mm, left-again: 5 mm, right: 12 mm, right-again: 12 mm}\n"
    record, answer = of_text(HEAD + "measured:\n" + OFF % "" + turns)
    here = stand(setup_of(record, "left", answer), [])
    assert isinstance(here, Finish)
    assert "that is play" in here.text
    assert isinstance(stand(setup_of(record, "right", answer), []), Ask)
    record, answer = of_text(HEAD + "measured:\n" + OFF % ", rear-inboard: 14 mm, rear-outboard: 2 mm")
    assert setup_of(record, None, answer).rear == end(14, 2)


def test_a_sheet_cannot_ask_for_a_move_of_nothing_or_of_more_than_a_turn() -> None:
    record, _ = of_text(HEAD)
    assert record.sheet is not None
    for first, largest, wanted in (("0 turn", "1/16 turn", (0.125, 0.125)), ("3 turn", "5 turn", (1.0, 1.0))):
        numbers = {
            **record.sheet.numbers,
            "first-step": SheetNumber(value=first, means="x"),
            "largest-step": SheetNumber(value=largest, means="x"),
        }
        own = replace(record, sheet=record.sheet.model_copy(update={"numbers": numbers}))
        setup = setup_of(own, "left")
        assert (setup.first_step, setup.largest_step) == wanted


# --- the command -----------------------------------------------------------------------------------------------------

FIRST = ["yes", "yes", "6", "done", "done", "yes", "6 min", "yes", "50 m", "yes", "4 mm, 12 mm", "skip"]
SECOND = ["done", "done", "yes", "6 min", "yes", "50 m", "yes", "8 mm, 8 mm", "skip"]


@pytest.fixture
def case(tmp_path: Path) -> Path:
    path = tmp_path / "one.yaml"
    path.write_bytes(CASE.read_bytes())
    return path


def run(case: Path, *lines: str, more: tuple[str, ...] = ()) -> str:
    app = typer.Typer()
    app.command()(align_command)
    done = CliRunner().invoke(
        app, [str(case), *more], input="".join(line + "\n" for line in lines), catch_exceptions=False
    )
    assert done.exit_code == 0
    return done.output


def test_the_loop_can_be_left_after_any_answer_and_taken_up_again(case: Path) -> None:
    whole = case.with_name("whole.yaml")
    whole.write_bytes(case.read_bytes())
    at_once = run(whole, *FIRST, *SECOND)
    assert "DONE" in at_once
    for line in (*FIRST, *SECOND):
        said = run(case, line)
    assert "DONE" in said
    kept = json.loads(case.with_name("one.align-front-right.json").read_text(encoding="utf-8"))
    assert kept == json.loads(case.with_name("whole.align-front-right.json").read_text(encoding="utf-8"))
    assert [text for _, text in kept["answers"]] == [*FIRST, *SECOND]


def test_a_refused_answer_is_not_kept(case: Path) -> None:
    said = run(case, "no", "yes", "quit")
    assert "Not taken: clean first" in said
    kept = json.loads(case.with_name("one.align-front-right.json").read_text(encoding="utf-8"))
    assert kept["answers"] == [["debris", "yes"]]


def test_nothing_half_written_is_left_when_the_process_is_killed(case: Path) -> None:
    code = (
        "from lugwright.cli.align import align_command\nimport pathlib\n"
        + f"align_command(pathlib.Path({str(case)!r}))\n"
    )
    process = subprocess.Popen([sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
                               env={**os.environ, "PYTHONUNBUFFERED": "1"})  # fmt: skip
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write("yes\nyes\n")
    process.stdin.flush()
    for line in process.stdout:
        if "too far inboard" in line or "The belt must move" in line:
            break
    process.kill()
    process.wait()
    process.stdin.close()
    process.stdout.close()
    kept = json.loads(case.with_name("one.align-front-right.json").read_text(encoding="utf-8"))
    assert [asked for asked, _ in kept["answers"]] == ["debris", "ready"]
    assert "Taken up again after 2 answers" in run(case)


def test_saved_answers_of_another_machine_are_refused(case: Path) -> None:
    from lugwright.issues import UnusableInput

    run(case, *FIRST[:4])
    case.write_text(case.read_text(encoding="utf-8").replace("outboard: 15 mm", "outboard: 12 mm"), encoding="utf-8")
    with pytest.raises(UnusableInput, match="has changed since"):
        run(case)
    assert "Is the lug gap clean" in run(case, more=("--restart",))
    target = case.with_name("one.align-front-right.json")
    target.write_text("not json", encoding="utf-8")
    with pytest.raises(UnusableInput, match="does not hold saved answers"):
        run(case)


def test_a_case_with_a_stop_is_not_driven(tmp_path: Path) -> None:
    path = tmp_path / "hot.yaml"
    hot = "  - {check: lug-side-temperature, unit: left, inboard: 140 °C, outboard: 61 °C}\n"
    path.write_text(HEAD + "measured:\n" + OFF % "" + hot, encoding="utf-8")
    said = run(path, "yes", "yes")
    assert "STOP" in said
    assert "this loop drives the machine" in " ".join(said.split())
    assert "Is the lug gap clean" not in said
    assert [one.name for one in tmp_path.iterdir()] == ["hot.yaml"]


def test_nothing_is_said_to_be_kept_where_nothing_was_answered(tmp_path: Path) -> None:
    path = tmp_path / "play.yaml"
    turns = "  - {check: turn-repeat, unit: left, left: 5 mm, left-again: 5 mm, right: 12 mm, right-again: 12 mm}\n"
    path.write_text(HEAD + "measured:\n" + OFF % "" + turns, encoding="utf-8")
    assert "kept in" not in run(path)
    assert [one.name for one in tmp_path.iterdir()] == ["play.yaml"]


def test_letters_of_another_encoding_are_no_answer(case: Path) -> None:
    code = (
        f"from lugwright.cli.align import align_command\nimport pathlib\nalign_command(pathlib.Path({str(case)!r}))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], input=b"\xff\xfe\nyes\n", capture_output=True, check=False,
                          env={**os.environ, "PYTHONIOENCODING": "utf-8:strict"}, timeout=60)  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert b"neither yes nor no" in done.stdout
    assert b"Do these hold" in done.stdout


def test_a_unit_the_machine_does_not_have_is_refused(case: Path) -> None:
    from lugwright.issues import UnusableInput

    with pytest.raises(UnusableInput, match="no unit 'left'"):
        run(case, more=("--unit", "left"))


def test_a_belt_that_runs_centred_is_left_alone(case: Path) -> None:
    said = run(case, "yes", "yes", more=("--unit", "front-left"))
    assert "NOTHING TO ADJUST" in said


def test_the_end_is_a_finish() -> None:
    assert isinstance(drive(Unit(5.0)), Finish)
