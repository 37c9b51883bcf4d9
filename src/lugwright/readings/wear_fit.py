"""A straight line through wear readings: least squares with intervals, and Theil-Sen, which no bad reading tilts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from statistics import median

from lugwright.readings.student import normal_quantile, t_quantile
from lugwright.readings.welch import mean_and_spread


@dataclass(frozen=True)
class Line:
    """y = intercept + slope x, by least squares.

    residual_sd: n - 2 degrees of freedom; 0 for two points. middle: mean of x. spread: sum of (x - middle)2.
    """

    n: int
    intercept: float
    slope: float
    slope_error: float
    intercept_error: float
    residual_sd: float
    r_squared: float
    middle: float
    spread: float

    def at(self, x: float) -> float:
        """The line at x."""
        return self.intercept + self.slope * x

    def half_width(self, x: float, sd: float, quantile: float, new_reading: bool = True) -> float:
        """Half width of the prediction interval at x (of the mean line where `new_reading` is false)."""
        return quantile * sd * math.sqrt(new_reading + 1 / self.n + (x - self.middle) ** 2 / self.spread)

    def interval(self, x: float, level: float = 0.95, new_reading: bool = True) -> tuple[float, float]:
        """Prediction interval at x by the residual scatter; needs three points."""
        half = self.half_width(x, self.residual_sd, t_quantile(level, self.n - 2), new_reading)
        return self.at(x) - half, self.at(x) + half


def least_squares(x: Sequence[float], y: Sequence[float]) -> Line:
    """Least-squares line through two or more points with at least two different x. Raises ValueError.

    Sums are taken about the means, so that few digits are lost.
    Source: NIST/SEMATECH e-Handbook, section 4.4; checked against the certified values of NIST StRD.

    >>> line = least_squares([0, 200, 400], [52.0, 48.5, 44.0])
    >>> round(line.slope, 4), round(line.at(400), 2)
    (-0.02, 44.17)
    """
    if len(x) != len(y) or len(x) < 2:
        raise ValueError("a line needs two points")
    n = len(x)
    middle, level = math.fsum(x) / n, math.fsum(y) / n
    spread = math.fsum((one - middle) ** 2 for one in x)
    if spread == 0:
        raise ValueError("a line needs two different hours")
    slope = math.fsum((a - middle) * (b - level) for a, b in zip(x, y, strict=True)) / spread
    intercept = level - slope * middle
    left = math.fsum((b - level - slope * (a - middle)) ** 2 for a, b in zip(x, y, strict=True))
    whole = math.fsum((b - level) ** 2 for b in y)
    sd = math.sqrt(left / (n - 2)) if n > 2 else 0.0
    r_squared = 1 - left / whole if whole else 1.0
    error = sd * math.sqrt(1 / n + middle**2 / spread)
    return Line(n, intercept, slope, sd / math.sqrt(spread), error, sd, r_squared, middle, spread)


@dataclass(frozen=True)
class Robust:
    """Theil-Sen line: median of the slopes of all pairs, median of y - slope x. low, high: interval of the slope."""

    slope: float
    intercept: float
    low: float
    high: float


def theil_sen(x: Sequence[float], y: Sequence[float], level: float = 0.95) -> Robust:
    """Theil-Sen slope with Sen's interval, for two or more points with at least two different x. Raises ValueError.

    The interval takes the normal law for Kendall's statistic, ties counted; below about ten points it is rough.
    Source: P. K. Sen, Journal of the American Statistical Association 63, 1968.

    >>> one = theil_sen([1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78], 0.93)
    >>> one.slope, round(one.low, 4), one.high
    (4.0, 3.7143, 4.375)
    """
    slopes = sorted((b[1] - a[1]) / (b[0] - a[0]) for a, b in combinations(zip(x, y, strict=True), 2) if a[0] != b[0])
    if not slopes:
        raise ValueError("a line needs two different hours")
    n, slope = len(x), median(slopes)
    intercept = median(b - slope * a for a, b in zip(x, y, strict=True))
    ties = sum(count * (count - 1) * (2 * count + 5) for values in (x, y) for count in _repeats(values))
    sigma = math.sqrt(max(0.0, (n * (n - 1) * (2 * n + 5) - ties) / 18))
    reach = normal_quantile(level) * sigma
    high = min(round((len(slopes) + reach) / 2), len(slopes) - 1)
    low = max(round((len(slopes) - reach) / 2) - 1, 0)
    return Robust(slope, intercept, slopes[low], slopes[high])


def _repeats(values: Sequence[float]) -> list[int]:
    counts: dict[float, int] = {}
    for one in values:
        counts[one] = counts.get(one, 0) + 1
    return [count for count in counts.values() if count > 1]


@dataclass(frozen=True)
class Far:
    """The value farthest from the mean: its index, Grubbs' statistic, the critical value, and whether it is beyond."""

    index: int
    statistic: float
    critical: float
    outlier: bool


def grubbs(values: Sequence[float], level: float = 0.95, two_sided: bool = True) -> Far | None:
    """Grubbs' test for one outlier among three or more values; None where they are all the same.

    Source: NIST/SEMATECH e-Handbook, section 1.3.5.17.1.

    >>> far = grubbs([199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57])
    >>> far.index, round(far.statistic, 4), round(far.critical, 4), far.outlier
    (7, 2.4688, 2.1266, True)
    """
    n = len(values)
    if n < 3:
        raise ValueError("an outlier needs two others to stand out from")
    mean, spread = mean_and_spread(values)
    if spread == 0:
        return None
    index = max(range(n), key=lambda one: (abs(values[one] - mean), -one))
    statistic = abs(values[index] - mean) / spread
    tail = (1 - level) / ((2 if two_sided else 1) * n)
    t = t_quantile(1 - 2 * tail, n - 2)
    critical = (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t))
    return Far(index, statistic, critical, statistic > critical)
