"""What a newcomer at the machine stumbled over: each test holds one such finding shut."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

from lugwright.casefile.load import load_case
from lugwright.cli import main
from lugwright.diagnosis import Diagnosis, Undecided
from lugwright.report.chosen import chosen
from lugwright.report.graph import reasoning_graph
from lugwright.report.lines import laid_out
from lugwright.report.rule_pages import entry_lines
from lugwright.report.text import diagnosis_lines
from lugwright.rulebase.load import load
from lugwright.triage import triage

FOUR = "case: demo\nmachine: {name: Unit 9, layout: four-track, drive: positive}\n"
TOE_ONLY = FOUR + "measured:\n  - {check: toe, axle: front, leading: 2200 mm, trailing: 2214 mm}\n"
SMEAR = FOUR + "seen:\n  - {symptom: lug-face-smear, unit: all, side: both}\n"
HOT_HUB = (
    FOUR
    + "seen:\n"
    + "".join(
        f"  - {{symptom: {name}, unit: rear-right}}\n" for name in ("hub-hot", "hub-oil-leak", "wheel-bearing-play")
    )
)

#: The same without the play: it must stand as well, and what ails it is open.
HUB_IN_DOUBT = (
    FOUR + "seen:\n" + "".join(f"  - {{symptom: {name}, unit: rear-right}}\n" for name in ("hub-hot", "hub-oil-leak"))
)

#: Checks for which the machine has to drive. # common practice: a machine that must stand is not driven for a reading.
DRIVES = {
    "drawbar-line", "drive-mark-test", "footprint", "ground-slip", "hub-temperature-map", "lug-clearance",
    "lug-side-temperature", "road-pull-test", "rock-test", "swap-test", "turn-repeat", "wash-and-listen", "weighing",
}  # fmt: skip


def answered(text: str, folder: Path) -> Diagnosis:
    path = folder / "case.yaml"
    path.write_text(text, encoding="utf-8")
    rulebase = load()
    return triage(load_case(path, rulebase), rulebase)


def printed(answer: Diagnosis) -> list[str]:
    return [text for text, _ in laid_out(diagnosis_lines(answer), 100)]


def test_a_machine_that_must_stand_is_never_driven_for_a_check(tmp_path: Path) -> None:
    answer = answered(HUB_IN_DOUBT, tmp_path)
    assert answer.verdict.action == "stop"
    assert answer.next_checks
    assert {one.check for one in answer.next_checks} & DRIVES == set()


def test_a_settled_machine_that_must_stand_is_not_driven_either(tmp_path: Path) -> None:
    answer = answered(HOT_HUB, tmp_path)
    assert answer.verdict.action == "stop"
    assert {one.check for one in answer.next_checks} & DRIVES == set()


def test_no_check_that_drives_the_machine_is_of_low_risk() -> None:
    checks = load().checks
    assert set(checks) >= DRIVES
    assert {name for name, check in checks.items() if check.risk == "low"} & DRIVES == set()


def test_a_limit_that_holds_at_many_places_is_read_once(tmp_path: Path) -> None:
    answer = answered(SMEAR, tmp_path)
    lines = printed(answer)
    assert sum("Smeared, sticky lug face (" in line for line in lines) == 8
    assert sum("No roading. Dust the lugs" in line for line in lines) == 1
    assert len(answer.verdict.reasons) == 8


def test_a_conflict_that_rounds_to_nothing_is_not_printed(tmp_path: Path) -> None:
    answer = answered(TOE_ONLY, tmp_path)
    lines = printed(answer.model_copy(update={"conflict_bits": 0.04}))
    assert not any(line.startswith("Conflict") for line in lines)
    lines = printed(answer.model_copy(update={"conflict_bits": 0.06}))
    assert any(line.startswith("Conflict") and "0.1 bits" in line for line in lines)


def test_one_sign_is_not_counted_as_all_of_them(tmp_path: Path) -> None:
    assert not any("all 1 signs" in line for line in printed(answered(TOE_ONLY, tmp_path)))


def test_a_check_that_is_named_by_a_question_keeps_only_its_question_mark(tmp_path: Path) -> None:
    answer = answered(FOUR + "context: {visit: complaint}\n", tmp_path)
    named = Undecided(between=("a", "b"), check="rock-test", check_name="Does it rock?", how="Push it.")
    text = " ".join(" ".join(printed(answer.model_copy(update={"undecided": named}))).split())
    assert "split by Does it rock? Push it." in text


def test_all_causes_stand_in_one_column_of_the_picture(tmp_path: Path) -> None:
    answer = answered(HOT_HUB, tmp_path)
    source = reasoning_graph(answer).source
    column = re.findall(r"n\d+", source[source.index("rank=same") :].split("}")[0])
    assert len(chosen(answer).causes) > 1
    assert len(set(column)) == len(chosen(answer).causes) + 1  # and no fault
    assert all(re.search(rf"\s{node} \[label=[^\]]*fillcolor=\"#(b9cfe6|dddddd)\"", source) for node in column)


def test_a_cause_asked_for_at_another_place_is_answered_with_the_places_there_are(tmp_path: Path) -> None:
    answer = answered(TOE_ONLY, tmp_path)
    with pytest.raises(ValueError, match=r"of this case: toe-in-error@front-axle$"):
        chosen(answer, "toe-in-error@main-axle")


def test_the_page_of_a_chaining_rule_is_written_for_people() -> None:
    rulebase = load()
    for name in rulebase.rules:
        text = "\n".join(row for row, _ in laid_out(entry_lines(rulebase, "chaining", name), 100))
        assert "{'" not in text, name
    toe = " ".join(
        " ".join(row for row, _ in laid_out(entry_lines(rulebase, "chaining", "toe-within-limits"), 100)).split()
    )
    assert "with toe-in at most the toe limit of the machine sheet (3 mm without one)" in toe
    assert "state is inside" in toe


@pytest.mark.parametrize("target", ["trace.gif", "trace", "no-such-folder/trace.svg", "."])
@pytest.mark.parametrize("command", [("triage", "--draw"), ("trace", "-o")])
def test_a_picture_that_cannot_be_is_refused_before_anything_is_printed(
    command: tuple[str, str],
    target: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    case = tmp_path / "case.yaml"
    case.write_text(SMEAR, encoding="utf-8")
    monkeypatch.setattr(sys, "argv", ["lugwright", command[0], str(case), command[1], str(tmp_path / target)])
    with pytest.raises(SystemExit) as stop:
        main()
    said = capsys.readouterr()
    assert (stop.value.code, said.out) == (2, "")
    assert "nothing was done" in said.err


def test_with_nothing_found_no_cause_is_named_as_a_contender(tmp_path: Path) -> None:
    assert answered(FOUR + "context: {visit: complaint}\n", tmp_path).undecided is None


def test_two_limits_on_one_unit_keep_it_off_the_road(tmp_path: Path) -> None:
    smear, packed = (
        "{symptom: lug-face-smear, unit: rear-left, side: inboard}",
        "{symptom: lug-gap-packed, unit: rear-left}",
    )
    two = f"seen:\n  - {smear}\n  - {packed}\n"
    rules = [one.rule for one in answered(FOUR + two, tmp_path).verdict.reasons]
    assert "two-limits-on-one-unit" in rules


def test_cautions_stand_before_the_checks_and_the_work(tmp_path: Path) -> None:
    text = "\n".join(printed(answered(HOT_HUB, tmp_path)))
    assert text.index("Before you touch anything") < text.index("Look next")


def test_very_many_signs_are_answered_without_weighing_each(tmp_path: Path) -> None:
    """Leave-one-out is given up when it is too much work; the ranking is not."""
    from lugwright.belief import judge

    kept = judge.WORTH_COST
    try:
        judge.WORTH_COST = 1.0
        answer = answered(SMEAR, tmp_path)
    finally:
        judge.WORTH_COST = kept
    assert answer.ranked[0].probability > 0.1
    assert all(one.without == () or {w.finding for w in one.without} == {"all-absent"} for one in answer.ranked)


def test_work_names_the_measurement_that_would_prove_its_cause(tmp_path: Path) -> None:
    """Mirrored wear makes toe-in likely; the tape comes before the adjuster. common practice"""
    mirrored = "seen:\n" + "".join(
        f"  - {{symptom: {name}, unit: {unit}, side: inboard}}\n"
        for name in ("lug-face-scuff", "idler-flank-polish", "lug-edge-torn")
        for unit in ("front-left", "front-right")
    )
    swept = "looked_at:\n  - {component: lugs, units: all}\n  - {component: idlers, units: all}\n"
    answer = answered(FOUR + mirrored + swept, tmp_path)
    assert answer.ranked[0].key == "toe-in-error@front-axle"
    assert answer.work[0].confirm.startswith("Toe of the two frames, front axle")
    taped = "measured:\n  - {check: toe, axle: front, leading: 2200 mm, trailing: 2214 mm}\n"
    assert answered(FOUR + mirrored + swept + taped, tmp_path).work[0].confirm == ""


def test_a_cause_that_was_measured_is_not_sent_for_another_proof(tmp_path: Path) -> None:
    """Tight and hot on the worn face after a straight coast is proof; nobody exchanges belts on top. common practice"""
    case = Path(__file__).parents[2] / "examples" / "one-unit-off-line.yaml"
    answer = answered(case.read_text(encoding="utf-8"), tmp_path)
    assert answer.work[0].procedure == "align-one-unit"
    assert answer.work[0].confirm == ""


def test_a_rule_that_concludes_two_signs_is_drawn_once(tmp_path: Path) -> None:
    """A toe within limits speaks on toe-in and on toe-out; the reading has one arrow to its rule."""
    case = Path(__file__).parents[2] / "examples" / "one-unit-off-line.yaml"
    source = reasoning_graph(answered(case.read_text(encoding="utf-8"), tmp_path)).source
    edges = re.findall(r"^\t+(n\d+ -> n\d+)", source, flags=re.MULTILINE)
    assert len(edges) > 10
    assert len(edges) == len(set(edges))
