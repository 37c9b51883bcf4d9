"""The job card: cautions before steps, numbers of this machine in both systems, nothing invented."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from lugwright.casefile.load import load_case
from lugwright.cli.jobcard import jobcard_command
from lugwright.issues import UnusableInput
from lugwright.plan.jobcard import JobCard, NoCard, both_systems, job_card
from lugwright.report.jobcard import card_markdown, card_page, card_text
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
        if entry.procedure:
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


def test_a_quantity_reads_in_both_systems() -> None:
    # source: NIST SP 811 factors
    assert both_systems("300 N·m") == "300 N·m (221 lbf·ft)"
    assert both_systems("6 mm") == "6 mm (1/4 in)"
    assert both_systems("25 km/h") == "25 km/h (16 mph)"
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
