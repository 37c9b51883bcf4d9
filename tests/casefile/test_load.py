"""From a case file to a checked record: shorthand, sweeping, units, context, and every fault at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_rulebase import small_rulebase

from lugwright.casefile.load import case_from_text, load_case
from lugwright.casefile.record import CaseRecord
from lugwright.issues import UnusableInput
from lugwright.places import Place

FOUR = "case: demo\nmachine: {name: Unit 1, layout: four-track, drive: positive}\n"
TWO = "case: demo\nmachine: {name: Unit 2, layout: two-track, drive: friction}\n"


def read(text: str) -> CaseRecord:
    return case_from_text(text, "demo.yaml", small_rulebase())


def keys(record: CaseRecord, state: str) -> list[str]:
    return [one.key for one in record.findings if one.state == state]


def codes(text: str) -> list[str]:
    with pytest.raises(UnusableInput) as caught:
        read(text)
    return [one.code for one in caught.value.issues]


def only_issue(text: str) -> tuple[str, str, str]:
    with pytest.raises(UnusableInput) as caught:
        read(text)
    (issue,) = caught.value.issues
    return issue.code, issue.what, issue.hint


def test_the_example_of_the_design_reads_whole() -> None:
    record = read(
        """
case: north-yard-031
machine: {name: Unit 12, layout: four-track, drive: positive, hours: 1860, sheet: demo-four-track}
context: {roading-share: 15 %, slope-work: none, belt-hours: 20}
seen:
  - {symptom: idler-flank-polish, unit: front-right, side: inboard}
  - {symptom: lug-edge-torn, unit: front-right, side: inboard, extent: many}
looked_at:
  - {component: lugs, units: all}
not_seen:
  - {symptom: hub-hot, unit: front-right}
measured:
  - {check: lug-clearance, unit: front-right, inboard: 1 mm, outboard: 1/4 in}
  - {check: toe, axle: front, leading: 2212 mm, trailing: 2210 mm, at: 1850}
"""
    )
    assert (record.case, record.machine_name, record.hours) == ("north-yard-031", "Unit 12", 1860)
    assert record.sheet is small_rulebase().machines["demo-four-track"]
    assert record.context == {"roading-share": 0.15, "slope-work": "none", "belt-hours": 20.0}
    assert keys(record, "seen") == ["idler-flank-polish@front-right/inboard", "lug-edge-torn@front-right/inboard"]
    assert record.findings[1].extent == "many"
    assert str(record.findings[1].spot) == "demo.yaml:7:5"
    clearance, toe = record.readings
    assert clearance.fields == {"inboard": 1.0, "outboard": 6.35}
    assert clearance.texts == {"inboard": "1 mm", "outboard": "1/4 in"}
    assert clearance.place == Place(unit="front-right")
    assert (toe.key, toe.at) == ("toe@front-axle", 1850)
    assert record.looked_at == (("lugs", ("front-left", "front-right", "rear-left", "rear-right")),)


def test_sweeping_records_only_what_can_be_seen_or_touched_and_is_not_recorded_yet() -> None:
    record = read(TWO + "seen: [{symptom: lug-edge-torn, unit: left, side: inboard}]\n"
                  "looked_at: [{component: lugs, units: all}]\n")  # fmt: skip
    assert keys(record, "seen") == ["lug-edge-torn@left/inboard"]
    assert keys(record, "absent") == [
        "lug-chunked@left", "lug-chunked@right",
        "lug-edge-torn@left/outboard", "lug-edge-torn@right/inboard", "lug-edge-torn@right/outboard",
        "lug-face-smear@left/inboard", "lug-face-smear@left/outboard",
        "lug-face-smear@right/inboard", "lug-face-smear@right/outboard",
    ]  # fmt: skip
    assert {one.source for one in record.findings if one.state == "absent"} == {"looked_at"}


def test_sweeping_leaves_out_signs_of_another_drive_or_layout() -> None:
    with_bars = read(FOUR + "looked_at: [{component: drive-wheel, unit: rear-left}]\n")
    assert keys(with_bars, "absent") == ["drive-bar-worn-hooked@rear-left"]
    assert keys(read(TWO + "looked_at: [{component: drive-wheel, units: all}]\n"), "absent") == []
    assert keys(read(TWO + "looked_at: [{component: frame, units: all}]\n"), "absent") == ["dirt-under-belly@machine"]


def test_an_axle_or_the_machine_counts_as_looked_at_only_when_all_of_it_was() -> None:
    front = read(FOUR + "looked_at: [{component: frame, units: [front-left, front-right, rear-left]}]\n")
    assert keys(front, "absent") == ["cross-beam-cracked@front-axle"]
    whole = read(FOUR + "looked_at: [{component: frame, units: all}]\n")
    assert keys(whole, "absent") == [
        "cross-beam-cracked@front-axle", "cross-beam-cracked@rear-axle", "dirt-under-belly@machine",
    ]  # fmt: skip


def test_shorthand_stands_for_every_place_it_names() -> None:
    record = read(FOUR + "seen: [{symptom: lug-face-smear, unit: all, side: both}]\n"
                  "not_seen: [{symptom: hub-hot, units: [front-left, rear-right]}]\n")  # fmt: skip
    assert len(keys(record, "seen")) == 8
    assert keys(record, "absent") == ["hub-hot@front-left", "hub-hot@rear-right"]


def test_another_name_of_a_symptom_leads_to_the_symptom() -> None:
    record = read(TWO + "seen: [{symptom: idler-flank-polish-one-side, unit: left, side: outboard}]\n")
    assert keys(record, "seen") == ["idler-flank-polish@left/outboard"]


def test_a_two_track_has_one_axle_which_need_not_be_named() -> None:
    text = "seen: [{symptom: unit-leans-in}]\nmeasured: [{check: toe, axle: main, leading: 2 m, trailing: 2 m}]\n"
    record = read(TWO + text)
    assert keys(record, "seen") == ["unit-leans-in@main-axle"]
    assert record.readings[0].fields == {"leading": 2000, "trailing": 2000}


def test_one_sign_on_two_wheels_of_a_unit_is_one_finding_with_the_wider_extent() -> None:
    record = read(
        TWO + "seen:\n"
        "  - {symptom: roller-rubber-chunked, unit: left, wheel: mid-roller-1, extent: few, note: small}\n"
        "  - {symptom: roller-rubber-chunked, unit: left, wheel: mid-roller-3, extent: many}\n"
    )
    (finding,) = record.findings
    assert (finding.wheels, finding.extent, finding.note) == (("mid-roller-1", "mid-roller-3"), "many", "small")


def test_a_case_with_nothing_but_a_machine_is_a_case_in_which_nothing_was_looked_at() -> None:
    record = read(TWO)
    assert (record.findings, record.readings, dict(record.context), record.hours) == ((), (), {}, None)


def test_hours_read_the_same_with_and_without_their_unit() -> None:
    for text in ("1860", "1860 h", "1860.0", '"1860"'):
        assert read(TWO.replace("friction}", f"friction, hours: {text}}}")).hours == 1860


def test_temperatures_come_out_in_celsius() -> None:
    record = read(TWO + "measured: [{check: lug-side-temperature, unit: left, inboard: 140 °F, outboard: 52 °C}]\n")
    assert record.readings[0].fields == {"inboard": 60, "outboard": 52}


def test_words_and_counts_of_a_reading() -> None:
    record = read(TWO + "measured: [{check: oil-look, unit: left, state: milky}, {check: gauge-count, lugs: 44}]\n")
    assert [one.fields for one in record.readings] == [{"state": "milky"}, {"lugs": 44}]
    assert record.readings[1].place == Place()


def test_a_compass_word_for_a_side_is_translated() -> None:
    code, what, hint = only_issue(TWO + "seen: [{symptom: lug-edge-torn, unit: right, side: left}]\n")
    assert (code, what) == ("impossible-place", "'left' is not a side")
    assert hint == "the left-hand side of the right unit is its inboard side"


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("seen: [{symptom: hub-hot, unit: left, axle: main}]", "place-superfluous"),
        ("seen: [{symptom: hub-hot, unit: left, side: inboard}]", "place-superfluous"),
        ("seen: [{symptom: hub-hot, unit: left, units: [right]}]", "place-superfluous"),
        ("seen: [{symptom: hub-hot}]", "place-missing"),
        ("seen: [{symptom: hub-hot, units: [left, left]}]", "duplicate-finding"),
        ("seen: [{symptom: hub-hot, units: []}]", "out-of-range"),
        ("seen: [{symptom: unit-leans-in, unit: left}]", "place-superfluous"),
        ("seen: [{symptom: pulls-to-one-side, unit: left}]", "place-superfluous"),
        ("seen: [{symptom: cross-beam-cracked, axle: main}]", "not-on-this-machine"),
        ("seen: [{symptom: roller-rubber-chunked, unit: left, wheel: third}]", "unknown-wheel"),
        ("seen: [{symptom: hub-hot, unit: left, extent: lots}]", "unknown-extent"),
        ("not_seen: [{symptom: hub-hot, unit: left, extent: many}]", "unknown-key"),
        ("looked_at: [{component: lug, units: all}]", "unknown-component"),
        ("looked_at: [{component: lugs}]", "place-missing"),
        ("looked_at: [{component: behaviour, units: all}]", "nothing-to-sweep"),
        ("measured: [{check: turn-repeat, unit: left}]", "no-reading"),
        ("measured: [{check: hub-hot, unit: left}]", "unknown-check"),
        ("measured: [{check: toe, axle: front, leading: 1 m, trailing: 1 m}]", "impossible-place"),
        ("measured: [{check: lug-clearance, unit: all, inboard: 1 mm, outboard: 1 mm}]", "impossible-place"),
        ("measured: [{check: oil-look, unit: left, state: brown}]", "unknown-answer"),
        ("measured: [{check: gauge-count}]", "missing-reading"),
        ("measured: [{check: gauge-count, lugs: 3.5}]", "out-of-range"),
        ("context: {belt-life: new}", "derived-context"),
        ("context: {belt-hours: -3}", "out-of-range"),
        ("context: {roading-share: 0.15}", "no-unit"),
        ("context: {slope-work: yes}", "unknown-answer"),
        ("context: {hub-hot: yes}", "unknown-context"),
        ("colour: red", "unknown-key"),
    ],
)
def test_each_fault_has_its_code(text: str, code: str) -> None:
    assert codes(TWO + text) == [code]


def test_a_reading_later_than_the_hours_of_the_machine_is_refused() -> None:
    text = "measured: [{check: toe, leading: 1 m, trailing: 1 m, at: 200}]\n"
    head = TWO.replace("friction}", "friction, hours: 150}")
    assert codes(head + text) == ["out-of-range"]


def test_faults_of_shape_and_of_knowledge_are_told_together() -> None:
    found = codes(
        "case: Demo Case\n"
        "machine: {name: Unit 2, layout: two-track, drive: friction, hours: -5, colour: red}\n"
        "context: {slope-work: steep}\n"
        "seen:\n"
        "  - {symptom: lug-edge-tron, unit: left, side: inboard}\n"
        "  - {unit: left}\n"
        "  - {symptom: hub-hot, unit: rear-left}\n"
        "  - {symptom: lug-chunked, unit: , extent: many}\n"
        "measured: [{check: toe, leading: 1, trailing: 2 bar}]\n"
    )
    assert sorted(found) == sorted([
        "bad-id", "out-of-range", "unknown-key", "unknown-answer", "unknown-symptom", "missing-key", "impossible-place",
        "empty-value", "no-unit", "wrong-unit",
    ])  # fmt: skip


def test_without_a_layout_only_the_shape_is_told() -> None:
    assert codes("case: demo\nmachine: {name: a, drive: friction}\nseen: [{symptom: nothing}]\n") == ["missing-key"]


def test_many_faults_of_one_code_are_counted_not_printed() -> None:
    text = TWO + "seen:\n" + "".join(f"  - {{symptom: no-such-sign-{n}, unit: left}}\n" for n in range(500))
    found = codes(text)
    assert found == ["unknown-symptom"] * 21


def test_a_missing_file_and_a_folder_are_told_kindly(tmp_path: Path) -> None:
    for path, code in ((tmp_path / "none.yaml", "missing-file"), (tmp_path, "not-a-file")):
        with pytest.raises(UnusableInput) as caught:
            load_case(path, small_rulebase(), shown="asked-for.yaml")
        (issue,) = caught.value.issues
        assert (issue.code, str(issue.spot)) == (code, "asked-for.yaml")


def test_fifty_megabytes_are_refused_before_they_are_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.yaml"
    with path.open("wb") as stream:
        stream.truncate(50_000_000)
    with pytest.raises(UnusableInput, match=r"this file is 50.0 MB; at most 2 MB is read"):
        load_case(path, small_rulebase())


def test_a_file_of_zero_bytes_and_other_binary_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "picture.yaml"
    for raw, code in ((b"", "empty-file"), (b"\x89PNG\r\n\x1a\n\0\0", "not-text"), (b"case: \xff\n", "not-utf-8")):
        path.write_bytes(raw)
        with pytest.raises(UnusableInput) as caught:
            load_case(path, small_rulebase())
        assert [one.code for one in caught.value.issues] == [code]
