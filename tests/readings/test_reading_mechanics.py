"""Statics, friction, sag, pressure, heat and units of the readings against texts and definitions."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lugwright.quantities import parse, show
from lugwright.readings.alignment import RUN_MM
from lugwright.readings.belt_friction import friction_from_pulls, grip, pull_ratio, slip_margin, tensioner_force
from lugwright.readings.gap import DRIVE_WHEEL_MM
from lugwright.readings.ground_pressure import contact
from lugwright.readings.roading import flex_heat, severity
from lugwright.readings.slip import from_distances
from lugwright.readings.slope_load import on_side_slope, tip_angle
from lugwright.readings.tension import from_catenary, from_push, from_sag
from lugwright.readings.toe import scrub
from lugwright.readings.wear_forecast import cost_per_hour
from lugwright.rulebase.bolts import Bolt, NoSuchBolt, strained


def test_belt_friction_is_that_of_the_statics_text() -> None:
    # source: Beer & Johnston, Vector Mechanics for Engineers: Statics, problem 8.104 (0.329; 2.67 turns)
    friction = friction_from_pulls(5000, 80, 720)
    assert friction == pytest.approx(0.3290660990, abs=1e-9)
    assert math.log(20_000 / 80) / friction / (2 * math.pi) == pytest.approx(2.6704902171, abs=1e-9)
    # source: the same book, sample problem on a flat belt: 600 lb, 0.25, 120 degrees (from memory)
    assert 600 / pull_ratio(0.25, 120) == pytest.approx(355.4, abs=0.1)


def test_a_wet_wheel_slips_first_in_reverse_and_low_tension_makes_it_worse() -> None:
    # source: belt friction equation, worked by hand for 200 and 150 bar on an 80 mm bore
    force = tensioner_force(20_000, 80)
    assert force == pytest.approx(100.5, abs=0.05)
    for friction, forward, reverse in ((0.5, 191.5, 39.8), (0.35, 100.7, 33.5), (0.2, 44.0, 23.5)):
        one = grip(force, friction)
        assert (one.forward, one.reverse) == pytest.approx((forward, reverse), abs=0.15)
        assert one.reverse < one.forward
    low = grip(tensioner_force(15_000, 80), 0.2)
    assert (low.forward, low.reverse) == pytest.approx((33.0, 17.6), abs=0.1)
    assert slip_margin(low.reverse, 39.2)[1] == "outside"


def test_sag_is_the_cable_of_the_statics_text() -> None:
    # source: Beer & Johnston, Statics, suspension bridge: 11.1 kip/ft, 4150 ft, 464 ft -> 51 500 kip (from memory)
    assert from_sag(11.1, 4150, 464) == pytest.approx(51_500, rel=5e-4)
    # source: the same book, sample problem 7.10: 984 and 1284 lb (from memory)
    assert from_catenary(3, 500, 100) == pytest.approx((983.794, 1283.794), abs=1e-3)
    assert from_push(500, 1.6, 0.005) == pytest.approx(40_000)


@pytest.mark.parametrize(
    ("ratio", "error"), [(0.01, -0.000133287), (0.02, -0.000532595), (0.05, -0.003304769), (0.1, -0.012891137)]
)
def test_the_parabola_is_short_of_the_catenary_by_what_it_must_be(ratio: float, error: float) -> None:
    # source: exact catenary solved with scipy
    assert from_sag(1, 1, ratio) / from_catenary(1, 1, ratio)[0] - 1 == pytest.approx(error, abs=1e-8)


@pytest.mark.parametrize(
    ("slope", "share"), [(0, 0.5), (5, 0.543744), (10, 0.588163), (15, 0.633975), (20, 0.681985), (30, 0.788675)]
)
def test_the_downhill_track_carries_what_statics_says(slope: float, share: float) -> None:
    # source: three equations of equilibrium solved with numpy, h/B = 0.5
    assert on_side_slope(1.0, slope, 0.9, 1.8).share == pytest.approx(share, abs=1e-6)


@pytest.mark.parametrize(
    ("factor", "angle"), [(1.0, 45), (1.1, 47.7263109939), (1.25, 51.3401917459), (1.45, 55.4077113125)]
)
def test_the_tip_angle_is_that_of_the_static_stability_factor(factor: float, angle: float) -> None:
    # source: NHTSA rollover resistance rulemaking, chapter V (definition), and statics
    assert tip_angle(1.0, 2 * factor) == pytest.approx(angle, abs=1e-9)


@given(st.floats(1, 40), st.floats(0.5, 1.5), st.floats(1.5, 3))
def test_the_two_tracks_carry_the_weight_together(slope: float, height: float, gauge: float) -> None:
    if slope < tip_angle(height, gauge):
        one = on_side_slope(100.0, slope, height, gauge)
        assert one.downhill + one.uphill == pytest.approx(100 * math.cos(math.radians(slope)))
        assert one.downhill >= one.uphill >= -1e-9


def test_toe_drags_as_geometry_says() -> None:
    # source: trigonometry: 3 mm over 600 mm is 0.286476510277 degrees, a quarter degree slides 4.3633508207 m/km
    assert 2 * scrub(3.0, 600.0).degrees == pytest.approx(0.286476510277, abs=1e-5)
    assert scrub(2 * 1000 * math.tan(math.radians(0.25)), 1000).metres_per_km == pytest.approx(4.3633, abs=1e-3)
    # source: wheel-alignment advice: 0.17 in over (implied) 30 in, 12 000 miles a year, dragged 68 miles
    assert 12_000 * 2 * scrub(0.17, 30).metres_per_km / 1000 == pytest.approx(68, abs=0.1)


def test_contact_pressure_is_that_of_an_eccentric_footing() -> None:
    # source: eccentric footing formulas, integrated numerically: 3600 kg on two contacts of 1.5 x 0.45 m
    assert contact(3600, 1.5, 0.45).mean == pytest.approx(26.1510666667)
    near = contact(3600, 1.5, 0.45, off_centre_m=0.15)
    assert (near.most, near.least) == pytest.approx((41.8417066667, 10.4604266667))
    far = contact(3600, 1.5, 0.45, off_centre_m=-0.40)
    assert (far.most, far.length) == pytest.approx((74.7173333333, 1.05))


@given(st.floats(0, 0.74))
def test_the_pressures_under_a_contact_add_up_to_the_load(off: float) -> None:
    one = contact(3600, 1.5, 0.45, off_centre_m=off)
    assert (one.most + one.least) / 2 * one.length * 0.45 * 2 == pytest.approx(3600 * 9.80665 / 1000)


@pytest.mark.parametrize(
    ("size", "area", "loads"),
    [("M8", 36.6, (21200, 30400, 35500)), ("M10", 58.0, (33700, 48100, 56300)), ("M12", 84.3, (48900, 70000, 81800)),
     ("M16", 157, (91000, 130000, 152000)), ("M20", 245, (147000, 203000, 238000)),
     ("M24", 353, (212000, 293000, 342000))],
)  # fmt: skip
def test_stress_areas_and_proof_loads_are_those_of_the_standard(
    size: str, area: float, loads: tuple[float, ...]
) -> None:
    # source: ISO 898-1, coarse thread (table as reproduced by a fastener supplier; rounded to three figures)
    assert Bolt.read(f"{size}-8.8").area == pytest.approx(area, rel=2.5e-3)
    for klass, load in zip(("8.8", "10.9", "12.9"), loads, strict=True):
        assert Bolt.read(f"{size}-{klass}").proof_load == pytest.approx(load, rel=2.5e-3)


def test_a_torque_is_three_quarters_of_proof_where_the_textbook_says() -> None:
    # source: Shigley's Mechanical Engineering Design, ch. 8, T = K F d (from memory): M12-8.8, K 0.20 -> 88 N·m
    assert Bolt.read("M12-8.8").torque_at(0.75) == pytest.approx(88.02, rel=2.5e-3)
    assert strained(Bolt.read("M20-8.8"), 400).dry == pytest.approx(0.68, abs=0.005)
    for text in ("M20", "M20-8.9", "M21-8.8", "M20x9-8.8", "M20x0-8.8", "20-8.8"):
        with pytest.raises(NoSuchBolt):
            Bolt.read(text)
    assert Bolt.read("M24x2-10.9").area > Bolt.read("M24-10.9").area


def test_the_trade_figures_read_as_they_are_printed() -> None:
    # common practice: each figure as it is quoted in the trade
    assert show(300, "torque", "both") == "300 N·m (221 lbf·ft)"
    assert show(130, "torque", "both") == "130 N·m (96 lbf·ft)"  # often printed as 95
    assert show(128, "torque", "both") == "128 N·m (94 lbf·ft)"
    assert parse("45 m", "length") == RUN_MM
    assert parse("150 ft", "length") == pytest.approx(45_720)
    assert tuple(show(one, "length", "inch") for one in DRIVE_WHEEL_MM) == ("3/32 in", "5/32 in")
    assert parse("15 °F", "temperature-difference") == pytest.approx(8.33, abs=0.005)  # never shifted by 32


def test_unit_factors_are_those_of_the_guide() -> None:
    # source: NIST SP 811 (2008), appendix B.8
    assert parse("1 lbf ft", "torque") == pytest.approx(1.355818, rel=5e-7)
    assert parse("1 psi", "pressure") == pytest.approx(6.894757, rel=5e-7)
    assert parse("1 lb", "mass") == pytest.approx(0.4535924, rel=5e-7)


def test_slip_severity_and_cost_come_out_as_worked_by_hand() -> None:
    assert from_distances(59.8, 62.0) == pytest.approx(0.0355, abs=1e-4)
    assert severity(400, 60, 10, 25, (10, 10)).equivalent == (1000, 1000)
    assert flex_heat(1.2, 1.25) == pytest.approx(1.8)
    assert cost_per_hour(24_000, 39, 39 / 3000) == pytest.approx(8.0)
