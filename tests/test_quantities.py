"""Quantities: every unit against an independent library and published factors; what is refused, and how."""

from __future__ import annotations

import math
import subprocess
import sys

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lugwright.quantities import (
    BareNumberError,
    NotANumberError,
    OutOfRangeError,
    Quantity,
    QuantityError,
    WrongUnitError,
    kinds_of,
    parse,
    show,
)  # fmt: skip
from lugwright.units import KINDS

UREG = pint.UnitRegistry()

#: Our spelling -> the oracle's name of the unit, and of our base unit.
ORACLE: dict[str, tuple[str, dict[str, str]]] = {
    "length": ("mm", {
        "mm": "mm", "millimetres": "mm", "cm": "cm", "m": "m", "metre": "m", "in": "inch", '"': "inch",
        "inches": "inch", "ft": "foot", "'": "foot", "feet": "foot",
        "µm": "micrometer", "um": "micrometer", "thou": "thou",
    }),
    "distance": ("km", {"km": "km", "m": "m", "mi": "mile", "miles": "mile", "ft": "foot"}),
    "pressure": ("kPa", {
        "kPa": "kPa", "bar": "bar", "psi": "psi", "MPa": "MPa", "N/mm²": "N/mm**2", "kgf/cm2": "kgf/cm**2",
        "kg/cm2": "kgf/cm**2", "lbf/in2": "lbf/inch**2",
    }),
    "torque": ("N*m", {
        "N·m": "N*m", "Nm": "N*m", "N m": "N*m", "N.m": "N*m", "lbf·ft": "lbf*foot", "lbf ft": "lbf*foot",
        "ft lb": "lbf*foot", "ft-lb": "lbf*foot", "ft·lbf": "lbf*foot", "lb ft": "lbf*foot", "lbf·in": "lbf*inch",
        "in lb": "lbf*inch", "kgf m": "kgf*m", "kg·m": "kgf*m",
    }),
    "hours": ("hour", {"h": "hour", "hours": "hour", "min": "minute"}),
    "mass": ("kg", {
        "kg": "kg", "t": "metric_ton", "tonnes": "metric_ton", "lb": "pound", "lbs": "pound", "short ton": "short_ton",
        "long tons": "long_ton", "stone": "stone",
    }),
    "speed": ("km/h", {"km/h": "km/hour", "kph": "km/hour", "mph": "mile/hour", "m/s": "m/s"}),
    "temperature": ("degC", {
        "°C": "degC", "C": "degC", "deg C": "degC", "°F": "degF", "F": "degF", "fahrenheit": "degF",
    }),
    "temperature-difference": ("delta_degC", {
        "K": "delta_degC", "°C": "delta_degC", "C": "delta_degC", "°F": "delta_degF", "F": "delta_degF",
    }),
    "angle": ("degree", {"deg": "degree", "°": "degree", "degrees": "degree", "turn": "turn", "rev": "turn"}),
}  # fmt: skip
EVERY_UNIT = [(kind, ours, theirs) for kind, (_, units) in ORACLE.items() for ours, theirs in units.items()]


@pytest.mark.outside
@pytest.mark.parametrize(("kind", "ours", "theirs"), EVERY_UNIT)
def test_every_unit_agrees_with_an_independent_library(kind: str, ours: str, theirs: str) -> None:
    # source: pint
    base = ORACLE[kind][0]
    for number in (1, 3.5, 68):
        expected = UREG.Quantity(number, theirs).to(base).magnitude
        assert parse(f"{number} {ours}", kind) == pytest.approx(expected, rel=1e-12)


def test_no_unit_is_left_out_of_the_comparison() -> None:
    def factor(kind: str, spelling: str) -> float:
        return KINDS[kind].units[spelling](100.0)

    for kind, (_, units) in ORACLE.items():
        compared = {parse(f"100 {ours}", kind) for ours in units}
        own = {float(f"{factor(kind, spelling):.13g}") for spelling in KINDS[kind].units if "%" not in spelling}
        own -= {float(f"{factor(kind, 'percent'):.13g}")} if kind == "angle" else set()
        assert own == compared, kind
    assert set(KINDS) - set(ORACLE) == {"share", "years", "count"}


@pytest.mark.outside
@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("1 lbf ft", "torque", 1.355818),
        ("1 lbf in", "torque", 0.1129848),
        ("1 psi", "pressure", 6.894757),
        ("1 lb", "mass", 0.4535924),
    ],
)
def test_rounded_factors_as_published(text: str, kind: str, expected: float) -> None:
    # source: NIST SP 811 (2008), appendix B.8
    assert parse(text, kind) == pytest.approx(expected, rel=5e-7)


@pytest.mark.outside
@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("1 in", "length", 25.4),
        ("1 ft", "length", 304.8),
        ("1 mph", "speed", 0.44704 * 3.6),
        ("1 kgf m", "torque", 9.80665),
        ("1 kgf/cm2", "pressure", 98.0665),
        ("1 bar", "pressure", 100.0),
        ("1 thou", "length", 0.0254),
        ("212 °F", "temperature", 100.0),
        ("32 °F", "temperature", 0.0),
    ],
)
def test_exact_factors_as_published(text: str, kind: str, expected: float) -> None:
    # source: NIST SP 811 (2008), appendix B (exact factors)
    assert parse(text, kind) == pytest.approx(expected, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("150 ft", "length", 45_720.0),
        ("3/32 in", "length", 2.38125),
        ("5/32 in", "length", 3.96875),
        ("300 N·m", "torque", 300.0),
        ("221 lbf·ft", "torque", 299.636),
        ("96 lbf·ft", "torque", 130.159),
        ("94 lbf·ft", "torque", 127.447),
    ],
)
def test_figures_in_common_use(text: str, kind: str, expected: float) -> None:
    # common practice: 150 ft run, 2.5 to 4 mm scraper gap, 300/130/128 N·m adjuster and lock torques
    assert parse(text, kind) == pytest.approx(expected, abs=5e-4)


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("1 1/4 in", "length", 31.75),
        ("1-1/4 in.", "length", 31.75),
        ("1½ in", "length", 38.1),
        ("¼″", "length", 6.35),
        ("5'", "length", 1524.0),
        ("5' 3 1/2\"", "length", 1612.9),
        ("5 ft 3 in", "length", 1600.2),
        ("-5 ft 3 in", "length", -1600.2),
        (".5 mm", "length", 0.5),
        ("+6mm", "length", 6.0),
        ("  6\u00a0mm ", "length", 6.0),
        ("6\u202fmm", "length", 6.0),
        ("\u22123 mm", "length", -3.0),
        ("\u20135 °C", "temperature", -5.0),
        ("68 ℃", "temperature", 68.0),
        ("13 K", "temperature-difference", 13.0),
        ("18 °F", "temperature-difference", 10.0),
        ("1/2 turn", "angle", 180.0),
        ("1 1/2 turns", "angle", 540.0),
        ("100 %", "angle", 45.0),
        ("20 % slope", "angle", math.degrees(math.atan(0.2))),
        ("15%", "share", 0.15),
        ("15 per cent", "share", 0.15),
        ("18 months", "years", 1.5),
        ("3 years", "years", 3.0),
        ("90 min", "hours", 1.5),
        ("1860 h", "hours", 1860.0),
        ("7", "count", 7.0),
    ],
)
def test_ways_people_write_the_same_thing(text: str, kind: str, expected: float) -> None:
    assert parse(text, kind) == pytest.approx(expected, rel=1e-12)


def test_a_difference_of_temperatures_is_never_shifted() -> None:
    assert parse("0 °F", "temperature-difference") == 0
    assert parse("0 °F", "temperature") == pytest.approx(-17.7777777778)


def test_a_limit_written_in_another_unit_stays_equal() -> None:
    assert parse("1.1 cm", "length") == parse("11 mm", "length") == 11
    assert parse("0.3 m", "length") == 300


WRITE_LENGTH = "write mm, cm, m, in or ft, for example 6 mm or 1/4 in"


@pytest.mark.parametrize(
    ("text", "kind", "error", "message", "hint"),
    [
        ("6", "length", BareNumberError, "'6' has no unit; a length is needed here", WRITE_LENGTH),
        ("0.15", "share", BareNumberError, "'0.15' has no unit; a share is needed here", "write %, for example 15 %"),
        ("6 bar", "length", WrongUnitError, "'6 bar' is a pressure; a length is needed here", WRITE_LENGTH),
        ("6 mm", "torque", WrongUnitError, "'6 mm' is a length; a torque is needed here",
         "write N·m, lbf·ft or lbf·in, for example 130 N·m"),
        ("13 K", "temperature", WrongUnitError, "'13 K' is a temperature difference; a temperature is needed here",
         "write °C or °F, for example 68 °C"),
        ("3 furlong", "length", WrongUnitError, "'furlong' in '3 furlong' is not a known unit; a length is needed here",
         WRITE_LENGTH),
        ("20 ton", "mass", WrongUnitError, "'ton' in '20 ton' is not clear",
         "a ton may be 907, 1000 or 1016 kg; write t for the metric ton, or short ton, or long ton"),
        ("2,5 mm", "length", NotANumberError, "the comma in '2,5 mm' can be read in two ways",
         "use a point for decimals and nothing between thousands: 2.5 or 2500"),
        ("2 212 mm", "length", NotANumberError, "'2 212 mm' is not one plain number",
         "write all digits together, for example 2212 mm"),
        ("1e3 mm", "length", NotANumberError, "'1e3 mm' is not one plain number",
         "write all digits together, for example 2212 mm"),
        ("5-8 mm", "length", NotANumberError, "'5-8 mm' is a range; one number is needed here",
         "write the reading itself, or the worst of several"),
        ("5 to 8 mm", "length", NotANumberError, "'5 to 8 mm' is a range; one number is needed here",
         "write the reading itself, or the worst of several"),
        ("about 5 mm", "length", NotANumberError, "'about 5 mm' does not begin with a number; a length is needed here",
         WRITE_LENGTH),
        ("nan mm", "length", NotANumberError, "'nan mm' does not begin with a number; a length is needed here",
         WRITE_LENGTH),
        ("inf", "length", NotANumberError, "'inf' does not begin with a number; a length is needed here", WRITE_LENGTH),
        ("", "length", NotANumberError, "nothing is written; a length is needed here", WRITE_LENGTH),
        ("1/0 in", "length", NotANumberError, "'1/0 in' divides by zero", WRITE_LENGTH),
        ("1 5/4 in", "length", NotANumberError, "'1 5/4 in' is not one plain number",
         "write a mixed fraction like 1 1/4 in"),
        ("5 ft 3", "length", WrongUnitError, "'5 ft 3' has feet and then no inches; a length is needed here",
         "write for example 5 ft 3 in"),
        ("٦ mm", "length", NotANumberError, "'٦ mm' holds digits that are not 0 to 9", WRITE_LENGTH),
        ("-3 h", "hours", OutOfRangeError, "'-3 h' is out of range: a time in hours cannot be below 0 h",
         "look for a slipped digit or a wrong unit"),
        ("115 %", "share", OutOfRangeError, "'115 %' is out of range: a share lies between 0 and 100 %",
         "look for a slipped digit or a wrong unit"),
        ("99999999999 mm", "length", OutOfRangeError,
         "'99999999999 mm' is out of range: a length cannot be above 1000000 mm",
         "look for a slipped digit or a wrong unit"),
        ("9" * 190 + " mm", "length", OutOfRangeError,
         f"'{'9' * 37}...' is out of range: a length cannot be above 1000000 mm",
         "look for a slipped digit or a wrong unit"),
        ("2.5", "count", OutOfRangeError, "'2.5' is not a whole number; a count is needed here",
         "write no unit, only a whole number, for example 3"),
    ],
)  # fmt: skip
def test_what_is_refused_is_refused_in_plain_words(
    text: str, kind: str, error: type[QuantityError], message: str, hint: str
) -> None:
    with pytest.raises(error) as caught:
        parse(text, kind)
    assert str(caught.value) == message
    assert caught.value.hint == hint
    assert isinstance(caught.value, ValueError)


@given(st.text(max_size=300), st.sampled_from(sorted(KINDS)))
def test_any_text_is_a_quantity_or_a_plain_refusal(text: str, kind: str) -> None:
    try:
        value = parse(text, kind)
    except QuantityError as error:
        value, refusal = KINDS[kind].least, (str(error), error.hint)
        assert all(refusal)
    assert KINDS[kind].least <= value <= KINDS[kind].most


#: Kind -> numbers it is shown for, and how far printing may round in metric and in inch form.
SHOWN = {
    "length": (-9000.0, 9000.0, 0.05, 25.4 / 64),
    "torque": (0.0, 900.0, 0.05, 0.7),
    "pressure": (0.0, 40_000.0, 50.0, 3.5),
    "temperature": (-40.0, 150.0, 0.05, 0.3),
    "temperature-difference": (-80.0, 80.0, 0.05, 0.3),
    "mass": (0.0, 9000.0, 0.05, 0.25),
    "speed": (0.0, 60.0, 0.05, 0.9),
    "distance": (0.0, 90.0, 0.05, 0.9),
    "share": (0.0, 1.0, 0.0005, 0.0005),
    "hours": (0.0, 9000.0, 0.05, 0.05),
    "years": (0.0, 40.0, 0.05, 0.05),
    "angle": (-720.0, 720.0, 0.05, 0.05),
}


@given(st.sampled_from(sorted(SHOWN)), st.floats(0, 1), st.sampled_from(["metric", "inch"]))
def test_what_is_shown_reads_back(kind: str, along: float, system: str) -> None:
    low, high, metric, inch = SHOWN[kind]
    value = low + along * (high - low)
    text = show(value, kind, system)  # type: ignore[arg-type]
    assert parse(text, kind) == pytest.approx(value, abs=(metric if system == "metric" else inch) * (1 + 1e-9))


@given(st.integers(0, 40), st.sampled_from([2, 4, 8, 16, 32]), st.data())
def test_workshop_fractions_come_back_as_written(whole: int, bottom: int, data: st.DataObject) -> None:
    top = data.draw(st.integers(0, bottom - 1).filter(lambda n: n == 0 or math.gcd(n, bottom) == 1))
    parts = [str(whole)] * bool(whole) + [f"{top}/{bottom}"] * bool(top)
    if parts:
        text = " ".join(parts) + " in"
        assert show(parse(text, "length"), "length", "inch") == text


@pytest.mark.parametrize(
    ("value", "kind", "system", "text"),
    [
        (6, "length", "both", "6 mm (1/4 in)"),
        (2.5, "length", "both", "2.5 mm (3/32 in)"),
        (2212, "length", "both", "2212 mm (87 3/32 in)"),
        (45_000, "length", "both", "45 m (148 ft)"),
        (0, "length", "inch", "0 in"),
        (0.1, "length", "inch", "0.004 in"),
        (-6, "length", "both", "-6 mm (-1/4 in)"),
        (128, "torque", "both", "128 N·m (94 lbf·ft)"),
        (130, "torque", "inch", "96 lbf·ft"),
        (12_000, "pressure", "both", "120 bar (1740 psi)"),
        (35, "pressure", "both", "35 kPa (5.08 psi)"),
        (68, "temperature", "both", "68 °C (154 °F)"),
        (5, "temperature-difference", "both", "5 K (9 °F)"),
        (19_800, "mass", "both", "19800 kg (43652 lb)"),
        (25, "speed", "both", "25 km/h (16 mph)"),
        (0.155, "share", "both", "15.5 %"),
        (180, "angle", "inch", "180°"),
        (1860, "hours", "both", "1860 h"),
        (3, "count", "both", "3"),
    ],
)
def test_how_a_value_is_printed(value: float, kind: str, system: str, text: str) -> None:
    assert show(value, kind, system) == text  # type: ignore[arg-type]


def test_the_kind_of_a_text_can_be_asked() -> None:
    assert kinds_of("12 °C") == ("temperature", "temperature-difference")
    assert kinds_of("45 m") == ("length", "distance")
    assert kinds_of("6") == ("count",)


def test_a_quantity_keeps_its_text() -> None:
    read = Quantity.read("1/4 in", "length")
    assert (read.value, read.quantity, read.text) == (6.35, "length", "1/4 in")


def test_reading_a_quantity_loads_nothing_heavy() -> None:
    heavy = "{'numpy', 'pint', 'pydantic', 'yaml', 'lugwright.rulebase'}"
    code = f"import sys, lugwright.quantities; print(sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
