"""A seeded sample of single mistakes in the shipped rule base. `tests/tools/mutate_rules.py` makes thousands."""

from __future__ import annotations

import shutil
import sys
from collections import Counter
from pathlib import Path

import pytest
from quiet_base import no_cache  # noqa: F401

from lugwright.issues import render
from lugwright.rulebase.load import inspect, shipped_folder
from lugwright.rulelint.run import lint

sys.path.append(str(Path(__file__).resolve().parents[1] / "tools"))
from mutate_rules import PROSE, Mutator, Outcome, Shop

#: Mistakes that leave nothing a person could have meant. Outside the words for people they never go unnoticed.
SLIPS = {
    "misspell-key", "misspell-word", "repeat-key", "repeat-item", "swap-id-of-another-kind", "wrong-type", "move-entry",
    "odd-mark", "empty-value",
}  # fmt: skip
SAMPLE = 21  # one of each kind


@pytest.fixture(scope="module")
def shop() -> Shop:
    return Shop()


@pytest.fixture(scope="module")
def outcomes(shop: Shop) -> list[Outcome]:
    return [shop.examine(one) for one in Mutator(shop, seed=20).make(SAMPLE)]


def test_every_mistake_is_refused_flagged_or_explained(outcomes):
    assert [one.mutation for one in outcomes if one.result == "unnoticed" and not one.why] == []
    assert len({one.mutation.kind for one in outcomes}) == SAMPLE
    assert Counter(one.result for one in outcomes)["refused"] > SAMPLE // 3


def test_a_slip_outside_the_words_for_people_never_goes_unnoticed(outcomes):
    unseen = [one.mutation for one in outcomes if one.result == "unnoticed" and one.mutation.kind in SLIPS]
    assert [one for one in unseen if one.field not in PROSE] == []


def test_every_message_says_where(outcomes):
    for one in outcomes:
        for issue in one.issues:
            assert issue.spot.file.startswith("rules/")
            assert issue.code
            assert len(render(issue)) < 2000
        if one.result == "refused":
            assert any(issue.spot.line > 0 for issue in one.issues)


def test_the_quick_way_gives_what_loading_the_folder_gives(outcomes, tmp_path, monkeypatch):
    chosen = {one.result: one for one in outcomes if one.result in ("refused", "error", "unnoticed")}
    assert len(chosen) == 3
    for result, one in chosen.items():
        home = tmp_path / result / "rules"
        shutil.copytree(shipped_folder(), home)
        (home / one.mutation.file).write_bytes(one.mutation.text)
        monkeypatch.chdir(home.parent)
        rulebase, issues = inspect(Path("rules"))
        assert (rulebase is None) is (result == "refused")
        if rulebase is None:
            assert issues == one.issues
        else:
            assert set(one.issues) <= set(lint(rulebase))


def test_a_mutation_that_says_the_same_is_known_as_such(shop):
    name = "causes/toe-in-error.yaml"
    rulebase, issues = shop.load({name: b"# a comment\n" + shop.raw[name]})
    assert issues == ()
    assert rulebase is not None
    assert rulebase.fingerprint == shop.mark
