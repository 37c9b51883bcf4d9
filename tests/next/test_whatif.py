"""What other findings would change, and the smallest change that gives another first cause."""

from __future__ import annotations

import itertools

import pytest
from next_cases import example, shipped, written

from lugwright.belief.contest import contest
from lugwright.belief.judge import judge
from lugwright.belief.problem import Variant
from lugwright.issues import UnusableInput
from lugwright.looking.changes import changed_case, read_changes, states
from lugwright.looking.flip import flips
from lugwright.looking.insight import insight
from lugwright.looking.whatif import what_if
from lugwright.places import place_from_key
from lugwright.report.lines import laid_out
from lugwright.report.whatif_text import flips_lines, what_if_lines
from lugwright.triage import triage


def first_of(case) -> str:  # type: ignore[no-untyped-def]
    return insight(case, shipped()).standings()[0].cause


def test_a_changed_finding_gives_the_answer_of_the_case_written_that_way() -> None:
    rows = (
        "seen:\n  - {symptom: lug-face-scuff, unit: front-right, side: inboard}\n"
        "  - {symptom: idler-flank-polish, unit: front-right, side: inboard}\n"
    )
    changed = what_if(written(rows), shipped(), ["idler-flank-polish@front-right/inboard=absent"])
    other = rows.replace(
        "  - {symptom: idler-flank-polish",
        "not_seen:\n  - {symptom: idler-flank-polish",
    )
    answer = triage(written(other), shipped())
    after = {row.cause: row.after for row in changed.ranking}
    for one in answer.ranked[:3]:
        assert after[one.key] == one.probability
    assert after["no-fault"] == answer.no_fault


def test_a_reading_that_says_the_contrary_is_set_aside_and_what_else_it_showed_stays() -> None:
    case = example("one-unit-off-line")
    found = what_if(case, shipped(), ["lug-side-hot@front-right/inboard=absent"])
    assert found.set_aside == ("lug-side-temperature@front-right",)
    assert [(one.before, one.after) for one in found.asked] == [("seen", "absent")]
    assert any(step.only == "before" for step in found.steps)
    before = insight(case, shipped())
    other, aside = changed_case(
        case, before.concluded, read_changes(["toe-in-measured@front-axle=seen"], case, shipped())
    )
    kept, now = states(insight(other, shipped()).concluded), states(before.concluded)
    front = place_from_key("front-axle")
    assert aside == ("toe@front-axle",)
    assert kept["toe-in-measured", front] == "seen"
    assert kept["toe-out-measured", front] == now["toe-out-measured", front] == "absent"


def test_nothing_changes_when_the_state_is_what_it_was() -> None:
    found = what_if(example("signs-only"), shipped(), ["lug-face-scuff@front-right/inboard=seen"])
    assert all(row.before == row.after for row in found.ranking)
    assert found.findings == ()
    assert "already" in found.notes[0]


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("lug-face-scuf@front-right/inboard=seen", "did you mean 'lug-face-scuff'"),
        ("lug-face-scuff@front-right=seen", "one of: lug-face-scuff@front-left/inboard"),
        ("lug-face-scuff@front-right/inboard", "no state is given"),
        ("lug-face-scuff@left/inboard=seen", "not noted at left"),
        ("lug-face-scuff@nowhere=seen", "is not a place"),
        ("hub-hot@front-left=maybe", "'maybe' is not a state"),
        ("hub-hot@front-left=", "'' is not a state"),
        ("", "no sign is given"),
        ("=seen", "no sign is given"),
        ("slope-work=left-uphill", "lugwright compare"),
        ("slope-work", "not a sign"),
        ("lug-clearance@front-right=absent", "belt-off-centre-coast"),
    ],
)
def test_a_finding_that_cannot_be_asked_about_is_refused_in_words(asked: str, said: str) -> None:
    with pytest.raises(UnusableInput) as refused:
        what_if(example("signs-only"), shipped(), [asked])
    assert said in str(refused.value)


def test_two_states_for_one_finding_are_refused() -> None:
    with pytest.raises(UnusableInput, match="two states"):
        what_if(example("signs-only"), shipped(), ["hub-hot@front-left=seen", "hub-hot@front-left=absent"])


@pytest.mark.parametrize(
    "asked",
    [
        ["lug-side-hot@front-right/outboard=seen"],
        ["lug-side-hot@rear-left/inboard=seen", "lug-side-hot@rear-left/outboard=seen"],
    ],
)
def test_a_difference_between_sides_is_not_put_on_both_of_them(asked: list[str]) -> None:
    with pytest.raises(UnusableInput, match="cannot be seen on both sides"):
        what_if(example("one-unit-off-line"), shipped(), asked)


def test_a_difference_between_sides_can_be_moved_to_the_other_one() -> None:
    asked = ["lug-side-hot@front-right/outboard=seen", "lug-side-hot@front-right/inboard=absent"]
    found = what_if(example("one-unit-off-line"), shipped(), asked)
    assert [one.after for one in found.asked] == ["seen", "absent"]


def test_a_case_without_findings_has_none_to_put_otherwise() -> None:
    found = flips(written("", "two-track", "friction"), shipped())
    assert (found.size, found.tried) == (0, 0)
    assert any("no finding" in note.lower() for note in found.notes)


def test_many_variants_at_once_are_each_what_a_case_of_its_own_gives() -> None:
    seen = insight(example("one-unit-off-line"), shipped())
    evidence, ground = seen.judgement.evidence, seen.ground
    one, other = evidence.seen[0], evidence.absent[3]
    variants = [
        Variant(),
        Variant(left_out=one),
        Variant(left_out=(one, other)),
        Variant(left_out=one, also_absent=one),
    ]
    weighed = contest(ground, evidence, variants, 1e-9)
    keys = {
        1: ([sign for sign in evidence.seen if sign != one], list(evidence.absent)),
        2: ([sign for sign in evidence.seen if sign != one], [sign for sign in evidence.absent if sign != other]),
        3: ([sign for sign in evidence.seen if sign != one], [*evidence.absent, one]),
    }
    for at, (there, absent) in keys.items():
        again = judge(ground, [ground.signs[a] for a in there], [ground.signs[a] for a in absent], weigh=False)
        assert weighed.cause[at] / weighed.weight[at] == pytest.approx(again.posterior.marginal, abs=1e-7)
        assert weighed.none[at] / weighed.weight[at] == pytest.approx(again.no_fault, abs=1e-7)


@pytest.mark.parametrize("name", ["packed-dirt", "signs-only"])
def test_every_flip_that_is_printed_gives_another_first_cause(name: str) -> None:
    case = example(name)
    found = flips(case, shipped())
    seen = insight(case, shipped())
    assert found.size
    for flip in found.flips:
        assert len(flip.changes) == found.size
        wanted = read_changes([f"{one.finding}={one.after}" for one in flip.changes], case, shipped())
        other, _ = changed_case(case, seen.concluded, wanted)
        assert first_of(other) == flip.first.cause != found.first.cause


def test_no_smaller_set_does_where_it_says_so() -> None:
    case = example("signs-only")
    found = flips(case, shipped())
    seen = insight(case, shipped())
    assert found.exact
    keys = list(states(seen.concluded))
    for size in range(1, found.size):
        for some in itertools.combinations(keys, size):
            for after in itertools.product(("absent", "unknown"), repeat=size):
                other, _ = changed_case(case, seen.concluded, dict(zip(some, after, strict=True)))
                assert first_of(other) == found.first.cause


def test_the_words_of_both_views() -> None:
    compared = what_if(example("one-unit-off-line"), shipped(), ["lug-side-hot@front-right/inboard=absent"])
    text = "\n".join(row for row, _ in laid_out(what_if_lines(compared), 100))
    for words in ("What if", "as it is", "then", "set aside", "no longer", "Verdict"):
        assert words in text
    text = "\n".join(row for row, _ in laid_out(flips_lines(flips(example("packed-dirt"), shipped())), 100))
    for words in ("First now", "another first cause", "falls to", "weighed"):
        assert words in text
