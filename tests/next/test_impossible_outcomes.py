"""No outcome of a check is told that no machine can show, and a check that only comes first says for which it does."""

from __future__ import annotations

from next_cases import TIGHT, shipped, weighed, written

from lugwright.looking.next_plan import next_plan
from lugwright.places import Place
from lugwright.plan.apart import apart_signs, excluded
from lugwright.report.next_text import next_lines
from lugwright.report.text import diagnosis_lines
from lugwright.triage import triage

DRAGGED = """
context: {visit: complaint, belt-hours: 900 h, slope-work: left-uphill}
seen:
  - {symptom: lug-face-scuff, unit: left, side: outboard, extent: many}
  - {symptom: lug-face-scuff, unit: right, side: outboard, extent: many}
  - {symptom: idler-flank-polish, unit: left, side: outboard}
"""


def test_tension_is_never_told_to_read_below_and_above_its_band() -> None:
    # common practice: one gauge gives one reading
    for rows in (TIGHT, DRAGGED):
        for layout, drive in (("two-track", "friction"), ("four-track", "positive")):
            _, found = weighed(
                written(
                    rows
                    if layout == "two-track"
                    else rows.replace("left", "rear-left")
                    .replace("rear-left-uphill", "left-uphill")
                    .replace("unit: right", "unit: rear-right"),
                    layout,
                    drive,
                )
            )
            for row in found.rows:
                for one in row.outcomes:
                    assert not ("above its band" in one.result and "below its band" in one.result)


def test_what_the_rule_base_keeps_apart_is_read_from_its_rules() -> None:
    pairs = apart_signs(shipped())
    above, below = ("tension-above-band", Place(unit="left")), ("tension-below-band", Place(unit="left"))
    (rule,) = pairs["tension-above-band", "tension-below-band"]
    assert excluded(above, below[1], rule) == below
    assert excluded(above, Place(unit="right"), rule) == below  # the rule speaks of the same unit alone
    (rule,) = pairs["belt-off-centre-coast", "lugs-pinched"]
    assert excluded(("belt-off-centre-coast", Place(unit="left", side="inboard")), Place(unit="left"), rule) == (
        "lugs-pinched",
        Place(unit="left"),
    )
    (rule,) = pairs["more-worn-than-partner", "more-worn-than-partner"]
    assert excluded(("more-worn-than-partner", Place(unit="left")), Place(unit="right"), rule) == (
        "more-worn-than-partner",
        Place(unit="right"),
    )


def test_a_rule_with_a_further_condition_keeps_no_two_signs_apart() -> None:
    rules = shipped()
    for (one, other), found in apart_signs(rules).items():
        for rule in found:
            assert rule.seen.seen == one
            assert rule.absent.finding == other
            assert rule.absent.is_ == "absent"


def test_a_check_that_only_comes_first_says_for_which_it_does() -> None:
    case = written(DRAGGED, "two-track", "friction")
    plan = next_plan(case, shipped())
    helpers = [row for row in plan.checks if row.first_for]
    assert helpers
    names = {row.name for row in weighed(case)[1].rows}
    for row in helpers:
        assert set(row.first_for) <= names
        assert any(row.check in other.after and other.name in row.first_for for other in weighed(case)[1].rows)
    lines = [line.text for line in next_lines(plan, shipped(), "caution")]
    assert any(f"comes first, because it must be done before: {helpers[0].first_for[0]}" in text for text in lines)


def test_no_outcome_is_printed_that_changes_nothing_a_reader_can_see() -> None:
    for rows in (TIGHT, DRAGGED):
        case = written(rows, "two-track", "friction")
        answer = triage(case, shipped())
        lines = [line.text for line in diagnosis_lines(answer)]
        lines += [line.text for line in next_lines(next_plan(case, shipped()), shipped(), "caution")]
        figures = [text.split(";")[0].rpartition(" → ") for text in lines if " → " in text]
        assert figures
        assert not [one for one in figures if one[0].endswith(one[2])]
