"""Figures set side by side: as many digits as it takes to tell two probabilities apart."""

from __future__ import annotations

#: Digits after the point beyond which two figures count as the same.
MOST_DIGITS = 3


def percent(probability: float) -> str:
    """A probability as people read it; never 0 % or 100 %, because it is neither.

    >>> percent(0.934), percent(0.005), percent(0.995)
    ('93 %', '< 1 %', '> 99 %')
    """
    if probability <= 0.005:
        return "< 1 %"
    if probability >= 0.995:
        return "> 99 %"
    return f"{probability * 100:.0f} %"


def moved(before: float, after: float) -> tuple[str, str]:
    """Two probabilities in the same number of digits, the fewest that show the change; never 0 % or 100 %.

    >>> moved(0.92, 0.87), moved(0.052, 0.046), moved(0.997, 0.987), moved(0.99997, 0.9981)
    (('92 %', '87 %'), ('5.2 %', '4.6 %'), ('99.7 %', '98.7 %'), ('> 99.9 %', '99.8 %'))
    >>> moved(0.5, 0.5)
    ('50 %', '50 %')
    """
    for digits in range(MOST_DIGITS + 1):
        found = _written(before, digits), _written(after, digits)
        if found[0].lstrip("<> ") != found[1].lstrip("<> "):  # `> 99 %` beside `99 %` shows no change
            return found
    return percent(before), percent(after)


def arrow(before: float, after: float) -> str:
    """Two probabilities with an arrow between them.

    >>> arrow(0.93, 0.71)
    '93 % → 71 %'
    """
    return " → ".join(moved(before, after))


def _written(probability: float, digits: int) -> str:
    if not digits:
        return percent(probability)
    step = 10.0**-digits
    share = probability * 100
    if share <= step / 2:
        return f"< {step:.{digits}f} %"
    if share >= 100 - step / 2:
        return f"> {100 - step:.{digits}f} %"
    return f"{share:.{digits}f} %"
