"""Slope, road, grip, ground pressure, sag and lug height, from the case file to what the rules draw."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lugwright.casefile.load import case_from_text
from lugwright.casefile.record import CaseRecord
from lugwright.diagnosis import Diagnosis
from lugwright.issues import UnusableInput
from lugwright.readings import ReadingRefused, derive
from lugwright.rulebase.load import load
from lugwright.rulecases.bench import Bench
from lugwright.triage import triage

RULEBASE = load()
BENCH = Bench(RULEBASE)
HEAD = "case: one\nmachine: {name: a, layout: two-track, drive: friction, sheet: demo-two-track}\nmeasured:\n"
SLOPE = "{check: side-slope, gauge: 2.2 m, height: 1.1 m, uphill: left, slope: "
ROAD = "{check: road-run, distance: 40 km, air: 20 °C, speed: "
GRIP = "{check: belt-grip, unit: left, bore: 80 mm, mass: 8 t, film: dry, pressure: "
PRINT = "{check: ground-pressure, unit: left, length: 2.5 m, width: 630 mm, limit: 0.6 bar, mass: "
SAG = "{check: sag-tension, unit: left, span: 1.6 m, bore: 80 mm, metre-mass: 110 kg, sag: "
LUG = "{check: lug-size, unit: left, width-new: 90 mm, width-now: 89 mm, height-new: 70 mm, height-now: "
NOTHING = "{check: ground-slip, slip: 8 %}"  # neither high nor in order


def case_of(readings: Sequence[str]) -> CaseRecord:
    return case_from_text(HEAD + "".join(f"  - {one}\n" for one in readings), "one.yaml", RULEBASE)


def answer(*readings: str) -> Diagnosis:
    return triage(case_of(readings), RULEBASE)


def likely(cause: str, place: str, *readings: str) -> float:
    found = BENCH.answer(case_of(readings)).likely
    return next(figure for (one, at), figure in found.items() if (one, at.key) == (cause, place))


@pytest.mark.parametrize(
    ("reading", "more", "close", "less", "cause", "place"),
    [
        (SLOPE, "9 deg}", "5.7 deg}", "3 deg}", "side-hill-one-side", "left-hand"),
        (ROAD, "32 km/h}", "25 km/h}", "15 km/h}", "roading-heat", "machine"),
        (GRIP, "100 bar}", "158 bar}", "220 bar}", "tension-low", "left"),
        (PRINT, "11 t}", "9.6 t}", "8 t}", "overload-total", "machine"),
    ],
)  # fmt: skip
def test_a_load_shifts_its_cause_when_clear_and_leaves_it_when_too_close(
    reading: str, more: str, close: str, less: str, cause: str, place: str
) -> None:
    states = {text: derive_state(reading + text) for text in (more, close, less)}
    assert states == {more: "outside", close: "too-close", less: "inside"}
    before = likely(cause, place, NOTHING)
    assert likely(cause, place, reading + more) > before
    assert likely(cause, place, reading + close) == pytest.approx(before)
    assert likely(cause, place, reading + less) < before


def derive_state(reading: str) -> str:
    (shown,) = answer(reading).readings
    return shown.means.rpartition("state ")[2]


def test_a_steep_slope_points_at_the_uphill_hand_only() -> None:
    for uphill, other in (("left", "right"), ("right", "left")):
        steep = SLOPE.replace("uphill: left", f"uphill: {uphill}") + "9 deg}"
        assert likely("side-hill-one-side", f"{uphill}-hand", steep) > likely(
            "side-hill-one-side", f"{other}-hand", steep
        )
    changing = SLOPE.replace("uphill: left", "uphill: changing") + "9 deg}"
    assert likely("side-hill-one-side", "left-hand", changing) == pytest.approx(
        likely("side-hill-one-side", "right-hand", changing)
    )


def test_only_a_very_slack_run_is_a_sign_of_low_tension() -> None:
    # common practice: stiffness shifts a tension from sag by half; band of the sheet 190 to 210 bar, low from 171
    for sag, seen in (("12.5 mm}", True), ("11.5 mm}", False), ("2 mm}", False)):
        found = answer(SAG + sag)
        assert any(one.symptom == "tension-below-band" and one.state == "seen" for one in found.findings) == seen
        assert not any(one.symptom == "tension-above-band" and one.state == "seen" for one in found.findings)


def test_pressure_over_the_limit_counts_once_and_goes_before_a_light_unit() -> None:
    left, other = PRINT + "11 t}", PRINT.replace("left", "right")
    one = likely("overload-total", "machine", left)
    assert likely("overload-total", "machine", left, other + "11 t}") == pytest.approx(one)
    assert likely("overload-total", "machine", left, other + "8 t}") == pytest.approx(one)


def test_a_weighed_plate_goes_before_the_print_and_a_read_band_before_the_grip() -> None:
    plate = "{check: weighing, front: 11 t, rear: 9 t, plate: 22 t}"
    assert likely("overload-total", "machine", plate, PRINT + "11 t}") == pytest.approx(
        likely("overload-total", "machine", plate)
    )
    band = "{check: tension, unit: left, band: inside}"
    assert likely("tension-low", "left", band, GRIP + "100 bar}") == pytest.approx(likely("tension-low", "left", band))


def test_mud_on_the_wheel_says_nothing_of_the_tension() -> None:
    mud = likely("tension-low", "left", GRIP.replace("dry", "mud") + "100 bar}")
    assert mud == pytest.approx(likely("tension-low", "left", NOTHING))


def test_lost_lug_height_raises_what_lifts_and_slackens_a_belt() -> None:
    for cause in ("tension-low", "debris-packing"):
        full, close, worn = (likely(cause, "left", LUG + text) for text in ("69 mm}", "64 mm}", "60 mm}"))
        assert worn > full == pytest.approx(close)


REFUSED = [
    (SLOPE + "60 deg}", "0 and 45 degrees"),
    (SLOPE.replace("1.1 m", "2.9 m").replace("2.2 m", "0.9 m") + "30 deg}", "would have tipped"),
    (SLOPE.replace("2.2 m", "2.2 mm") + "8 deg}", "slipped digit or a wrong unit"),
    (ROAD + "300 km/h}", "between 1 and 80 km/h"),
    (ROAD + "25 km/h, time: 3 h}", "km/h is written"),
    (ROAD + "25 km/h, load: 9 t}", "write both"),
    (ROAD + "25 km/h, load: 90 kg, rated: 9 t}", "slipped digit"),
    (ROAD.replace(", speed: ", "}"), "neither a speed nor a time"),
    (ROAD.replace(", speed: ", ", time: 2 min}"), "no road speed"),
    (ROAD.replace("20 °C", "60 °C") + "25 km/h}", "slipped digit"),
    (GRIP + "20000 bar}", "kPa"),
    (GRIP.replace("80 mm", "80 cm") + "200 bar}", "bore"),
    (GRIP + "200 bar, wrap: 2 turn}", "60 and 270 degrees"),
    (PRINT + "900 t}", "the mass on one unit"),
    (PRINT + "9 t, off-middle: 1.3 m}", "stands within"),
    (PRINT.replace("0.6 bar", "60 bar") + "9 t}", "limit of ground pressure"),
    (SAG + "200 mm}", "more than a tenth"),
    (SAG.replace("110 kg", "1100 kg") + "10 mm}", "one metre of belt"),
    (LUG + "75 mm}", "does not grow"),
    (LUG.replace(", height-now: ", "}"), "only one of the two heights"),
    (SLOPE + "8 mm}", "a length; an angle is needed"),
    (ROAD + "25}", "has no unit"),
]  # fmt: skip


@pytest.mark.parametrize(("reading", "says"), REFUSED)
def test_figures_of_a_load_that_cannot_be_are_refused(reading: str, says: str) -> None:
    with pytest.raises(UnusableInput) as caught:
        answer(reading)
    assert says in str(caught.value)


def test_a_sheet_gives_the_road_speed_and_the_limit_of_ground_pressure() -> None:
    run: dict[str, float | str] = {"distance": 40.0, "speed": 25.0, "air": 20.0}
    assert derive("road-run", run, {"roading-speed": 40.0})["state"] == "inside"
    assert derive("road-run", run, {"roading-speed": 15.0})["state"] == "outside"
    feet: dict[str, float | str] = {"mass": 10_000.0, "length": 2500.0, "width": 630.0}
    assert "state" not in derive("ground-pressure", feet, {})
    assert derive("ground-pressure", feet, {"ground-pressure-limit": 50.0})["state"] == "outside"
    sag: dict[str, float | str] = {"span": 1600.0, "sag": 10.0, "bore": 80.0, "metre-mass": 110.0}
    with pytest.raises(ReadingRefused, match="upside down"):
        derive("sag-tension", sag, {"tension-low": 2.0, "tension-high": 1.0})


@given(st.floats(1, 25), st.floats(900, 5000), st.floats(300, 1200))
def test_the_downhill_side_carries_what_moments_about_the_uphill_track_say(
    slope: float, gauge: float, height: float
) -> None:
    # statics: moments of the weight about the uphill track, over the gauge, as a share of the normal load
    if math.tan(math.radians(slope)) >= 0.95 * gauge / (2 * height):
        return
    found = derive("side-slope", {"slope": slope, "gauge": gauge, "height": height, "uphill": "left"}, {})
    lean = math.radians(slope)
    downhill = (math.cos(lean) * gauge / 2 + math.sin(lean) * height) / gauge
    assert found["downhill-share"] == pytest.approx(downhill / math.cos(lean))
