"""How steady the first place is when every frequency is redrawn within its word."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from next_cases import example, shipped, written

from lugwright.belief import steadiness as steadiness_module
from lugwright.belief.ground import HOW_OFTEN_DOWN
from lugwright.belief.judge import judge
from lugwright.belief.network import Network
from lugwright.belief.posterior import posterior
from lugwright.belief.redraw import EITHER_WAY, Redraw, _triangular
from lugwright.belief.steadiness import posteriors, steadiness
from lugwright.diagnosis import Steadiness
from lugwright.looking.insight import Insight, insight
from lugwright.looking.steady import steady
from lugwright.plan.machine import extents_seen
from lugwright.report.text import steadiness_words

NAMES = ["one-unit-off-line", "mirrored-toe-in", "new-belt-scuffing", "packed-dirt", "signs-only", "wide-scraper"]


def table(seen: Insight, draws: int = 5, seed: int = 4) -> Redraw:
    case, concluded = seen.case, seen.concluded
    return Redraw(
        shipped(), seen.ground, case.layout, case.drive, concluded.context, extents_seen(concluded), draws, seed
    )


def steady_of(seen: Insight, **more: int):  # type: ignore[no-untyped-def]
    case, concluded = seen.case, seen.concluded
    return steadiness(
        shipped(), seen.ground, seen.judgement.evidence, layout=case.layout, drive=case.drive,
        context=concluded.context, extents=extents_seen(concluded), **more,
    )  # fmt: skip


def same(one: Network, other: Network) -> None:
    for name in ("prior", "link", "leak"):
        assert getattr(one, name) == pytest.approx(getattr(other, name), abs=1e-12)
    for mark, again in zip(one.marks, other.marks, strict=True):
        assert mark.share == pytest.approx(again.share, abs=1e-12)
        assert mark.weight == pytest.approx(again.weight, abs=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_without_a_draw_the_network_is_the_one_that_answers(name: str) -> None:
    seen = insight(example(name), shipped())
    same(table(seen).drawn(0), seen.ground.network)


@pytest.mark.parametrize("name", NAMES)
def test_every_draw_of_a_batch_is_what_its_own_network_gives(name: str) -> None:
    # source: the two exact roads of the package, solved anew for each network
    seen = insight(example(name), shipped())
    drawn = table(seen)
    marginal, no_fault = posteriors(drawn, seen.judgement.evidence, slice(0, 6))
    assert marginal[:, 0] == pytest.approx(seen.judgement.posterior.marginal, abs=1e-8)
    assert no_fault[0] == pytest.approx(seen.judgement.no_fault, abs=1e-8)
    for number in range(1, 6):
        again = posterior(drawn.drawn(number), seen.judgement.evidence)
        assert marginal[:, number] == pytest.approx(again.marginal, abs=1e-8)
    if not seen.ground.harmless:
        assert no_fault[1] == pytest.approx(posterior(drawn.drawn(1), seen.judgement.evidence).no_fault, abs=1e-8)


def test_only_the_versions_a_cause_really_has_are_laid_out() -> None:
    # in a square table a cause with five marks made every other cause 32 times as dear as it is
    seen = insight(example("new-belt-scuffing"), shipped())
    network, evidence = seen.ground.network, seen.judgement.evidence
    row = steadiness_module._weights(table(seen), evidence, slice(0, 2))[0]
    marks = Counter(mark.cause for mark in network.marks if set(mark.signs) & set(evidence.seen))
    wanted = {
        cause: network.stages << marks[cause] for cause in range(len(network.causes)) if network.prior[cause].any()
    }
    assert Counter(row.tolist()) == wanted
    assert max(wanted.values()) > network.stages


def test_no_fault_of_a_draw_counts_what_is_normal_as_no_fault() -> None:
    from dataclasses import replace

    seen = insight(example("healthy"), shipped())
    drawn = table(seen)
    _, no_fault = posteriors(drawn, seen.judgement.evidence, slice(0, 4))
    evidence = seen.judgement.evidence
    keys = [[seen.ground.signs[at] for at in some] for some in (evidence.seen, evidence.absent)]
    for number in range(4):
        again = judge(replace(seen.ground, network=drawn.drawn(number)), *keys, weigh=False)
        assert no_fault[number] == pytest.approx(again.no_fault, abs=1e-7)


def test_every_drawn_rate_lies_within_what_its_word_allows() -> None:
    drawn = table(insight(example("signs-only"), shipped()), draws=200)
    some = np.arange(len(drawn.links.row))
    rates = drawn.rates(slice(1, 201), some)
    scales = shipped().scales.how_often
    for at, word in enumerate(HOW_OFTEN_DOWN):
        mine = rates[:, drawn.links.word == at]
        assert mine.min() >= scales[word].low - 1e-12
        assert mine.max() <= scales[word].high + 1e-12
    ratio = drawn.cause_factor[1:]
    assert 1 - EITHER_WAY <= ratio.min() < 0.8
    assert 1.2 < ratio.max() <= 1 + EITHER_WAY


def test_one_draw_holds_for_all_places_of_a_link() -> None:
    drawn = table(insight(example("signs-only"), shipped()))
    rates = drawn.rates(slice(1, 3), np.arange(len(drawn.links.row)))
    for pair in range(0, int(drawn.links.pair.max()), 40):
        for word in np.unique(drawn.links.word[drawn.links.pair == pair], axis=0):
            mine = (drawn.links.pair == pair) & (drawn.links.word == word).all(axis=1)
            assert (rates[:, mine] == rates[:, mine][:, :1]).all()


def test_triangular_draws_have_the_mean_of_the_triangle() -> None:
    # source: mean of a triangular distribution, (low + value + high) / 3; a textbook formula, from memory
    quantile = (np.arange(20000) + 0.5) / 20000
    assert _triangular(quantile, 0.38, 0.5, 0.62).mean() == pytest.approx(0.5, abs=1e-5)
    assert _triangular(quantile, 0.03, 0.07, 0.14).mean() == pytest.approx(0.08, abs=1e-5)


def test_the_same_seed_gives_the_same_answer_and_another_seed_nearly_so() -> None:
    seen = insight(example("signs-only"), shipped())
    one, again, other = steady_of(seen), steady_of(seen), steady_of(seen, seed=7)
    assert one == again
    assert abs(one.first_in - other.first_in) <= 0.1 * one.draws
    assert one.low < one.high
    assert sum(times for _, times in one.firsts) == one.draws == 300


def test_a_first_place_that_nothing_rivals_is_steady_and_a_close_one_is_not() -> None:
    far = steady(insight(example("mirrored-toe-in"), shipped()))
    assert far.word == "steady"
    assert far.first_in == far.draws
    rows = "seen: [{symptom: tension-keeps-dropping, unit: left}, {symptom: belt-sag-slap, unit: left}]\n"
    close = steady(insight(written(rows, "two-track", "friction"), shipped()))
    assert close.low < close.high
    assert close.first_in <= far.first_in


def test_the_words_never_round_a_doubt_away() -> None:
    one = Steadiness(draws=300, first="x", first_in=299, word="steady", low=0.4, high=0.6)
    assert "first in 99 of 100" in steadiness_words(one)
    assert "fewer than 1 of" in steadiness_words(one.model_copy(update={"first_in": 1}))
    assert "first in 100 of 100" in steadiness_words(one.model_copy(update={"first_in": 300}))


def test_findings_that_hang_together_widely_get_fewer_draws_and_say_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("lugwright.belief.steadiness.WORK", 6.0e7)
    found = steady(insight(example("side-hill-look-alike"), shipped()))
    assert found.draws < 300 or "set aside" in found.note
    assert found.note
