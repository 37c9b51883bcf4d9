"""What a reading can be, held against the computations that work readings out."""

from __future__ import annotations

import operator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.quantities import show
from lugwright.readings import ReadingRefused, derive
from lugwright.rulebase.reading_fields import DERIVED, field_quantities
from lugwright.rulebase.schema import Check, ReadingField
from lugwright.rulelint.forms import PAIRS, Wanted, fitting, words_of

OPS = {"lt": operator.lt, "le": operator.le, "gt": operator.gt, "ge": operator.ge}
QUANTITY = {"side-temperature": "temperature"}


def check(computation: str) -> Check:
    names, _ = PAIRS[computation]
    quantity = QUANTITY.get(computation, "length")
    fields = {name: ReadingField(quantity=quantity, means="a number") for name in names}
    fields["band"] = ReadingField(quantity="word", answers=("below", "inside"), means="a word")
    fields["slip"] = ReadingField(quantity="share", means="a share")
    where = "axle" if computation == "toe" else "unit"
    return Check(
        name="A check", because="For a test.", basis={"kind": "judgement"}, where=where, minutes=1, risk="low",
        decides=(), steps=("Measure.",), computation=computation, reading=fields,
    )  # fmt: skip


def worked_out(computation: str, reading: dict[str, float | str]) -> dict[str, float | str]:
    """The reading with what follows from it; nothing where it is refused as no reading."""
    try:
        return dict(derive(computation, reading, {}))
    except ReadingRefused:
        return {}


def passes(reading: dict[str, float | str], tests: list[Wanted]) -> bool:
    for one in tests:
        value = reading.get(one.field)
        if one.op == "is":
            if value != one.value:
                return False
        elif not isinstance(value, float) or not OPS[one.op](value, float(one.value)):
            return False
    return True


@st.composite
def asked(draw: st.DrawFn, computation: str) -> list[Wanted]:
    one = check(computation)
    numbers = [name for name, quantity in field_quantities(one).items() if quantity not in ("word", "share")]
    figures = st.integers(-20, 40).map(float)
    tests = draw(
        st.lists(
            st.builds(Wanted, st.sampled_from(numbers), st.sampled_from(sorted(OPS)), figures), min_size=1, max_size=4
        )
    )
    if computation == "side-clearance" and draw(st.booleans()):
        tests.append(Wanted("tight", "is", draw(st.sampled_from(["inboard", "outboard", "both", "none"]))))
    if draw(st.booleans()):
        tests.append(Wanted("slip", draw(st.sampled_from(sorted(OPS))), draw(st.sampled_from([0.0, 0.1, 0.5, 1.0]))))
    if draw(st.booleans()):
        tests.append(Wanted("band", "is", draw(st.sampled_from(["below", "inside"]))))
    return tests


@pytest.mark.parametrize("computation", sorted(PAIRS))
@settings(max_examples=50, deadline=None)
@given(data=st.data())
def test_a_reading_that_is_said_to_fit_passes_every_test(computation, data):
    tests = data.draw(asked(computation))
    found = fitting(check(computation), tests)
    if found is None:
        return  # the test below is about those
    reading = {name: found.get(name, 0.0) for name in (*PAIRS[computation][0], *found)}
    if computation == "gap" and "largest" not in found:
        reading["smallest"] = 0.0
    # a figure that was rounded for the reader may lie on a limit: it is moved by less than anybody measures
    nudged = [
        {
            name: value
            + (first if name == PAIRS[computation][0][0] else second if name == PAIRS[computation][0][1] else 0)
            if isinstance(value, float)
            else value
            for name, value in reading.items()
        }
        for first in (0.0, 1e-5, -1e-5)
        for second in (0.0, 1e-5, -1e-5)
    ]
    assert any(passes(worked_out(computation, one), tests) for one in nudged)


@pytest.mark.parametrize("computation", sorted(PAIRS))
@settings(max_examples=50, deadline=None)
@given(data=st.data())
def test_where_nothing_is_said_to_fit_no_reading_of_a_grid_does(computation, data):
    tests = [one for one in data.draw(asked(computation)) if one.field not in ("slip", "band")]
    if not tests or fitting(check(computation), tests) is not None:
        return  # the test above is about those
    names = PAIRS[computation][0]
    least = -25 if computation == "side-temperature" else 0
    for first in range(least * 2, 101, 2):
        for second in range(least * 2, 101, 3):
            if computation == "gap" and second > first:
                continue
            try:
                reading = dict(derive(computation, {names[0]: first / 2, names[1]: second / 2}, {}))
            except ReadingRefused:
                continue  # numbers that no case file can bring in
            assert not passes(reading, tests), reading


@pytest.mark.parametrize("computation", sorted(PAIRS))
def test_every_figure_that_is_worked_out_has_its_form(computation):
    _, linear = PAIRS[computation]
    figures = {name for name, quantity in DERIVED[computation].items() if quantity != "word"}
    assert {*linear, "difference"} >= figures


@pytest.mark.parametrize(("computation", "first", "second"), [("side-clearance", 4.0, 14.0), ("toe", 2210.0, 2218.0),
                         ("side-temperature", 61.0, 48.0), ("gap", 12.0, 9.0), ("plain", 41.0, 46.0)])  # fmt: skip
def test_the_linear_forms_are_those_of_the_computations(computation, first, second):
    names, linear = PAIRS[computation]
    reading = derive(computation, {names[0]: first, names[1]: second}, {})
    for name, (a, b) in linear.items():
        assert reading[name] == pytest.approx(a * first + b * second)


def test_a_reading_is_told_with_its_units():
    assert words_of({"inboard": 4.0, "outboard": 14.5}, check("side-clearance")) == "inboard 4 mm, outboard 14.5 mm"
    assert show(0.1, "share") in words_of({"slip": 0.1}, check("plain"))
    assert words_of({}, check("plain")) == "any reading"
