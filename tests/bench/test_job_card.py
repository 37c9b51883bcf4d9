"""The job card: cautions before steps, numbers of this machine in both systems, nothing invented."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from lugwright.casefile.load import case_from_text, load_case
from lugwright.cli.jobcard import jobcard_command
from lugwright.issues import UnusableInput
from lugwright.looking.next_plan import next_plan
from lugwright.plan.jobcard import JobCard, NoCard, both_systems, job_card
from lugwright.report.jobcard import card_markdown, card_page, card_text, head
from lugwright.report.lines import laid_out
from lugwright.report.next_text import next_lines
from lugwright.report.text import diagnosis_lines
from lugwright.rulebase.load import load
from lugwright.triage import triage

ROOT = Path(__file__).parents[2]
CASE = ROOT / "examples" / "one-unit-off-line.yaml"
SHAPES = {"text": card_text, "markdown": card_markdown, "page": card_page}


def card(cause: str | None = None, sheet: bool = True, name: str = "one-unit-off-line") -> JobCard:
    rulebase = load()
    record = load_case(ROOT / "examples" / f"{name}.yaml", rulebase)
    if not sheet:
        record = replace(record, sheet=None, sheet_id="")
    return job_card(triage(record, rulebase), rulebase, record.sheet, cause)


def flat(text: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", text)).replace("\\", "").split())


def test_the_first_cause_gets_its_procedure_at_its_place_with_both_systems() -> None:
    one = card()
    assert (one.procedure, one.place_words) == ("align-one-unit", "front-right, inboard")
    said = card_text(one)
    assert "130 N·m (96 lbf·ft)" in said  # common practice: often printed as 95
    assert "45.7 m (150 ft)" in said
    assert "1/2 turn" in said
    assert "hour meter 1861 h, 1960 h" in flat(said)  # common practice: recheck after 100 h


@pytest.mark.parametrize("shape", sorted(SHAPES))
def test_every_caution_stands_before_the_step_it_protects(shape: str) -> None:
    one = card()
    said = flat(SHAPES[shape](one))
    at = said.index(flat(one.steps[0].caution))
    for text in one.cautions:
        assert said.index(flat(text)) < at, "the general cautions come first"
    for step in one.steps:
        done = said.index(flat(step.do), at)
        if step.caution:
            before = said.rindex(flat(step.caution), 0, done)
            assert at <= before < done
        at = done


@pytest.mark.parametrize("shape", sorted(SHAPES))
@pytest.mark.parametrize("cause", sorted(name for name, one in load().causes.items() if one.procedure)[::6])
def test_a_number_that_is_not_on_the_sheet_sends_to_the_manual(shape: str, cause: str) -> None:
    one = card(cause, sheet=False)
    assert not any(number.known for number in one.numbers)
    said = SHAPES[shape](one)
    assert not re.search(r"\{[a-z-]+\}", re.sub(r"(?s)<style>.*?</style>", "", said))
    if one.numbers:
        assert "see the operator's manual" in html.unescape(said)
    assert not one.likely
    assert "not the likeliest" in flat(said)


def test_every_procedure_makes_a_card() -> None:
    rulebase = load()
    record = load_case(CASE, rulebase)
    answer = triage(record, rulebase)
    for cause, entry in rulebase.causes.items():
        if entry.procedure and record.layout in entry.layouts and record.drive in entry.drives:
            one = job_card(answer, rulebase, record.sheet, cause)
            assert one.steps
            assert len(card_text(one).splitlines()) > 20


def test_tick_boxes_and_sign_off_are_there() -> None:
    one = card()
    boxes = len(one.tools) + len(one.before) + len(one.steps) + 1 + len(one.recheck)
    assert card_text(one).count("[ ]") == boxes
    assert card_markdown(one).count("- [ ]") == boxes
    assert card_page(one).count('class="box"') == boxes
    for row in one.sign_off:
        assert row in card_text(one)
        assert row in card_page(one)


def test_the_page_needs_nothing_from_outside_and_holds_no_markup_of_a_case() -> None:
    one = card().model_copy(update={"machine": "<script>alert(1)</script> & \x1b[31m"})
    page = card_page(one)
    assert "<script" not in page
    assert not re.search(r"(?:src|href|url)\s*[=(]", page)
    assert "\x1b" not in page + card_text(one) + card_markdown(one)
    assert not re.search(r"(?<!\\)<", card_markdown(one))


def test_no_line_of_the_text_is_wider_than_asked() -> None:
    assert max(map(len, card_text(card(), 60).splitlines())) <= 60


def test_the_same_case_gives_the_same_card() -> None:
    assert card_page(card()) == card_page(card())


def test_a_cause_that_does_not_exist_is_told_with_those_that_do() -> None:
    with pytest.raises(NoCard, match="frame-alignment-error"):
        card("no-such-cause")


def of_text(text: str, cause: str | None = None) -> JobCard:
    rulebase = load()
    record = case_from_text(text, "one.yaml", rulebase)
    return job_card(triage(record, rulebase), rulebase, record.sheet, cause)


HOT = (
    "case: hot\nmachine: {name: a, layout: two-track, drive: friction, sheet: demo-two-track}\n"
    "measured:\n  - {check: lug-side-temperature, unit: left, inboard: 140 °C, outboard: 61 °C}\n"
)


@pytest.mark.parametrize("shape", sorted(SHAPES))
def test_a_stop_is_said_with_its_reason_before_anything_is_done(shape: str) -> None:
    one = of_text(HOT, "frame-alignment-error@left")
    assert one.verdict == "stop"
    said = flat(SHAPES[shape](one))
    at = said.index("no step of this card that drives or rolls the machine")
    assert at < said.index("inboard 140 °C") < said.index("Before anything else")
    limited = flat(SHAPES[shape](card()))
    assert "no step of this card" not in limited
    assert limited.index("Limit: ") < limited.index("Before anything else")


def test_where_nothing_is_wrong_no_work_is_printed_unless_it_is_asked_for() -> None:
    with pytest.raises(NoCard, match="no fault beyond normal wear is likelier"):
        card(name="healthy")
    assert not card("toe-in-error", name="healthy").likely


def test_an_unranked_cause_takes_the_place_that_is_named() -> None:
    assert card("toe-in-error@rear-axle").place_words == "rear axle"
    assert card("toe-in-error").place_words == "place to be found"
    assert of_text(HOT, "roading-heat@machine").place_words == "whole machine"
    for cause, says in (
        ("toe-in-error@main-axle", "one of: front-axle, rear-axle"),
        ("toe-in-error@front-right", "does not act at"),
        ("toe-in-error@nowhere", "is not a place"),
        ("toe-in-eror", "did you mean 'toe-in-error'"),
    ):
        with pytest.raises(NoCard, match=says):
            card(cause)


def test_a_cause_of_another_drive_gets_no_card() -> None:
    cart = "case: c\nmachine: {name: a, layout: two-track, drive: none, sheet: demo-trailed-cart}\n"
    with pytest.raises(NoCard, match="cannot act on this machine"):
        of_text(cart, "worn-drive-wheel")


def test_a_card_is_never_certain() -> None:
    one = card().model_copy(update={"probability": 0.9996})
    assert "> 99 %" in card_text(one)
    assert "100 %" not in card_text(one)


def test_a_quantity_reads_in_both_systems() -> None:
    # source: NIST SP 811 factors
    assert both_systems("300 N·m") == "300 N·m (221 lbf·ft)"
    assert both_systems("6 mm") == "6 mm (1/4 in)"
    assert both_systems("25 km/h") == "25 km/h (16 mph)"
    assert both_systems("8 km/h") == both_systems("5 mph") == "8 km/h (5 mph)"
    assert both_systems("15 K") == "15 K (27 °F)"
    assert both_systems("100 h") == "100 h"
    assert both_systems("1700 psi") == "117.2 bar (1700 psi)"


@pytest.mark.parametrize("ending", [".html", ".md", ".txt"])
def test_the_command_writes_a_file(ending: str, tmp_path: Path) -> None:
    app = typer.Typer()
    app.command()(jobcard_command)
    target = tmp_path / f"card{ending}"
    done = CliRunner().invoke(app, [str(CASE), "-o", str(target)], catch_exceptions=False)
    assert done.exit_code == 0
    assert "Align one unit" in target.read_text(encoding="utf-8")
    assert [path.name for path in tmp_path.iterdir()] == [target.name]


def test_the_command_refuses_what_it_cannot_do(tmp_path: Path) -> None:
    app = typer.Typer()
    app.command()(jobcard_command)
    for words, says in (
        (["-o", str(tmp_path / "card.pdf")], "does not end in"),
        (["--cause", "nothing"], "there is no cause"),
    ):
        with pytest.raises(UnusableInput, match=says):
            CliRunner().invoke(app, [str(CASE), *words], catch_exceptions=False)
    with pytest.raises(UnusableInput, match="cannot be written"):
        CliRunner().invoke(app, [str(CASE), "-o", str(tmp_path / "no" / "card.md")], catch_exceptions=False)


def made_up(rows: str, layout: str = "two-track", cause: str | None = None) -> JobCard:
    rulebase = load()
    drive = "friction" if layout == "two-track" else "positive"
    head = f"case: made-up\ninvented: true\nmachine: {{name: one, layout: {layout}, drive: {drive}}}\n"
    record = case_from_text(head + rows, "made-up.yaml", rulebase)
    return job_card(triage(record, rulebase), rulebase, record.sheet, cause)


PLAY = """
seen:
  - {symptom: belt-shifts-after-turn, unit: left}
  - {symptom: lug-face-scuff, unit: left, side: both}
"""


@pytest.mark.parametrize("shape", sorted(SHAPES))
def test_a_first_cause_that_is_not_settled_is_not_called_unlikely(shape: str) -> None:
    one = made_up(PLAY)
    assert one.first
    said = flat(SHAPES[shape](one))
    assert "This cause is not the likeliest answer" not in said
    if not one.likely:
        assert "This cause stands first, but it is not settled" in said
    for words in one.undecided:
        assert words in said


def test_the_card_of_another_cause_than_the_first_still_says_so() -> None:
    one = made_up(PLAY, cause="belt-conicity")
    assert not one.first
    assert "This cause is not the likeliest answer of the case" in flat(card_text(one))


SLACK = """
seen:
  - {symptom: belt-sag-slap, unit: rear-left}
  - {symptom: ratcheting, unit: rear-left}
measured:
  - {check: tension, unit: rear-left, band: below}
"""


@pytest.mark.parametrize("shape", sorted(SHAPES))
def test_the_card_that_puts_the_stop_right_does_not_forbid_its_own_work(shape: str) -> None:
    # common practice: a belt that jumps its teeth stops the machine, and setting the tension is the repair
    one = made_up(SLACK, "four-track")
    assert (one.procedure, one.verdict, one.repairs_stop) == ("set-tension", "stop", True)
    said = flat(SHAPES[shape](one))
    assert "this work is what puts it right" in said
    assert "no step of this card that drives" not in said


THROWN = """
case: off
machine: {name: One, layout: two-track, drive: friction, hours: 2600}
context: {visit: complaint}
seen: [{symptom: belt-came-off, unit: left}]
"""
LOOKED_AT = "looked_at: [{component: lugs, units: all}, {component: idlers, units: all}]\n"


@pytest.mark.parametrize("shape", sorted(SHAPES))
def test_what_the_verdict_puts_first_is_the_card_before_any_cause(shape: str) -> None:
    rulebase = load()
    answer = triage(case_from_text(THROWN, "off.yaml", rulebase), rulebase)
    one = job_card(answer, rulebase)
    assert (one.procedure, one.place_words, one.found, one.cause) == (
        "belt-came-off",
        "left",
        "Belt came off or climbed",
        "",
    )
    said = flat(SHAPES[shape](one))
    assert [row[:11].strip() for row in head(one)] == ["Machine", "Place", "Found", "Verdict", "Case", "Time"]
    assert "Found" in said
    assert "comes before every check there" in said
    assert "First comes the work" not in said
    assert "Put right what was found, by the work for it, before the belt goes back on." in said
    assert "this work is what puts it right" in said
    named = job_card(answer, rulebase, cause=answer.ranked[0].key)
    assert named.cause == answer.ranked[0].key
    assert "First comes the work: A belt has come off" in flat(SHAPES[shape](named))
    assert "no step of this card that drives or rolls the machine may be done" in flat(SHAPES[shape](named))


def test_both_belts_off_stand_on_one_card() -> None:
    rulebase = load()
    text = THROWN.replace("unit: left}]", "unit: all}]")
    one = job_card(triage(case_from_text(text, "off.yaml", rulebase), rulebase), rulebase)
    assert one.place_words == "left; right"
    assert one.repairs_stop


def test_a_second_stop_is_not_put_right_by_the_work_for_the_first() -> None:
    rulebase = load()
    text = THROWN.replace("unit: left}]", "unit: left}, {symptom: frame-crack-or-kink, unit: right}]")
    one = job_card(triage(case_from_text(text, "off.yaml", rulebase), rulebase), rulebase)
    assert one.procedure == "belt-came-off"
    assert not one.repairs_stop


def test_where_work_comes_first_no_check_is_called_not_worth_its_time() -> None:
    rulebase = load()
    case = case_from_text(THROWN + LOOKED_AT, "off.yaml", rulebase)
    plan = next_plan(case, rulebase)
    assert plan.work_first
    assert not plan.checks
    for lines in (next_lines(plan, rulebase, ""), diagnosis_lines(triage(case, rulebase))):
        said = flat("".join(text for text, _ in laid_out(lines, 200)))
        assert "No check yet: first comes the work that the verdict names" in said
        assert "worth its time" not in said
