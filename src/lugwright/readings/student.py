"""Student's t, the F of two variances and the normal law, as far as the readings need them. Pure arithmetic, no tables.

Source: the incomplete beta function by its continued fraction (modified Lentz), as in any handbook of functions;
checked in the tests against scipy.
"""

from __future__ import annotations

import math
from statistics import NormalDist

_TINY = 1e-300


def beta_share(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function I_x(a, b), 0 <= x <= 1, a and b > 0.

    >>> round(beta_share(2.0, 3.0, 0.4), 6)
    0.5248
    """
    if x <= 0.0 or x >= 1.0:
        return 0.0 if x <= 0.0 else 1.0
    front = math.exp(math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x))
    if x < (a + 1) / (a + b + 2):
        return front * _fraction(a, b, x) / a
    return 1.0 - front * _fraction(b, a, 1.0 - x) / b


def _fraction(a: float, b: float, x: float) -> float:
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1)
    d = 1.0 / (d if abs(d) > _TINY else _TINY)
    value = d
    for m in range(1, 10_000):
        for top in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1.0 + top * d
            c = 1.0 + top / c
            d = 1.0 / (d if abs(d) > _TINY else _TINY)
            c = c if abs(c) > _TINY else _TINY
            value *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return value


def t_two_sided(t: float, freedom: float) -> float:
    """Probability of a value at least as far from zero as t, for `freedom` degrees of freedom (> 0, may be broken).

    >>> round(t_two_sided(2.228138852, 10), 6)
    0.05
    """
    if freedom <= 0:
        raise ValueError("degrees of freedom must be above zero")
    return beta_share(freedom / 2, 0.5, freedom / (freedom + t * t))


def t_quantile(level: float, freedom: float) -> float:
    """The t that leaves `1 - level` outside on both sides together; 0 < level < 1.

    >>> round(t_quantile(0.95, 10), 6), round(t_quantile(0.95, 2), 6)
    (2.228139, 4.302653)
    """
    if not 0 < level < 1:
        raise ValueError("a level lies between 0 and 1")
    low, high = 0.0, 1.0
    while t_two_sided(high, freedom) > 1 - level:
        low, high = high, high * 2
        if high > 1e12:
            raise ValueError("no such quantile can be worked out")
    for _ in range(200):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if t_two_sided(middle, freedom) > 1 - level else (low, middle)
    return (low + high) / 2


def normal_quantile(level: float) -> float:
    """The z that leaves `1 - level` outside on both sides together.

    >>> round(normal_quantile(0.95), 6)
    1.959964
    """
    return NormalDist().inv_cdf((1 + level) / 2)
