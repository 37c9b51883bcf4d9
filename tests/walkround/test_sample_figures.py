"""The figures that the walk-round gives as an example are ones that the check would take."""

from __future__ import annotations

import pytest

from lugwright.readings import derive
from lugwright.rulebase.load import load
from lugwright.rulebase.reading_fields import field_quantities
from lugwright.walkround.asking import sample_of
from lugwright.walkround.parts import EXAMPLES_OF, figures

MEASURED = sorted(name for name, one in load().checks.items() if one.reading)


@pytest.mark.parametrize("name", MEASURED)
def test_the_example_of_a_check_is_a_reading_of_it(name: str) -> None:
    from lugwright.quantities import parse

    check = load().checks[name]
    text = sample_of(check)
    quantities = field_quantities(check)
    typed = {
        key: value if quantities[key] == "word" else parse(value, quantities[key])
        for key, value in figures(text, check.reading).items()
    }
    derive(check.computation, typed, {})  # raises ReadingRefused where no such reading could be
    assert {key for key, one in check.reading.items() if one.needed} <= set(typed)


def test_every_example_of_its_own_belongs_to_a_field() -> None:
    fields = {(one.computation, key) for one in load().checks.values() for key in one.reading}
    assert set(EXAMPLES_OF) <= fields
