"""The arithmetic behind the readings against certified and published values, and against scipy."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lugwright.readings.student import normal_quantile, t_quantile, t_two_sided
from lugwright.readings.wear_fit import grubbs, least_squares, theil_sen
from lugwright.readings.wear_forecast import forecast, two_point_life
from lugwright.readings.welch import compare, mean_and_spread, welch

# source: NIST Statistical Reference Datasets, Norris (y, x)
NORRIS = [
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5), (668.5, 666.3),
    (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4), (0.1, 0.6), (778.1, 775.5),
    (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6), (557.7, 556.0), (228.3, 228.1), (998.0, 995.8),
    (888.8, 887.6), (119.6, 120.2), (0.3, 0.3), (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2),
    (998.5, 999.0), (778.9, 779.0), (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9),
    (0.2, 0.5),
]  # fmt: skip
SLEEP = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0], [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]
SEN = [1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78]
URANIUM = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]


def test_the_line_of_norris_is_the_certified_one() -> None:
    # source: NIST StRD, Norris, certified values
    line = least_squares([x for _, x in NORRIS], [y for y, _ in NORRIS])
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-10)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert line.intercept_error == pytest.approx(0.232818234301152, rel=1e-10)
    assert line.slope_error == pytest.approx(0.000429796848199937, rel=1e-10)
    assert line.residual_sd == pytest.approx(0.884796396144373, rel=1e-10)
    assert line.r_squared == pytest.approx(0.999993745883712, rel=1e-12)


def test_the_prediction_interval_of_norris_is_that_of_a_library() -> None:
    # source: statsmodels 0.15.0 on the certified data, x = 500
    line = least_squares([x for _, x in NORRIS], [y for y, _ in NORRIS])
    assert line.at(500) == pytest.approx(500.796085936, abs=1e-7)
    assert line.interval(500) == pytest.approx((498.971794054, 502.620377819), abs=1e-7)
    assert line.interval(500, new_reading=False) == pytest.approx((500.488196472, 501.103975401), abs=1e-7)


def test_the_two_pass_spread_keeps_its_digits() -> None:
    # source: NIST StRD, NumAcc4, certified mean 10000000.2 and standard deviation 0.1
    mean, spread = mean_and_spread([10000000.2, *[10000000.1, 10000000.3] * 500])
    assert mean == pytest.approx(10000000.2, rel=1e-14)
    assert spread == pytest.approx(0.1, rel=1e-7)


def test_the_mean_and_spread_of_the_uncertainty_guide() -> None:
    # source: JCGM 100:2008, clause 4.4.3, Table 1 (from memory)
    values = [96.9, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42, 100.68, 100.95,
              101.11, 101.2, 101.57, 101.84, 102.36, 102.72]  # fmt: skip
    mean, spread = mean_and_spread(values)
    assert (mean, spread, spread / math.sqrt(20)) == pytest.approx((100.145, 1.489, 0.333), abs=6e-4)


def test_welch_from_means_is_that_of_the_handbook() -> None:
    # source: NIST/SEMATECH e-Handbook, section 1.3.5.3 (AUTO83B)
    one = welch(20.14458, 6.414700, 249, 30.48101, 6.107710, 79)
    assert one.t == pytest.approx(-12.94627, rel=1e-5)
    assert one.freedom == pytest.approx(136.875, rel=1e-4)
    assert one.p == pytest.approx(1.571e-25, rel=1e-3)


@pytest.mark.parametrize("scale", [1e-160, 1e-120, 1.0, 1e120])
def test_welch_does_not_depend_on_the_unit(scale: float) -> None:
    """Law: freedom and statistic have no unit, however small or large the numbers are written."""
    one, other = welch(41.0, 1.2, 8, 45.0, 1.0, 8), welch(41.0 * scale, 1.2 * scale, 8, 45.0 * scale, 1.0 * scale, 8)
    assert other.freedom == pytest.approx(one.freedom, rel=1e-9)
    assert other.t == pytest.approx(one.t, rel=1e-9)


def test_welch_on_the_sleep_data() -> None:
    # source: Student, Biometrika 6, 1908; R documentation of t.test (t, df, p, interval)
    one = compare(*SLEEP)
    assert (one.t, one.freedom, one.p) == pytest.approx((-1.8608134675, 17.7764735162, 0.0793941402), abs=1e-9)
    assert one.interval == pytest.approx((-3.3654832, 0.2054832), abs=1e-7)


def test_theil_sen_is_the_example_of_its_author() -> None:
    # source: P. K. Sen, JASA 63, 1968 (slope 4, 93 % interval 26/7 to 35/8)
    one = theil_sen(*SEN, 0.93)
    assert (one.slope, one.low, one.high) == pytest.approx((4.0, 26 / 7, 35 / 8))
    assert one.intercept == pytest.approx(6.0)  # median residual


def test_grubbs_is_the_example_of_the_handbook() -> None:
    # source: NIST/SEMATECH e-Handbook, section 1.3.5.17.1; critical values by scipy's t
    two, one = grubbs(URANIUM), grubbs(URANIUM, two_sided=False)
    assert two is not None
    assert one is not None
    assert two.statistic == pytest.approx(2.468765, abs=1e-6)
    assert (one.critical, two.critical) == pytest.approx((2.031652, 2.126645), abs=1e-6)
    assert two.outlier


def test_what_is_left_after_two_readings_keeps_their_correlation() -> None:
    # source: the uncertainties library, first order, correlation kept; without it 36.65 would come out
    assert two_point_life(25.0, 18.0, 450.0, 10.0, 0.3) == pytest.approx((514.285714286, 46.836734694))


@pytest.mark.parametrize(("level", "low", "high"), [(0.6827, 1290, 1930), (0.90, 1150, 2270)])
def test_the_range_of_two_readings_is_lopsided(level: float, low: float, high: float) -> None:
    # source: exact ratio interval of two readings of 52 and 44 mm, each 1 mm out, to 13 mm (rounded to ten hours)
    life = forecast([0, 400], [52, 44], 13, level=level).life
    assert life.hours == pytest.approx(1550)
    assert (round(life.low, -1), round(life.high or 0, -1)) == pytest.approx((low, high), abs=5)
    assert (life.high or 0) - 1550 > 1550 - life.low


def test_quantiles_are_those_of_scipy() -> None:
    stats = pytest.importorskip("scipy.stats")
    for freedom in (1, 2, 3.5, 10, 136.875, 5000):
        for level in (0.5, 0.9, 0.95, 0.999):
            assert t_quantile(level, freedom) == pytest.approx(stats.t.ppf((1 + level) / 2, freedom), rel=1e-9)
        for t in (0.01, 1.0, 4.0, 30.0):
            assert t_two_sided(t, freedom) == pytest.approx(2 * stats.t.sf(t, freedom), rel=1e-8)
    assert normal_quantile(0.9) == pytest.approx(stats.norm.ppf(0.95))


heights = st.lists(st.integers(0, 900).map(lambda n: n / 10), min_size=3, max_size=12)


@given(heights, st.data())
def test_lines_and_tests_are_those_of_scipy(values: list[float], data: st.DataObject) -> None:
    stats = pytest.importorskip("scipy.stats")
    hours = sorted(data.draw(st.lists(st.integers(0, 4000), min_size=len(values), max_size=len(values), unique=True)))
    line, theirs = least_squares(hours, values), stats.linregress(hours, values)
    assert (line.slope, line.intercept) == pytest.approx((theirs.slope, theirs.intercept), rel=1e-6, abs=1e-6)
    robust, sen = theil_sen(hours, values, 0.9), stats.theilslopes(values, hours, 0.9)
    assert robust.slope == pytest.approx(sen[0], rel=1e-9, abs=1e-12)
    assert (robust.low, robust.high) == pytest.approx((sen[2], sen[3]), rel=1e-9, abs=1e-12)
    half = len(values) // 2
    first, second = values[:half], values[half:]
    if half >= 2 and min(max(part) - min(part) for part in (first, second)) > 0:
        mine, other = compare(first, second), stats.ttest_ind(first, second, equal_var=False)
        assert mine.t == pytest.approx(other.statistic, rel=1e-9, abs=1e-9)
        assert mine.p == pytest.approx(other.pvalue, rel=1e-6, abs=1e-12)
