"""Figures side by side show their change; what context said about a cause is there, and what is left out is said."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from report_answers import crowded, example, small

from lugwright.diagnosis import RankedCause, StepShown, Without
from lugwright.report.chosen import MOST_SIGNS, chosen
from lugwright.report.context import moved_by
from lugwright.report.figures import arrow, moved
from lugwright.report.graph import reasoning_graph
from lugwright.report.graph_collapsed import collapsed_graph
from lugwright.report.lines import laid_out
from lugwright.report.page.blocks import Table
from lugwright.report.page.html import page_html
from lugwright.report.page.markdown import page_markdown
from lugwright.report.page.sections import sections
from lugwright.report.text import diagnosis_lines
from lugwright.report.trace_text import trace_lines
from lugwright.rulebase.words import LESS_LIKELY

shares = st.floats(0, 1)


@given(one=shares, other=shares)
def test_a_visible_change_never_reads_as_none(one: float, other: float) -> None:
    before, after = moved(one, other)
    assert before not in ("0 %", "100 %")
    if abs(one - other) >= 4e-5:
        assert before.strip("<> %") != after.strip("<> %")


@given(one=shares, other=shares)
def test_two_figures_have_the_same_number_of_digits(one: float, other: float) -> None:
    digits = {len(text.strip("<> %").partition(".")[2]) for text in moved(one, other)}
    assert len(digits) == 1


@pytest.mark.parametrize("name", ["one-unit-off-line", "signs-only", "side-hill-look-alike"])
def test_no_row_of_a_page_says_that_a_figure_stays_as_it_is(name: str) -> None:
    rows = [
        row for part in sections(example(name)) for one in part.blocks if isinstance(one, Table) for row in one.rows
    ]
    arrows = [cell.split(": ")[-1].split(" → ") for row in rows for cell in row if " → " in cell]
    assert arrows
    assert [pair for pair in arrows if pair[0] == pair[1]] == []


def test_a_check_that_moves_something_unlikely_shows_how_far() -> None:
    check = small().next_checks[0]
    outcome = check.outcomes[0].model_copy(update={"moves_from": 0.001, "moves_to": 0.004})
    answer = small().model_copy(update={"next_checks": (check.model_copy(update={"outcomes": (outcome,)}),)})
    assert "0.1 % → 0.4 %" in page_html(answer)


def with_many(count: int) -> RankedCause:
    rows = tuple(
        Without(finding=f"s{at}@left", words=f"Sign {at}", speaks="for", probability=round(0.9 - at / 100, 4))
        for at in range(count)
    )
    return small().ranked[0].model_copy(update={"without": rows})


def test_the_heaviest_findings_are_listed_and_the_rest_are_counted() -> None:
    answer = small().model_copy(update={"ranked": (with_many(40), with_many(40).model_copy(update={"cause": "b"}))})
    said = page_markdown(answer)
    assert "24 further findings change it less than any of these." in said
    assert "32 further findings change it less than any of these." in said
    assert "Sign 39 " in said
    assert "Sign 24 " in said
    assert "Sign 23 " not in said


def test_a_cause_that_no_single_finding_moves_is_carried_by_several() -> None:
    answer = small().model_copy(update={"ranked": (small().ranked[0].model_copy(update={"without": ()}),)})
    assert "several carry it together" in page_markdown(answer)
    unlikely = answer.ranked[0].model_copy(update={"probability": 0.2})
    assert "several carry it together" not in page_markdown(answer.model_copy(update={"ranked": (unlikely,)}))


def shifted(text: str, rule: str = "run-in") -> StepShown:
    return StepShown(
        number=9,
        rule=rule,
        file="rules/chaining/c.yaml",
        line=4,
        used=("context hours 940",),
        absent=(),
        concluded=(text,),
        name="The belts are run in",
    )


@pytest.mark.parametrize(
    ("text", "speaks"),
    [
        ("shift much-less-likely crooked-unit", "against"),
        ("shift nearly-ruled-out crooked-unit@front-right", "against"),
        ("shift likelier crooked-unit@front-right/inboard", "for"),
        ("shift likelier crooked-unit@rear-left", ""),
        ("shift likelier another-cause", ""),
        ("shift", ""),
        ("shift likelier crooked-unit@nowhere", ""),
    ],
)
def test_context_that_moved_a_cause_is_told_for_and_against(text: str, speaks: str) -> None:
    answer = small().model_copy(update={"steps": (shifted(text),)})
    assert [one.speaks for one in moved_by(answer, answer.ranked[0])] == ([speaks] if speaks else [])
    page = page_markdown(answer)
    assert ("Context for it:" in page, "Context against it:" in page) == (speaks == "for", speaks == "against")
    terminal = " ".join(" ".join(row for row, _ in laid_out(diagnosis_lines(answer), 100)).split())
    assert ("The belts are run in, from context hours 940" in terminal) == (speaks == "against")


def test_the_words_that_speak_against_are_those_of_the_scale() -> None:
    from report_answers import shipped

    assert {word for word, factor in shipped().scales.shifts.items() if factor < 1} == set(LESS_LIKELY)


def test_a_view_that_leaves_signs_out_says_how_many() -> None:
    answer = crowded()
    drawn = chosen(answer)
    every = {edge.finding for edge in answer.edges}
    assert (drawn.signs_left, drawn.causes_left) == (len(every) - MOST_SIGNS, 1)
    said = f"{drawn.signs_left} signs that weigh less, 1 cause that is less likely"
    text = " ".join(" ".join(row for row, _ in laid_out(trace_lines(answer), 100)).split())
    assert said in text
    assert said in reasoning_graph(answer).source
    assert said in page_html(answer)
    assert "left out: 1 cause that is less likely" in collapsed_graph(answer).source
    assert "left out" not in reasoning_graph(small((answer.findings[0],)), "crooked-unit").source


def test_a_figure_and_its_unit_stay_on_one_line() -> None:
    page = page_html(small())
    prose = "".join(re.findall(r"<(?:p|li|dd)\b[^>]*>(.*?)</(?:p|li|dd)>", page))
    assert re.search(r"\d&nbsp;%", prose)
    assert not re.search(r"\d (?:%|mm|h)(?!\w)", re.sub(r"<[^>]*>", "", prose))


def test_an_arrow_shows_both_figures() -> None:
    assert arrow(0.05, 0.046) == "5.0 % → 4.6 %"
