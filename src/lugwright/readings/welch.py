"""Are two means different, and by how much at least? Welch's test, for two groups that may scatter differently."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lugwright.readings.student import t_quantile, t_two_sided
from lugwright.readings.uncertainty import State, against


@dataclass(frozen=True)
class Compared:
    """Difference of two means (first minus second) with its interval, in the unit of the readings.

    t, freedom, p: Welch's statistic, its degrees of freedom and the two-sided probability of such a t by chance.
    plus_minus:    half width of the interval at `level`.
    """

    difference: float
    plus_minus: float
    t: float
    freedom: float
    p: float
    level: float

    @property
    def interval(self) -> tuple[float, float]:
        """Both ends of the interval of the difference."""
        return self.difference - self.plus_minus, self.difference + self.plus_minus

    def matters(self, least: float) -> State:
        """Against the smallest difference that matters: outside is clearly more, inside clearly less, either way."""
        return against(abs(self.difference), least, self.plus_minus)


def mean_and_spread(values: Sequence[float]) -> tuple[float, float]:
    """Mean and standard deviation (n - 1) in two passes; at least two values.

    Two passes, because the sum of squares loses all digits where the spread is small beside the mean
    (NIST StRD, NumAcc4).

    >>> mean_and_spread([10.0, 12.0, 14.0])
    (12.0, 2.0)
    """
    if len(values) < 2:
        raise ValueError("a spread needs at least two readings")
    mean = math.fsum(values) / len(values)
    return mean, math.sqrt(math.fsum((one - mean) ** 2 for one in values) / (len(values) - 1))


def welch(
    mean_a: float, spread_a: float, n_a: int, mean_b: float, spread_b: float, n_b: int, level: float = 0.95
) -> Compared:
    """Welch's comparison from means, standard deviations (>= 0) and numbers of readings (>= 2 each).

    Source: B. L. Welch, Biometrika 34, 1947; NIST/SEMATECH e-Handbook, section 1.3.5.3.

    >>> one = welch(41.0, 1.2, 8, 45.0, 1.0, 8)
    >>> round(one.difference, 1), round(one.plus_minus, 2), one.matters(3.0)
    (-4.0, 1.19, 'too-close')
    """
    if n_a < 2 or n_b < 2:
        raise ValueError("each side needs at least two readings")
    if spread_a < 0 or spread_b < 0:
        raise ValueError("a standard deviation cannot be below zero")
    error_a, error_b = spread_a / math.sqrt(n_a), spread_b / math.sqrt(n_b)
    error = math.hypot(error_a, error_b)
    difference = mean_a - mean_b
    if error == 0:
        return Compared(difference, 0.0, math.copysign(math.inf, difference), math.inf, float(difference == 0), level)
    # By the shares of the error, for the fourth power of a very small spread is zero.
    freedom = 1 / ((error_a / error) ** 4 / (n_a - 1) + (error_b / error) ** 4 / (n_b - 1))
    t = difference / error
    return Compared(difference, t_quantile(level, freedom) * error, t, freedom, t_two_sided(t, freedom), level)


def compare(first: Sequence[float], second: Sequence[float], level: float = 0.95) -> Compared:
    """Welch's comparison of two lists of readings in one unit, at least two in each.

    >>> compare([38, 39, 38, 40], [44, 45, 44, 46]).matters(3.0)
    'outside'
    """
    return welch(*mean_and_spread(first), len(first), *mean_and_spread(second), len(second), level)
