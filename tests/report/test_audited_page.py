"""What a manager misses on the page when they go through it with the case beside it."""

from __future__ import annotations

import json
import re
import shutil
import sys
from pathlib import Path
from typing import Any

import pytest
from report_answers import ROOT, crowded, example, finding, shipped, small

from lugwright.casefile.load import case_from_text
from lugwright.cli import main
from lugwright.diagnosis import Diagnosis, Reason, VerdictShown
from lugwright.report import browser, render
from lugwright.report.browser import page_to_pdf
from lugwright.report.chosen import chosen
from lugwright.report.compared import compared
from lugwright.report.page.html import page_html
from lugwright.report.page.markdown import page_markdown
from lugwright.report.pattern import Mark, pattern, pattern_lines
from lugwright.report.text import diagnosis_lines
from lugwright.report.wear_map import wear_map_svg
from lugwright.triage import triage

FOUR = "machine: {name: Four 9, layout: four-track, drive: positive, hours: 2100, sheet: demo-four-track}\n"
HUB = "measured: [{check: hub-temperature-map, unit: front-right, hub: %s °C, peer-1: %s °C, peer-2: %s °C}]\n"


def answered(text: str, name: str = "demo") -> Diagnosis:
    whole = f"case: {name}\ninvented: true\n{text}"
    return triage(case_from_text(whole, f"{name}.yaml", shipped()), shipped())


def run(words: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> tuple[int, str]:
    monkeypatch.setattr(sys, "argv", ["lugwright", *words])
    code = 0
    try:
        main()
    except SystemExit as done:
        code = int(done.code or 0)
    return code, capsys.readouterr().err


def section(page: str, title: str) -> str:
    return page.split(f"\n## {title}\n", 1)[1].split("\n## ", 1)[0]


def test_a_stop_that_went_away_is_told_beside_the_limit_that_stays() -> None:
    before, after = answered(FOUR + HUB % (96, 45, 46)), answered(FOUR + HUB % (84, 65, 66))
    stop = before.verdict.reasons[0]
    assert (stop.action, after.verdict.action) == ("stop", "limit-use")
    rows = [one for one in compared(before, after).changes if one.part == "verdict"]
    (told,) = [one for one in rows if stop.rule in one.what]
    assert (told.before, told.after, told.changed) == (f"STOP. {stop.limit}", "no reason", True)
    assert {one.rule for one in before.verdict.reasons} == {
        found[1] for one in rows if (found := re.search(r"\(rule ([\w-]+)\)", one.what))
    }


def test_every_reason_of_a_verdict_has_its_row_and_names_its_action() -> None:
    reasons = tuple(
        Reason(action=action, place_words="left", finding="Hot hub", limit=f"Text {rule}.", rule=rule)
        for action, rule in (("stop", "a"), ("limit-use", "b"), ("limit-use", "c"), ("keep-running", "d"))
    )  # fmt: skip
    one = small().model_copy(update={"verdict": VerdictShown(action="stop", reasons=reasons)})
    rows = [row.before for row in compared(one, one).changes if row.part == "verdict"]
    assert rows == ["STOP", "STOP. Text a.", "LIMIT USE. Text b.", "LIMIT USE. Text c."]


def test_two_machines_are_told_on_top() -> None:
    other = small().model_copy(update={"machine_name": "Machine 2"})
    assert compared(small(), other).summary[0].startswith("These are two machines by their names: Machine 1")
    assert not compared(small(), other).same_machine
    assert compared(small(), small()).summary[0].startswith("The verdict")


def test_what_a_reading_found_stands_before_what_it_did_not_find() -> None:
    page = section(page_markdown(example("wide-scraper")), "Readings")
    assert "found: Scraper gap too wide, left; not there: Scraper touches the wheel, left |" in page
    assert "not there: Scraper touches the wheel, right; Scraper gap too wide, right |" in page


@pytest.mark.parametrize(
    ("places", "words"),
    [
        ([("front-right", "inboard"), ("rear-right", "")], "; besides, noted without a side on rear-right"),
        ([("front-right", "inboard"), ("rear-left", ""), ("rear-right", "")], "without a side on both rear units"),
        ([("front-right", "inboard"), ("front-right", "")], "one unit (front-right, inboard)"),
    ],
)
def test_one_unit_tells_what_was_noted_without_a_side_elsewhere(places: list[tuple[str, str]], words: str) -> None:
    assert pattern("four-track", [Mark(unit, side) for unit, side in places]).words.endswith(words)


def test_a_pattern_tells_of_a_sign_that_is_noted_for_an_axle() -> None:
    seen = (finding("bent", "frame", "front-left"), finding("closed", "frame", "front-axle"))
    assert pattern_lines(small(seen)) == ("Frame: one unit (front-left); besides, noted for front axle.",)


NOTED = (
    'note: "<b>Case</b> note"\n' + FOUR + "context: {soil: sticky-or-residue, visit: complaint}\n"
    "seen:\n  - {symptom: lug-face-scuff, unit: front-right, side: inboard, note: worst near the joint}\n"
    "not_seen:\n  - {symptom: hub-hot, unit: rear-left, note: felt by hand}\n"
    "looked_at:\n  - {component: tread, units: all, note: in good light}\n"
    + HUB.replace("%s °C}]", "%s °C, note: after an hour of road}]")
    % (60, 45, 46)
)


def test_notes_stand_beside_what_they_belong_to_and_in_the_json() -> None:
    answer = answered(NOTED)
    html, plain = page_html(answer), page_markdown(answer)
    assert "<b>Case" not in html
    assert "Noted at the machine: &lt;b&gt;Case&lt;/b&gt; note" in html
    assert re.search(r"Scuffed lug face \|.*\| worst near the joint \|", section(plain, "Wear map"))
    absent = section(plain, "Looked at and not found")
    assert re.search(r"\(rear-left\) \| felt by hand \|", absent)
    assert absent.count("in good light") == 1
    assert "| after an hour of road |" in section(plain, "Readings")
    data = json.loads(answer.model_dump_json())
    assert data["note"] == "<b>Case</b> note"
    assert {one["note"] for one in data["findings"]} >= {"worst near the joint", "felt by hand", "in good light"}
    assert [one["note"] for one in data["readings"]] == ["after an hour of road"]


def test_a_note_beside_a_sign_recorded_both_ways_is_not_lost() -> None:
    scuffed = "seen:\n  - {symptom: hub-hot, unit: front-right, note: by hand}\n"
    answer = answered(FOUR + scuffed + HUB % (45, 45, 46))
    if not answer.contradictory:
        pytest.skip("this reading does not speak against this sign")
    assert answer.other_notes == ("Hub clearly hotter than its peers, front-right, written as seen: by hand",)
    assert "by hand" in page_markdown(answer)


def test_the_sheet_and_answers_that_did_nothing_are_on_the_page() -> None:
    told = section(page_markdown(answered(NOTED)), "As it was noted")
    sheet = shipped().machines["demo-four-track"].name
    assert f"{sheet} (demo-four-track, " in told
    assert "| sets how common every fault is beforehand |" in told
    assert "| nothing: no rule fired on it |" in section(page_markdown(small()), "As it was noted")


@pytest.mark.parametrize("name", ["wide-scraper", "one-unit-off-line", "side-hill-look-alike"])
def test_an_answer_that_is_said_to_have_fired_a_rule_stands_in_a_firing(name: str) -> None:
    answer = example(name)
    for one in answer.context:
        fired = {step.rule for step in answer.steps if any(f"context {one.context} " in used for used in step.used)}
        assert set(one.rules) == fired


def test_the_steadiness_names_its_cause_where_another_is_ranked_first() -> None:
    steady = small().steadiness
    assert steady
    other = small().model_copy(update={"steadiness": steady.model_copy(update={"first": "soft-tyre@machine"})})
    assert "Something else, whole machine: Steady: first in 97" in page_markdown(other)
    assert any("Something else, whole machine: Steady" in line.text for line in diagnosis_lines(other))
    assert "\nSteady: first in 97" in page_markdown(small())


def test_under_the_verdict_the_likeliest_cause_stands_before_what_is_undecided() -> None:
    said = [line for line in section(page_markdown(small()), "Verdict").splitlines() if line]
    assert said[1].startswith("Likeliest cause: Unit out of line, front-right, inboard (very likely, 93 %)")
    assert said[2].startswith("Undecided between: ")


FIND = shutil.which


def without_dot(name: str, **more: Any) -> str | None:
    return None if name == "dot" else FIND(name, **more)


@pytest.mark.parametrize("ending", ["pdf", "png", "svg"])
def test_a_picture_that_cannot_be_drawn_leaves_a_file_that_was_not_named_alone(
    ending: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "x.dot").write_text("mine", encoding="utf-8")
    monkeypatch.setattr(render.shutil, "which", lambda *_, **__: None)
    case = str(ROOT / "examples" / "healthy.yaml")
    code, err = run(["trace", case, "-o", str(tmp_path / f"x.{ending}")], monkeypatch, capsys)
    assert code == 2
    assert "cannot-draw" in err
    assert [path.name for path in tmp_path.iterdir()] == ["x.dot"]
    assert (tmp_path / "x.dot").read_text(encoding="utf-8") == "mine"


def test_a_trace_is_printed_by_the_browser_where_there_is_no_dot(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(render.shutil, "which", without_dot)
    if browser.browser() is None or render.renderer("svg") is None:
        pytest.skip("no browser, or nothing that draws")
    words = ["trace", str(ROOT / "examples" / "healthy.yaml"), "-o", str(tmp_path / "x.pdf")]
    assert run(words, monkeypatch, capsys)[0] == 0
    made = (tmp_path / "x.pdf").read_bytes()
    assert made.startswith(b"%PDF")
    assert len(re.findall(rb"/Type\s*/Page\b", made)) == 1
    assert [path.name for path in tmp_path.iterdir()] == ["x.pdf"]


@pytest.mark.parametrize("answer", [small(), crowded(), small(layout="two-track")], ids=["four", "crowded", "two"])
def test_the_printed_labels_of_the_map_are_at_least_seven_points_high(answer: Diagnosis, tmp_path: Path) -> None:
    reader = shutil.which("pdftotext")
    if browser.browser() is None or reader is None:
        pytest.skip("no browser, or nothing that reads a PDF")
    import subprocess

    target = tmp_path / "page.pdf"
    target.write_bytes(page_to_pdf(page_html(answer, paper="A4")))
    boxes = subprocess.run([reader, "-bbox", str(target), "-"], capture_output=True, check=True, text=True).stdout
    pages = boxes.split("<page ")[1:]
    drawn = next(page for page in pages if ">outboard</word>" in page)
    word = re.search(r'yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)">outboard<', drawn)
    assert word
    # a font's box is 1.1 times its size or more
    assert float(word[2]) - float(word[1]) >= 7 * 1.1
    assert re.search(r">Wear</word>\s*<word[^>]*>map<", drawn)  # the heading stands on the page of the drawing


def test_every_seen_sign_that_is_not_drawn_is_counted() -> None:
    for answer in (example("one-unit-off-line"), example("side-hill-look-alike"), small(), crowded()):
        drawn = chosen(answer)
        inside = {edge.finding for edge in drawn.edges}
        seen = {one.key for one in answer.findings if one.state == "seen"}
        steps = [step for step in answer.steps if any(text.split(" ")[0] in inside for text in step.concluded)]
        behind = {used.split(" ")[0] for step in steps for used in step.used}
        weighed = {edge.finding for edge in answer.edges if edge.cause in {one.key for one in drawn.causes}}
        assert drawn.signs_left == len(weighed - inside)
        assert drawn.others_left >= len(seen - weighed - behind)
    alone = small((finding("a", "lugs", "front-left/inboard"), finding("odd", "hubs", "rear-left")))
    alone = alone.model_copy(update={"edges": alone.edges[:1]})
    assert chosen(alone).left_words.startswith("left out: 1 seen sign that bears on none of these causes")


SHORT = (
    "machine: {name: Two 4, layout: two-track, drive: friction, hours: 1270 h, sheet: demo-two-track}\n"
    "measured:\n  - {check: lug-clearance, unit: right, inboard: 2 mm, outboard: 13 mm, run: 20 m}\n"
)


def test_a_part_that_was_measured_in_vain_is_not_called_unwritten() -> None:
    answer = answered(SHORT)
    name = shipped().checks["lug-clearance"].name
    assert answer.not_counted == (f"right: lugs ({name})",)
    told = section(page_markdown(answer), "Not looked at")
    assert "left: lugs\n" in told
    assert told.index("the reading does not count") < told.index(f"right: lugs ({name})")
    assert any(line.label == "Not known" and "right: lugs" in line.text for line in diagnosis_lines(answer))


def test_what_an_overlay_replaces_and_retires_is_in_the_record() -> None:
    from lugwright.rulebase.load import load_layers
    from lugwright.summing_up import label

    layered = load_layers([ROOT / "examples" / "yard-rules"])
    answer = small().model_copy(update={"rulebase": label(layered)})
    told = section(page_markdown(answer), "Rule base")
    assert "**Replaced by an overlay:** checks/weighing \\[yard rules\\]" in told
    assert "**Retired by an overlay, so not counted:** chaining/sticky-soil \\[yard rules\\]" in told


@pytest.mark.parametrize(
    ("case", "cause", "code"),
    [
        ("one-unit-off-line", "toe-in-error", "cause-not-ranked"),
        ("one-unit-off-line", "toe-in-eror", "unknown-cause"),
        ("one-unit-off-line", "toe-in-error@main-axle", "unknown-place"),
    ],
)
def test_a_cause_that_cannot_be_traced_is_refused_with_the_true_reason(
    case: str, cause: str, code: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["trace", str(ROOT / "examples" / f"{case}.yaml"), "--cause", cause]
    status, err = run(words, monkeypatch, capsys)
    assert status == 2
    assert f"error[{code}]" in err
    if code == "cause-not-ranked":
        assert "stands at < 1 %" in err
        assert "lugwright whynot CASE toe-in-error@" in err


def test_the_legend_explains_a_blank_part() -> None:
    assert "nothing noted" in wear_map_svg(example("packed-dirt"))


def test_why_says_whose_signs_would_not_move_a_cause() -> None:
    from lugwright.report.account_text import NONE_LOWERS, why_lines
    from lugwright.triage import account

    case = case_from_text(f"case: demo\ninvented: true\n{FOUR}{HUB % (60, 45, 46)}", "demo.yaml", shipped())
    found = account(case, shipped(), "overload-total")
    stay = tuple(one.model_copy(update={"if_absent": found.probability}) for one in found.open_signs)
    told = [line.text for line in why_lines(found.model_copy(update={"open_signs": stay}))]
    assert NONE_LOWERS in told
    assert "its own signs" in NONE_LOWERS
    assert any("if it is there" in text for text in told)


def test_a_run_that_a_sheet_asks_for_in_feet_is_told_to_the_metre() -> None:
    from lugwright.readings.alignment import coast_faults

    # 150 ft are 45.72 m; nobody paces out a run to the centimetre (common practice)
    assert coast_faults(20_000.0, least_run_mm=45_720.0) == ("straight run of 20 m, at least 46 m is needed",)
