"""What a look is expected to tell: against textbook values and against joint tables of two reference libraries."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from lugwright.belief.look_cost import lightened
from lugwright.belief.looks import SEVERAL, bits, joint_looks, screen
from lugwright.belief.network import Network
from lugwright.belief.posterior import Evidence, outcomes, posterior


def entropy(probabilities: np.ndarray) -> float:
    """In bits, of a whole distribution. The oracle of these tests; it shares nothing with the package."""
    inside = np.asarray(probabilities, dtype=float).ravel()
    inside = inside[inside > 0]
    return float(-(inside * np.log2(inside)).sum())


def information(joint: np.ndarray) -> float:
    """Mutual information of rows and columns, in bits."""
    return entropy(joint.sum(axis=1)) + entropy(joint.sum(axis=0)) - entropy(joint)


# --- textbook values: the oracle is right, and so is the package's own entropy ----------------------------------------


WEATHER = """
sunny hot high f n; sunny hot high t n; overcast hot high f y; rain mild high f y; rain cool normal f y;
rain cool normal t n; overcast cool normal t y; sunny mild high f n; sunny cool normal f y; rain mild normal f y;
sunny mild normal t y; overcast mild high t y; overcast hot normal f y; rain mild high t n
"""


def test_the_gains_of_the_weather_data() -> None:
    # source: Quinlan, Induction of decision trees, Machine Learning 1, 1986; it prints .940 .246 .029 .151 .048 from
    # rounded terms; the values here are unrounded
    rows = [line.split() for line in WEATHER.replace("\n", " ").split(";")]
    assert bits(np.array([9 / 14])) == pytest.approx(0.940285958671, abs=1e-10)
    expected = (0.246749819774, 0.029222565659, 0.151835501362, 0.048127030408)
    for column, value in enumerate(expected):
        words = sorted({row[column] for row in rows})
        after = 0.0
        joint = np.zeros((len(words), 2))
        for at, word in enumerate(words):
            mine = [row[4] == "y" for row in rows if row[column] == word]
            after += len(mine) / 14 * bits(np.array([sum(mine) / len(mine)]))
            joint[at] = [sum(mine) / 14, (len(mine) - sum(mine)) / 14]
        assert bits(np.array([9 / 14])) - after == pytest.approx(value, abs=1e-10)
        assert information(joint) == pytest.approx(value, abs=1e-10)


def test_the_information_of_weighing_twelve_coins() -> None:
    # source: MacKay, Information Theory, Inference, and Learning Algorithms, 2003, exercise 4.1: best first 4 against 4
    expected = (0.816689088315, 1.251629167388, 1.5, 1.584962500721, 1.483355754982, 1.0)
    for k, value in enumerate(expected, 1):
        assert entropy(np.array([2 * k, 2 * k, 24 - 4 * k]) / 24) == pytest.approx(value, abs=1e-10)
    assert max(range(6), key=lambda k: expected[k]) + 1 == 4
    assert entropy(np.full(24, 1 / 24)) == pytest.approx(4.584962500721, abs=1e-10)
    assert 3 * math.log2(3) == pytest.approx(4.754887502163, abs=1e-10)


def test_the_information_of_a_four_by_four_table() -> None:
    # source: Cover and Thomas, Elements of Information Theory, 2nd ed. 2006, example 2.2.1 (from memory)
    joint = np.array([[4, 2, 1, 1], [2, 4, 1, 1], [2, 2, 2, 2], [8, 0, 0, 0]]) / 32
    assert entropy(joint.sum(axis=0)) == pytest.approx(1.75, abs=1e-12)
    assert entropy(joint.sum(axis=1)) == pytest.approx(2.0, abs=1e-12)
    assert entropy(joint) == pytest.approx(3.375, abs=1e-12)
    assert information(joint) == pytest.approx(0.375, abs=1e-12)


SMALL = Network(
    causes=tuple("abcde"),
    scopes=(("machine", 0),) * 5,
    axle_of_unit=(0,),
    signs=tuple(f"s{index}" for index in range(7)),
    prior=np.array([[0.1], [0.05], [0.2], [0.02], [0.08]]),
    link=np.array([
        [0.8, 0, 0.3, 0, 0.5, 0, 0],
        [0.6, 0.7, 0, 0, 0, 0.4, 0],
        [0, 0.2, 0.6, 0.3, 0, 0, 0.5],
        [0, 0.9, 0, 0.8, 0, 0.7, 0],
        [0.3, 0, 0, 0.5, 0.6, 0, 0.4],
    ])[:, None, :],
    leak=np.array([0.01, 0.02, 0.05, 0.01, 0.03, 0.02, 0.1]),
)  # fmt: skip


def test_the_last_sign_of_the_small_network() -> None:
    # source: reference library pyAgrum, mutualInformationXY, checked by enumerating 2 ** 6 states
    evidence = Evidence((0, 1, 3, 4), (2, 5))
    each = (0.00713056139, 0.00044617643, 0.04616012367, 0.02861952525, 0.01635285626)
    for row, value in enumerate(each):
        (look,) = joint_looks(SMALL, evidence, [(6,)], rows=np.array([row]), tolerance=1e-12)
        assert look.gain_bits == pytest.approx(value, abs=1e-9)
    (look,) = joint_looks(SMALL, evidence, [(6,)], tolerance=1e-12)
    assert look.gain_bits == pytest.approx(sum(each), abs=1e-9)  # single causes added up, not 0.0955 about all jointly
    assert look.probability[1] == pytest.approx(0.4997458717768, abs=1e-11)


def hashed(x: int) -> int:
    x = x * 2654435761 % 2**32
    x ^= x >> 16
    x = x * 73244475 % 2**32
    return x ^ x >> 16


def large() -> Network:
    """35 causes and 70 signs made by a hash, so that anybody can make them again."""
    causes, signs = range(35), range(70)
    link = [
        [
            (4 + hashed(70 * i + j + 5001) % 15) / 20 if hashed(70 * i + j + 1) % 100 < 15 else 0
            for j in signs
        ]
        for i in causes
    ]  # fmt: skip
    return Network(
        causes=tuple(f"c{i}" for i in causes),
        scopes=(("machine", 0),) * 35,
        axle_of_unit=(0,),
        signs=tuple(f"s{j}" for j in signs),
        prior=np.array([[(5 + 7 * i % 23) / 400] for i in causes]),
        link=np.array(link)[:, None, :],
        leak=np.array([(1 + j % 4) / 100 for j in signs]),
    )


def test_the_best_next_signs_of_the_large_network() -> None:
    # source: computed once by quickscore over 2 ** 12 terms in exact integers, and by pyAgrum; a ranking anchor
    seen = (2, 5, 6, 8, 15, 23, 30, 39, 40, 50, 52, 56)
    absent = (0, 1, 4, 9, 14, 16, 17, 18, 20, 24, 25, 26, 33, 34, 36, 37, 38, 41, 42, 44, 49, 53, 54, 57, 58, 59, 60,
              64, 67, 69)  # fmt: skip
    network, evidence = large(), Evidence(seen, absent)
    assert posterior(network, evidence).marginal[11] == pytest.approx(0.998009511934, abs=1e-10)
    rest = [sign for sign in range(70) if sign not in (*seen, *absent)]
    assert len(rest) == 28
    looks = joint_looks(network, evidence, [(sign,) for sign in rest], tolerance=1e-12)
    best = sorted(looks, key=lambda one: -one.gain_bits)[:3]
    expected = ((3, 0.3838201059, 0.3829602183), (11, 0.1194435217, 0.2814220602), (12, 0.4164866303, 0.2470652327))
    for look, (sign, chance, gain) in zip(best, expected, strict=True):
        assert look.signs == (sign,)
        assert look.probability[1] == pytest.approx(chance, abs=1e-9)
        assert look.gain_bits == pytest.approx(gain, abs=1e-9)


# --- random networks against joint tables -----------------------------------------------------------------------------


def random_network(rng: np.random.Generator) -> Network:
    causes, signs = int(rng.integers(2, 5)), int(rng.integers(3, 6))
    link = rng.uniform(0.05, 0.95, (causes, 1, signs)) * (rng.random((causes, 1, signs)) < 0.6)
    return Network(
        tuple(f"c{i}" for i in range(causes)), (("machine", 0),) * causes, (0,), tuple(f"s{j}" for j in range(signs)),
        rng.uniform(0.05, 0.6, (causes, 1)), link, rng.uniform(0.02, 0.3, signs),
    )  # fmt: skip


def drawn(seed: int) -> tuple[Network, Evidence, tuple[int, ...]]:
    rng = np.random.default_rng(seed)
    network = random_network(rng)
    signs = rng.permutation(len(network.signs)).tolist()
    look = tuple(signs[: min(3, len(signs) - 1)])
    known = signs[len(look) :]
    return network, Evidence(tuple(known[:1]), tuple(known[1:2])), look


def conditional(network: Network, sign: int, present: Sequence[int]) -> float:
    """P(sign | which causes are there), noisy-OR written out."""
    unshown = 1 - network.leak[sign]
    for cause, there in enumerate(present):
        unshown *= 1 - network.link[cause, 0, sign] if there else 1
    return float(1 - unshown)


@pytest.mark.parametrize("seed", range(12))
def test_expected_gain_is_the_mutual_information_of_pyagrum(seed: int) -> None:
    # source: pyAgrum, joint posterior of each cause with all signs looked at
    gum = pytest.importorskip("pyagrum")
    network, evidence, look = drawn(seed)
    bn = gum.BayesNet()
    for name in network.causes:
        bn.add(gum.LabelizedVariable(name, "", 2))
    for name in network.signs:
        bn.add(gum.LabelizedVariable(name, "", 2))
    for cause, name in enumerate(network.causes):
        p = float(network.prior[cause, 0])
        bn.cpt(name).fillWith([1 - p, p])
    for sign, name in enumerate(network.signs):
        for cause in network.causes:
            bn.addArc(cause, name)
        cpt = bn.cpt(name)
        for present in itertools.product((0, 1), repeat=len(network.causes)):
            p = conditional(network, sign, present)
            cpt[dict(zip(network.causes, present, strict=True))] = [1 - p, p]
    ask = gum.LazyPropagation(bn)
    ask.setEvidence(
        {network.signs[one]: 1 for one in evidence.seen} | {network.signs[one]: 0 for one in evidence.absent}
    )
    total = 0.0
    for name in network.causes:
        target = {name, *(network.signs[one] for one in look)}
        ask.addJointTarget(target)
        joint = ask.jointPosterior(target)
        names = list(joint.names)
        table = joint.toarray()  # axes in the reverse order of the names
        axis = len(names) - 1 - names.index(name)
        total += information(np.moveaxis(table, axis, 0).reshape(2, -1))
    (found,) = joint_looks(network, evidence, [look], tolerance=1e-12)
    assert found.gain_bits == pytest.approx(total, abs=1e-9)


@pytest.mark.parametrize("seed", range(12, 18))
def test_expected_gain_is_the_mutual_information_of_pgmpy(seed: int) -> None:
    # source: pgmpy, variable elimination
    models = pytest.importorskip("pgmpy.models")
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination

    network, evidence, look = drawn(seed)
    model = models.DiscreteBayesianNetwork([(c, s) for c in network.causes for s in network.signs])
    for cause, name in enumerate(network.causes):
        p = float(network.prior[cause, 0])
        model.add_cpds(TabularCPD(name, 2, [[1 - p], [p]]))
    for sign, name in enumerate(network.signs):
        row = [conditional(network, sign, present) for present in itertools.product((0, 1), repeat=len(network.causes))]
        size = [2] * len(network.causes)
        model.add_cpds(TabularCPD(name, 2, [[1 - p for p in row], row], list(network.causes), size))
    known = {network.signs[one]: 1 for one in evidence.seen} | {network.signs[one]: 0 for one in evidence.absent}
    ask = VariableElimination(model)
    total = 0.0
    for name in network.causes:
        factor = ask.query([name, *(network.signs[one] for one in look)], known, show_progress=False)
        axis = list(factor.variables).index(name)
        total += information(np.moveaxis(factor.values, axis, 0).reshape(2, -1))
    (found,) = joint_looks(network, evidence, [look], tolerance=1e-12)
    assert found.gain_bits == pytest.approx(total, abs=1e-9)


def test_one_sign_tells_what_the_outcomes_of_one_sign_say() -> None:
    evidence = Evidence((0, 3), (2,))
    rest = [1, 4, 5, 6]
    looks = joint_looks(SMALL, evidence, [(sign,) for sign in rest])
    for look, one in zip(looks, outcomes(SMALL, evidence, rest), strict=True):
        assert look.gain_bits == pytest.approx(one.expected_gain_bits, abs=1e-9)
        assert look.probability[1] == pytest.approx(one.probability, abs=1e-9)
        assert look.marginal[1] == pytest.approx(one.if_seen, abs=1e-7)


def test_a_sign_more_never_tells_less() -> None:
    for seed in range(20):
        network, evidence, look = drawn(seed)
        looks = joint_looks(network, evidence, [look[:size] for size in range(1, len(look) + 1)], tolerance=1e-12)
        gains = [one.gain_bits for one in looks]
        assert gains == sorted(gains) or max(a - b for a, b in itertools.pairwise(gains)) < 1e-9
        assert gains[0] >= -1e-12


def test_a_sign_that_speaks_against_a_cause_gives_the_posteriors_of_really_having_seen_it() -> None:
    network = replace(SMALL, against=((2, 6, 0.1), (0, 5, 0.3)))
    evidence = Evidence((1, 3), (2,))
    (look,) = joint_looks(network, evidence, [(5, 6)], tolerance=1e-12)
    for outcome in range(4):
        seen = look.outcomes[outcome]
        again = posterior(network, Evidence((1, 3, *seen), (2, *({5, 6} - set(seen)))))
        assert look.marginal[outcome] == pytest.approx(again.marginal, abs=1e-9)


def test_a_look_over_many_places_tells_apart_none_one_and_several_as_the_full_outcome_does() -> None:
    """The outcomes of many places are sums of the full outcomes, so they are compared with those, and never tell more
    (data processing inequality, any textbook on information).
    """
    group = (0, 4, 5, 6)
    full, apart = joint_looks(SMALL, Evidence((1, 3), (2,)), [group], spread=[group], tolerance=1e-12)
    assert apart.outcomes == ((), (0,), (4,), (5,), (6,), SEVERAL)
    for outcome, probability, marginal in zip(apart.outcomes, apart.probability, apart.marginal, strict=True):
        parts = [
            at for at, seen in enumerate(full.outcomes) if (len(seen) > 1 if outcome == SEVERAL else seen == outcome)
        ]
        share = full.probability[parts]
        assert probability == pytest.approx(share.sum(), abs=1e-12)
        assert marginal == pytest.approx(share @ full.marginal[parts] / share.sum(), abs=1e-9)
    assert 0 < apart.gain_bits <= full.gain_bits + 1e-12


def test_signs_that_speak_against_a_cause_are_not_spread() -> None:
    network = replace(SMALL, against=((2, 6, 0.1),))
    with pytest.raises(ValueError, match="speak against a cause"):
        joint_looks(network, Evidence((1, 3), (2,)), [], spread=[(5, 6)])


def test_a_look_over_two_places_loses_nothing() -> None:
    for seed in range(10):
        network, evidence, look = drawn(seed)
        full, apart = joint_looks(network, evidence, [look[:2]], spread=[look[:2]], tolerance=1e-12)
        assert apart.gain_bits == pytest.approx(full.gain_bits, abs=1e-9)


@pytest.mark.parametrize("group", [(0,), (5, 5), (1,), tuple(range(9))])
def test_a_look_at_what_is_known_or_twice_is_refused(group: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="none known yet"):
        joint_looks(SMALL, Evidence((0,), (1,)), [group])


def test_the_quick_guess_is_exact_while_nothing_is_known_and_one_cause_is_left() -> None:
    alone = replace(SMALL, prior=np.array([[0.0], [0.0], [0.3], [0.0], [0.0]]))
    guess = screen(alone, posterior(alone, Evidence((), ())).by_stage)
    for look in joint_looks(alone, Evidence((), ()), [(sign,) for sign in range(7)]):
        assert guess[look.signs[0]] == pytest.approx(look.gain_bits, abs=1e-9)


def test_findings_are_lightened_only_as_far_as_the_work_asks_for() -> None:
    network = large()
    evidence = Evidence((2, 5, 6, 8, 15, 23, 30, 39, 40, 50, 52, 56), (0, 1))
    assert lightened(network, evidence, 1e12) == evidence
    light = lightened(network, evidence, 1e6)
    assert light.absent == evidence.absent
    assert 0 < len(light.seen) < len(evidence.seen)
    kept = max(network.leak[sign] for sign in light.seen)
    gone = min(network.leak[sign] for sign in set(evidence.seen) - set(light.seen))
    assert kept <= gone  # what a sound machine shows most goes first
