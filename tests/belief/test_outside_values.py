"""Answers that come from outside: a textbook table, two other libraries, exact fractions."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from worlds import exact_sum

from lugwright.belief.posterior import Evidence, Network, posterior


def one_stage(prior: list[float], link: list[list[float]], leak: list[float]) -> Network:
    """Machine causes with one stage."""
    causes, signs = len(prior), len(leak)
    return Network(
        tuple(f"c{i}" for i in range(causes)),
        (("machine", 0),) * causes,
        (0, 0),
        tuple(f"s{j}" for j in range(signs)),
        np.array(prior)[:, None],
        np.array(link).reshape(causes, 1, signs),
        np.array(leak),
    )


ROADS = pytest.mark.parametrize("road", ["joint", "conditioned"])


@pytest.mark.outside
@ROADS
@pytest.mark.parametrize(
    ("present", "fever"),
    [
        ("000", 0.0),
        ("001", 0.9),
        ("010", 0.8),
        ("011", 0.98),
        ("100", 0.4),
        ("101", 0.94),
        ("110", 0.88),
        ("111", 0.988),
    ],
)
def test_the_fever_table_of_the_textbook(present: str, fever: float, road: str) -> None:
    # source: Russell & Norvig, Artificial Intelligence: A Modern Approach, 3rd ed. 2010, ch. 14, noisy-OR table,
    # as reproduced in course slides. Each row is read off as a ratio of probabilities of findings: a second sign that
    # only the present causes show, and almost surely, pins the causes.
    pin = 1 - 1e-12
    link = [[0.4, pin, 0, 0], [0.8, 0, pin, 0], [0.9, 0, 0, pin]]
    network = one_stage([0.5, 0.5, 0.5], link, [0.0, 0.0, 0.0, 0.0])
    pinned = [at + 1 for at, bit in enumerate(present) if bit == "1"]
    free = [at + 1 for at, bit in enumerate(present) if bit == "0"]
    without = posterior(network, Evidence(tuple(pinned), tuple(free)), road=road).log_evidence
    absent = posterior(network, Evidence(tuple(pinned), (0, *free)), road=road).log_evidence
    assert 1 - math.exp(absent - without) == pytest.approx(fever, abs=1e-10)


FEVER = ([0.10, 0.05, 0.01], [[0.4], [0.8], [0.9]], [0.02])


@pytest.mark.outside
@ROADS
def test_causes_of_a_fever(road: str) -> None:
    # source: pyAgrum 3.3.1 LazyPropagation and pgmpy 1.1.2 VariableElimination agree on these to 1e-12
    result = posterior(one_stage(*FEVER), Evidence((0,), ()), road=road)
    assert result.marginal == pytest.approx([0.419777220599, 0.387542621743, 0.086669089419], abs=1e-10)
    assert math.exp(result.log_evidence) == pytest.approx(0.104960512, abs=1e-10)


@pytest.mark.outside
@ROADS
def test_a_confirmed_cold_explains_the_fever_away(road: str) -> None:
    # source: pyAgrum 3.3.1 and pgmpy 1.1.2; flu falls from 0.3875 to 0.1003. Here "cold" is confirmed by a sure sign.
    prior, link, leak = FEVER
    sure = 1 - 1e-12
    network = one_stage(prior, [[link[0][0], sure], [link[1][0], 0], [link[2][0], 0]], [*leak, 0.0])
    result = posterior(network, Evidence((0, 1), ()), road=road)
    assert result.marginal[1:] == pytest.approx([0.100256214067, 0.02141514559], abs=1e-10)


@pytest.mark.outside
@ROADS
def test_five_causes_and_seven_signs(road: str) -> None:
    # source: exact fractions = sum over 2^5 worlds = pgmpy 1.1.2 = pyAgrum 3.3.1;
    # P(findings) = 143338479763814661894449/152587890625000000000000000
    network = one_stage(
        [0.1, 0.05, 0.2, 0.02, 0.08],
        [
            [0.8, 0, 0.3, 0, 0.5, 0, 0],
            [0.6, 0.7, 0, 0, 0, 0.4, 0],
            [0, 0.2, 0.6, 0.3, 0, 0, 0.5],
            [0, 0.9, 0, 0.8, 0, 0.7, 0],
            [0.3, 0, 0, 0.5, 0.6, 0, 0.4],
        ],
        [0.01, 0.02, 0.05, 0.01, 0.03, 0.02, 0.1],
    )
    result = posterior(network, Evidence((0, 1, 3, 4), (2, 5)), road=road, tolerance=1e-13)
    expected = [0.3823989682157, 0.3851996408094, 0.3972731055953, 0.1787020355803, 0.7291908316916]
    assert result.marginal == pytest.approx(expected, abs=1e-11)
    exact = Fraction(143338479763814661894449, 152587890625000000000000000)
    assert result.log_evidence == pytest.approx(math.log(exact), abs=1e-12)
    more = posterior(network, Evidence((0, 1, 3, 4, 6), (2, 5)), road=road, tolerance=1e-13)
    assert math.exp(more.log_evidence - result.log_evidence) == pytest.approx(0.4997458717768, abs=1e-11)


def hashed(number: int) -> int:
    """The 32-bit hash that defines the 35 x 70 network."""
    for factor in (2654435761, 73244475):
        number = number * factor % 2**32
        number ^= number >> 16
    return number


def hashed_numbers() -> tuple[list[Fraction], list[list[Fraction]], list[Fraction]]:
    """Priors, links and leaks of the 35 x 70 network as fractions."""
    prior = [Fraction(5 + 7 * i % 23, 400) for i in range(35)]
    leak = [Fraction(1 + j % 4, 100) for j in range(70)]
    link = [
        [
            Fraction(4 + hashed(70 * i + j + 5001) % 15, 20) if hashed(70 * i + j + 1) % 100 < 15 else Fraction(0)
            for j in range(70)
        ]
        for i in range(35)
    ]
    return prior, link, leak


SEEN = (2, 5, 6, 8, 15, 23, 30, 39, 40, 50, 52, 56)
# fmt: off
ABSENT = (
    0, 1, 4, 9, 14, 16, 17, 18, 20, 24, 25, 26, 33, 34, 36,
    37, 38, 41, 42, 44, 49, 53, 54, 57, 58, 59, 60, 64, 67, 69,
)
# fmt: on


def hashed_network() -> Network:
    prior, link, leak = hashed_numbers()
    return one_stage([float(p) for p in prior], [[float(w) for w in row] for row in link], [float(x) for x in leak])


# source: exact whole-number inclusion and exclusion over 2^12 terms; pyAgrum 3.3.1 deviates by 3e-16
# fmt: off
EXPECTED = {
    11: 0.998009511934, 3: 0.993588480325, 20: 0.592974280657, 8: 0.112199208273,
    25: 0.095160005369, 6: 0.056680060838, 12: 0.044208067268, 2: 0.016120665069,
}
# fmt: on


@pytest.mark.outside
def test_thirty_five_causes_and_seventy_signs() -> None:
    network = hashed_network()
    assert int((network.link > 0).sum()) == 385
    result = posterior(network, Evidence(SEEN, ABSENT))
    assert result.road == "joint"
    assert result.marginal[list(EXPECTED)] == pytest.approx(list(EXPECTED.values()), abs=1e-10)
    assert math.exp(result.log_evidence) == pytest.approx(1.3294491354581474e-06, rel=1e-9)
    assert float(result.marginal.sum()) == pytest.approx(2.96723650323, rel=1e-9)


@pytest.mark.outside
def test_the_searched_road_is_off_by_no_more_than_its_bound() -> None:
    result = posterior(hashed_network(), Evidence(SEEN, ABSENT), road="conditioned", tolerance=1e-5)
    off = np.abs(result.marginal[list(EXPECTED)] - list(EXPECTED.values()))
    assert 0 < result.bound <= 1e-5
    assert 0 < off.max() <= result.bound


@pytest.mark.outside
def test_the_joint_road_is_right_to_the_last_digits() -> None:
    # source: the same exact sum, done here in whole numbers
    probability, exact = exact_sum(*hashed_numbers(), SEEN, ABSENT)
    result = posterior(hashed_network(), Evidence(SEEN, ABSENT), road="joint")
    error = max(abs(float(Fraction(float(ours)) - theirs)) for ours, theirs in zip(result.marginal, exact, strict=True))
    assert error < 1e-14
    assert result.log_evidence == pytest.approx(math.log(probability), abs=1e-13)


@pytest.mark.outside
@ROADS
def test_the_leak_is_one_more_cause(road: str) -> None:
    # source: the net and the compound form of leaky noisy-OR (pyAgrum documentation of addNoisyORNet and
    # addNoisyORCompound). Net: 1 - 0.9 * 0.4 * 0.2 = 0.928; compound would be 0.911111.
    sure = 1 - 1e-12
    network = one_stage([0.5, 0.5], [[0.6, sure, 0], [0.8, 0, sure]], [0.1, 0.0, 0.0])
    both = posterior(network, Evidence((1, 2), ()), road=road).log_evidence
    shown = posterior(network, Evidence((0, 1, 2), ()), road=road).log_evidence
    assert math.exp(shown - both) == pytest.approx(0.928, abs=1e-9)
