"""The adjustment loop and the case it starts from: both ends, what the case holds against aligning, which unit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import typer
from simulated_unit import SETUP
from typer.testing import CliRunner

from lugwright.casefile.load import case_from_text
from lugwright.cli.align import align_command
from lugwright.diagnosis import Diagnosis
from lugwright.plan.alignment import Ask, Finish, Setup, stand
from lugwright.plan.alignment_answers import AnswerRefused, brought_back, rear_gaps
from lugwright.plan.alignment_setup import setup_of
from lugwright.plan.jobcard import job_card
from lugwright.readings.alignment import end
from lugwright.readings.centred import centred
from lugwright.readings.side_clearance import side_clearance
from lugwright.report.jobcard import card_page, card_text
from lugwright.rulebase.load import load
from lugwright.rulebase.schema import SheetNumber
from lugwright.triage import triage

HEAD = (
    "case: x\ninvented: true\n"
    "machine: {name: M, layout: four-track, drive: positive, hours: 1000, sheet: demo-four-track}\n"
)
KNOWN = replace(SETUP, sense="inboard-screw-first")
READY = [("debris", "yes"), ("ready", "yes")]
MOVE = [("travel", "unknown"), ("loosen", "1/2"), ("tighten", "done"), ("torque", "yes")]
DRIVE = [("drive", "6 min"), ("both-ways", "yes"), ("run", "50 m"), ("free", "yes")]


def of_case(text: str, unit: str | None = None) -> tuple[Setup, Diagnosis]:
    rulebase = load()
    record = case_from_text(HEAD + text, "x.yaml", rulebase)
    answer = triage(record, rulebase)
    return setup_of(record, unit, answer, rulebase), answer


def after(setup: Setup, *answers: tuple[str, str]) -> Ask | Finish:
    return stand(setup, [*READY, *answers])


# --- both ends --------------------------------------------------------------------------------------------------------


def test_a_unit_whose_last_roller_binds_is_not_centred_though_the_front_is() -> None:
    text = "inboard: 8 mm, outboard: 8 mm, rear-inboard: 0 mm, rear-outboard: 16 mm"
    setup, _ = of_case(f"measured:\n  - {{check: lug-clearance, unit: front-left, {text}}}\n")
    here = stand(setup, READY)
    assert isinstance(here, Finish)
    assert here.outcome == "stopped"
    assert "binds at the last one" in here.text
    assert any("wheel" in one for one in here.suspects)


@pytest.mark.parametrize(
    ("rear", "outcome", "says"),
    [
        ("1 mm, 15 mm", "stopped", "binds at the last one"),
        ("6.2 mm, 9 mm", "stopped", "too close to call"),
        ("7 mm, 9 mm", "done", "Now prove it hot"),
        ("skip", "done", "The last roller was not measured"),
    ],
)
def test_the_loop_is_done_only_when_both_ends_are_clear(rear: str, outcome: str, says: str) -> None:
    here = after(replace(KNOWN, first=end(4, 12)), *MOVE, *DRIVE, ("gaps", "8 mm, 8 mm"), ("rear", rear))
    assert isinstance(here, Finish)
    assert here.outcome == outcome
    assert says in here.text


def test_a_last_roller_that_bound_is_measured_again_and_its_room_stays_what_it_was() -> None:
    with pytest.raises(AnswerRefused, match="was not clear of the shim"):
        rear_gaps(6.0, end(3, 13))("skip")
    with pytest.raises(AnswerRefused, match="add up to"):
        rear_gaps(6.0, end(3, 13))("8 mm, 14 mm")
    assert rear_gaps(6.0, end(8, 8))("skip") is None
    assert rear_gaps(6.0, None)("skip") is None


# --- what counts as centred ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("gaps", "aim", "wanted"),
    [
        ((8, 40), 7.94, False),  # 16 mm off, though both sides reach the aim
        ((8, 12.5), 8.0, True),  # a quarter of the aim and the uncertainty of two gaps: judgement
        ((8, 13), 8.0, False),
        ((8, 12), None, True),  # common practice: 40 to 60 % of the room
        ((8, 14), None, False),
        ((8, 8), 8.0, True),
    ],
)
def test_the_diagnosis_and_the_loop_call_the_same_belts_centred(
    gaps: tuple[float, float], aim: float | None, wanted: bool
) -> None:
    one = end(*gaps)
    assert centred(one, aim) is wanted
    sheet = {} if aim is None else {"clearance-aim": aim}
    state = side_clearance({"inboard": float(gaps[0]), "outboard": float(gaps[1])}, sheet)["state"]
    assert state == ("inside" if wanted else "off-middle")
    here = stand(replace(KNOWN, first=one, aim=aim), READY)
    assert isinstance(here, Finish) is wanted


def test_a_belt_far_off_the_middle_is_called_centred_by_neither() -> None:
    setup, answer = of_case("measured:\n  - {check: lug-clearance, unit: front-left, inboard: 8 mm, outboard: 40 mm}\n")
    assert not [one for one in answer.findings if one.symptom == "belt-off-centre-coast" and one.state == "absent"]
    here = stand(setup, READY)
    assert isinstance(here, Ask)
    assert "must move outboard by about 16 mm" in " ".join(here.told)


# --- what the case holds against aligning ----------------------------------------------------------------------------

OFF = "  - {check: lug-clearance, unit: front-left, inboard: 2 mm, outboard: 14 mm}\n"


@pytest.mark.parametrize(
    ("seen", "measured", "says"),
    [
        ("{symptom: pivot-play, unit: front-left}", "", "Play in a frame"),
        ("{symptom: frame-out-of-true, unit: front-left}", "", "front-left"),
        ("{symptom: lug-gap-packed, unit: front-left}", "", "packed hard"),
        ("{symptom: fastener-loose, unit: front-left}", "", "front-left"),
        ("", "{check: toe, axle: front, leading: 2210 mm, trailing: 2240 mm}", "trailing 2240 mm"),
        ("", "{check: tension, unit: front-left, pressure: 1500 psi}", "1500 psi"),
        ("", "{check: tension, unit: front-right, pressure: 1500 psi}", "front-right"),  # alike left and right
    ],
)
def test_what_the_case_holds_against_aligning_is_named_and_no_screw_is_touched(
    seen: str, measured: str, says: str
) -> None:
    text = (f"seen:\n  - {seen}\n" if seen else "") + "measured:\n" + OFF + (f"  - {measured}\n" if measured else "")
    setup, _ = of_case(text, "front-left")
    here = stand(setup, [])
    assert isinstance(here, Finish)
    assert here.outcome == "stopped"
    assert says in " ".join(here.told)
    assert "Put right what" in here.text


def test_a_fault_of_another_unit_or_axle_is_no_hindrance() -> None:
    text = (
        "seen:\n  - {symptom: pivot-play, unit: rear-right}\n  - {symptom: lug-face-scuff, unit: front-left, "
        "side: inboard}\nmeasured:\n" + OFF + "  - {check: toe, axle: rear, leading: 2210 mm, trailing: 2240 mm}\n"
    )
    setup, _ = of_case(text, "front-left")
    assert setup.unmet == ()
    assert isinstance(stand(setup, []), Ask)


def test_a_limit_of_use_is_repeated_before_the_machine_is_driven() -> None:
    text = "seen:\n  - {symptom: lug-missing-single, unit: rear-left}\nmeasured:\n" + OFF
    setup, answer = of_case(text, "front-left")
    assert answer.verdict.action == "limit-use"
    here = after(setup, *MOVE)
    assert isinstance(here, Ask)
    assert here.id == "drive"
    limit = next(one.limit for one in answer.verdict.reasons if one.action == "limit-use")
    assert f"Limit of use: {setup.limits[0]}" in here.caution
    assert limit in here.caution


# --- which unit ------------------------------------------------------------------------------------------------------


def test_a_unit_whose_shim_binds_comes_before_one_that_was_measured_free() -> None:
    text = (
        "measured:\n  - {check: lug-clearance, unit: front-left, inboard-shim: binds, outboard-shim: goes}\n"
        "  - {check: lug-clearance, unit: front-right, inboard: 6.4 mm, outboard: 6.6 mm}\n"
    )
    setup, _ = of_case(text)
    assert setup.unit == "front-left"
    assert setup.first is None
    assert "it binds inboard" in setup.notes[0]
    here = stand(setup, READY)
    assert isinstance(here, Ask)
    assert here.id == "run", "a step needs figures, so the gaps are measured"


def test_shim_words_alone_are_enough_to_know_the_unit() -> None:
    setup, _ = of_case(
        "measured:\n  - {check: lug-clearance, unit: rear-left, inboard-shim: goes, outboard-shim: binds}\n"
    )
    assert setup.unit == "rear-left"


def test_of_units_that_bind_the_one_measured_furthest_off_is_taken() -> None:
    text = (
        "measured:\n  - {check: lug-clearance, unit: front-left, inboard: 3 mm, outboard: 13 mm}\n"
        "  - {check: lug-clearance, unit: rear-right, inboard: 1 mm, outboard: 15 mm}\n"
        "  - {check: lug-clearance, unit: rear-left, inboard: 8 mm, outboard: 40 mm}\n"
    )
    assert of_case(text)[0].unit == "rear-right"


# --- moves and readings that tell nothing ----------------------------------------------------------------------------


def test_slack_between_the_screws_is_taken_up_before_torque_and_teaches_no_response() -> None:
    setup = replace(KNOWN, first=end(3, 15))
    so_far = [("travel", "unknown"), ("loosen", "1/2"), ("tighten", "1/8")]
    here = after(setup, *so_far)
    assert isinstance(here, Ask)
    assert here.id == "slack"
    assert "inboard screw back in by 3/8 turn" in here.text
    with pytest.raises(AnswerRefused, match="leaves slack"):
        here.read("1/8")
    here = after(setup, *so_far, ("slack", "done"))
    assert isinstance(here, Ask)
    assert here.id == "torque"
    here = after(
        setup, *so_far, ("slack", "done"), ("torque", "yes"), *DRIVE, ("gaps", "5 mm, 13 mm"), ("rear", "skip")
    )
    assert isinstance(here, Ask)
    assert here.id == "loosen"
    assert "not turned alike" in here.told[0]
    assert "mm per turn" not in " ".join(here.told)
    assert "by 1/2 turn" in here.text, "still the first step, for nothing was learned"


def test_both_screws_turned_alike_leave_no_slack() -> None:
    here = after(replace(KNOWN, first=end(3, 15)), *MOVE[:3])
    assert isinstance(here, Ask)
    assert here.id == "torque"
    assert brought_back(0.375)("3/8 turn") == 0.375
    assert brought_back(0.375)("stuck") is None


MIRROR = [*MOVE, *DRIVE, ("gaps", "14 mm, 2 mm"), ("rear", "skip")]


def test_a_mirror_image_is_asked_about_before_any_further_move() -> None:
    setup = replace(KNOWN, first=end(2, 14))
    here = after(setup, *MIRROR)
    assert isinstance(here, Ask)
    assert here.id == "sides"
    with pytest.raises(AnswerRefused, match="which side is which"):
        here.read("no")
    here = after(setup, *MIRROR, ("sides", "swapped"))
    assert isinstance(here, Finish), "turned round, the belt has not moved at all"
    assert "less than 1 mm" in here.text


def test_a_response_beyond_what_an_adjuster_can_do_is_not_believed() -> None:
    here = after(replace(KNOWN, first=end(2, 14)), *MIRROR, ("sides", "yes"))  # 12 mm for half a turn
    assert isinstance(here, Finish)
    assert here.outcome == "stopped"
    assert "more than an adjuster can do" in here.text
    assert "inboard and outboard mixed up in one of the readings" in here.suspects


# --- one figure for the card and the loop ----------------------------------------------------------------------------


def test_the_card_and_the_loop_turn_no_further_than_common_practice() -> None:
    rulebase = load()
    record = case_from_text(HEAD + "measured:\n" + OFF, "x.yaml", rulebase)
    assert record.sheet is not None
    steps = {
        "first-step": SheetNumber(value="1 1/2 turn", means="x"),
        "largest-step": SheetNumber(value="2 turn", means="x"),
    }
    own = replace(record, sheet=record.sheet.model_copy(update={"numbers": {**record.sheet.numbers, **steps}}))
    setup = setup_of(own, "front-left")
    assert (setup.first_step, setup.largest_step) == (1.0, 1.0)  # common practice: never more than one turn
    card = job_card(triage(own, rulebase), rulebase, own.sheet, "frame-alignment-error@front-left")
    said = " ".join(card_text(card).split())
    assert "at first 1 turn, never more than 1 turn" in said
    assert "1 turn (the sheet says 2 turn" in said


def test_the_card_has_the_drive_that_the_loop_has() -> None:
    rulebase = load()
    record = case_from_text(HEAD + "measured:\n" + OFF, "x.yaml", rulebase)
    card = job_card(triage(record, rulebase), rulebase, record.sheet, "frame-alignment-error@front-left")
    at = next(n for n, step in enumerate(card.steps) if "Drive 5 to 10 min" in step.do)  # common practice
    assert "to the left and to the right" in card.steps[at].do
    assert "torque them to" in card.steps[at - 1].do, "locked before it is driven"
    assert "take the clearances again" in card.steps[at + 1].do


def test_the_lines_to_sign_stay_on_one_sheet_of_paper() -> None:
    rulebase = load()
    record = case_from_text(HEAD + "measured:\n" + OFF, "x.yaml", rulebase)
    page = card_page(job_card(triage(record, rulebase), rulebase, record.sheet, "frame-alignment-error@front-left"))
    assert ".whole, .note, .caution, tr { break-inside: avoid }" in page
    block = page[page.rindex('<section class="whole">') : page.rindex("</section>")]
    assert "Sign-off" in block
    for row in ("Work done by", "Locks and torque seen by", "Date", "Hour meter"):
        assert row in block


# --- answers that were put aside -------------------------------------------------------------------------------------


def test_no_earlier_answers_are_lost_by_beginning_again_more_than_once(tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    path.write_text(HEAD + "measured:\n" + OFF, encoding="utf-8")
    app = typer.Typer()
    app.command()(align_command)

    def run(*more: str, lines: str) -> None:
        done = CliRunner().invoke(app, [str(path), *more], input=lines, catch_exceptions=False)
        assert done.exit_code == 0

    run(lines="yes\n")
    run("--restart", lines="yes\nyes\n")
    run("--restart", lines="yes\nyes\n5\n")
    run("--restart", lines="yes\n")
    kept = sorted(path.name for path in tmp_path.glob("*.json"))
    stem = "x.align-front-left"
    assert kept == [f"{stem}.before-2.json", f"{stem}.before-3.json", f"{stem}.before.json", f"{stem}.json"]
    asked = [(tmp_path / name).read_text(encoding="utf-8").count('"yes"') for name in kept]
    assert asked == [2, 2, 1, 1]
