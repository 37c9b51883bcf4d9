"""Lints of the scales: do the words rise and fall as they read, and is none left without a number?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import get_args

from lugwright.rulebase.words import LESS_LIKELY, Appears, Beforehand, HowOften, Shift, SoundRate
from lugwright.rulelint.registry import Flaw, lint
from lugwright.rulelint.whole import Whole


@lint("words-out-of-order", "error")
def words_out_of_order(whole: Whole) -> Iterator[Flaw]:
    """Words whose numbers do not follow their meaning."""
    scales = whole.rulebase.scales
    rows: list[tuple[str, Sequence[tuple[str, float]]]] = [
        ("how_often", [(word, scales.how_often[word].value) for word in reversed(get_args(HowOften))]),
        ("low of how_often", [(word, scales.how_often[word].low) for word in reversed(get_args(HowOften))]),
        ("high of how_often", [(word, scales.how_often[word].high) for word in reversed(get_args(HowOften))]),
        ("sound", [(word, scales.sound[word]) for word in reversed(get_args(SoundRate))]),
        ("beforehand", [(word, scales.beforehand[word]) for word in reversed(get_args(Beforehand))]),
        ("shifts", [(word, scales.shifts[word]) for word in get_args(Shift)]),
    ]
    for scale, words in rows:
        for (less, low), (more, high) in pairwise(words):
            if not low < high:
                yield Flaw(
                    "scales",
                    f"under {scale} '{less}' is {low:g} and '{more}' is {high:g}",
                    "a stronger word must stand for a larger number",
                    "look for a slipped digit",
                )
    for shift, factor in scales.shifts.items():
        if (factor < 1) != (shift in LESS_LIKELY):
            what = f"the shift '{shift}' multiplies by {factor:g}"
            why = "likelier means a factor above 1, less likely one below"
            yield Flaw("scales", what, why, "look for a slipped point")
    for (less, low_), (more, high_) in pairwise(scales.extents.items()):
        if not low_.fault / low_.sound <= high_.fault / high_.sound:
            what = f"the extent '{more}' speaks less for a fault than '{less}', which is named before it"
            yield Flaw("scales", what, "a wider extent must weigh at least as much", "look for a slipped digit")
    for word, rate in (*scales.beforehand.items(), *scales.rate_per_visit.items()):
        if rate <= 0:
            yield Flaw("scales", f"'{word}' is {rate:g}", "a rate must be above 0", "look for a slipped digit")


@lint("stage-incomplete", "error")
def stage_incomplete(whole: Whole) -> Iterator[Flaw]:
    """A stage without a number for every time a sign can appear, or with one that runs backward."""
    for name, stage in whole.rulebase.scales.stages.items():
        for word in get_args(Appears):
            if word not in stage.drop:
                what = f"the stage '{name}' says nothing of signs that appear {word}"
                yield Flaw("scales", what, "they would silently drop by nothing", f"add {word}: to its drop:")
        drops = [stage.drop[word] for word in get_args(Appears) if word in stage.drop]
        if drops != sorted(drops) or min(drops, default=0) < 0:
            yield Flaw(
                "scales",
                f"in the stage '{name}' a later sign drops by fewer words than an earlier one",
                "what comes later is rarer while a fault is young",
                "let drop: rise from before-wear to late",
            )
