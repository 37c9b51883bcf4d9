"""Which checks are offered, in what order, and the best set of them within some minutes."""

from __future__ import annotations

import itertools
import json
from pathlib import Path

import pytest
from next_cases import ROOT, example, shipped, weighed, written

from lugwright.belief.looks import MOST_SPREAD, joint_looks
from lugwright.diagnosis import SETTLED
from lugwright.looking.next_plan import next_plan
from lugwright.places import Place, place_from_key
from lugwright.plan.budget import AMONG, TOGETHER, best_batch
from lugwright.plan.candidates import Choice
from lugwright.plan.next_checks import JOINED, LEAST_BITS, TOLERANCE, TURNS
from lugwright.report.lines import laid_out
from lugwright.report.next_text import next_lines
from lugwright.summing_up import COMMON_CAUTION

EXAMPLES = sorted(path.stem for path in (ROOT / "examples").glob("*.yaml"))


@pytest.mark.parametrize("name", EXAMPLES)
def test_what_a_check_needs_first_stands_before_it(name: str) -> None:
    _, found = weighed(example(name))
    order = [row.check for row in found.rows]
    for row in found.rows:
        for need in row.after:
            assert order.index(need) < order.index(row.check)


@pytest.mark.parametrize("name", EXAMPLES)
def test_checks_stand_by_what_they_tell_for_each_minute(name: str) -> None:
    _, found = weighed(example(name))
    plain = [row for row in found.rows if not row.after and not row.share_set_up and row.gain_bits >= LEAST_BITS]
    needed = {need for row in found.rows for need in row.after}
    rates = [round(row.gain_bits / row.minutes, 6) for row in plain if row.check not in needed]
    assert rates == sorted(rates, reverse=True)


def test_a_settled_answer_asks_only_for_checks_that_could_still_turn_it() -> None:
    settled = 0
    for name in EXAMPLES:
        seen, found = weighed(example(name))
        if max(found.before[found.counted].max(), seen.judgement.no_fault) < SETTLED:
            continue
        settled += 1
        likelier = found.before[found.counted] > 0.5
        kept = {(row.check, row.unit or "", row.axle or "") for row in found.rows if row.gain_bits}
        for (check, place), look in found.best.items():
            if (check, place.unit, place.axle) in kept:
                turned = ((look.marginal[:, found.counted] > 0.5) != likelier).any(axis=1)
                assert look.probability[turned].sum() >= TURNS
    assert settled >= 3
    assert weighed(example("healthy"))[1].rows == ()


def test_a_check_that_is_done_is_not_offered_and_needs_nothing_before_it_any_more() -> None:
    rows = "seen: [{symptom: lug-face-scuff, unit: front-right, side: inboard}]\n"
    dirty = "not_seen:\n" + "".join(
        f"  - {{symptom: {name}, unit: front-right}}\n" for name in shipped().checks["debris-look"].decides
    )
    _, before = weighed(written(rows))
    _, after = weighed(written(rows + dirty))
    tasks = {task: one for task, one in before.choice.candidates.items() if task[1].key == "front-right"}
    needing = [task for task, one in tasks.items() if ("debris-look", task[1]) in one.first]
    assert needing
    for task in needing:
        assert ("debris-look", task[1]) not in after.choice.candidates[task].first
    assert not [task for task in after.choice.candidates if task[0] == "debris-look" and task[1].key == "front-right"]


def test_packed_dirt_leaves_out_what_it_spoils_on_that_unit_only() -> None:
    _, found = weighed(example("packed-dirt"))
    void = {(one.check, one.where) for one in found.choice.left_out if "packed dirt" in one.why}
    assert ("lug-side-temperature", "rear-left") in void
    assert all(where == "rear-left" for _, where in void)
    assert not [
        task for task in found.choice.candidates if task[1].unit == "rear-left" and (task[0], "rear-left") in void
    ]


def test_on_a_machine_that_must_stand_nothing_is_offered_that_moves_it_or_is_of_high_risk() -> None:
    seen, found = weighed(written("seen: [{symptom: belt-came-off, unit: front-left}]\n"))
    assert any(action == "stop" for action, *_ in seen.concluded.verdicts)
    assert found.rows
    for row in found.rows:
        for check in (row.check, *row.after):
            assert not shipped().checks[check].moves
            assert shipped().checks[check].risk != "high"
    assert any("must stand" in one.why for one in found.choice.left_out)


def test_a_set_up_is_paid_for_once() -> None:
    _, found = weighed(written("seen: [{symptom: lug-face-scuff, unit: front-right, side: inboard}]\n"))
    by_set_up: dict[str, list] = {}
    for task, one in found.choice.candidates.items():
        if one.set_up and task[1].key == "front-right":
            by_set_up.setdefault(one.set_up, []).append(one)
    one, other = next(some[:2] for some in by_set_up.values() if len(some) > 1)
    alone = [found.choice.minutes([some.task]) for some in (one, other)]
    shared = sum(
        found.choice.candidates[task].minutes for task in set(one.first) & set(other.first)
    ) + one.set_up_minutes  # fmt: skip
    assert found.choice.minutes([one.task, other.task]) == pytest.approx(sum(alone) - shared)


def test_gain_of_a_check_is_the_joint_outcome_of_its_signs() -> None:
    seen, found = weighed(example("signs-only"))
    for row in found.rows:
        index = {key: at for at, key in enumerate(seen.ground.network.signs)}
        group = tuple(index[key] for key in row.signs)
        spread = row.several_as_one
        assert len(group) <= (MOST_SPREAD if spread else JOINED)
        joint, apart = ([], [group]) if spread else ([group], [])
        (look,) = joint_looks(
            seen.ground.network, seen.judgement.evidence, joint, spread=apart, rows=found.counted, tolerance=TOLERANCE
        )
        assert row.gain_bits == pytest.approx(look.gain_bits, abs=1e-6)
        places = {place_from_key(key.partition("@")[2]) for key in row.signs}
        assert not spread or len({at.unit or at.axle for at in places} - {""}) > 1
    assert {row.gain_is for row in found.rows} == {"exact", "at-least"}


def test_a_check_over_several_units_never_counts_for_less_than_its_most_telling_signs() -> None:
    wider = 0
    for name in EXAMPLES:
        _, found = weighed(example(name))
        for task, look in found.best.items():
            assert look.gain_bits >= found.few[task].gain_bits - 1e-9
            assert len(found.few[task].signs) <= JOINED
            wider += look.gain_bits > found.few[task].gain_bits
    assert wider


def best_by_hand(choice: Choice, found, minutes: float) -> float:  # type: ignore[no-untyped-def]
    """The most that any set of the same pool tells, tried one by one."""
    from lugwright.plan.budget import _pool

    seen, weighed_ = found
    pool = _pool(weighed_, minutes)
    best = 0.0
    for size in range(1, TOGETHER + 1):
        for some in itertools.combinations(pool, size):
            if choice.minutes([one.task for one in some]) > minutes:
                continue
            signs = tuple(sorted({one.signs[0] for one in some}))
            (look,) = joint_looks(
                seen.ground.network, weighed_.evidence, [signs], rows=weighed_.counted, tolerance=TOLERANCE
            )
            best = max(best, look.gain_bits, *(weighed_.best[one.task].gain_bits for one in some))
    return best


def test_the_best_set_within_some_minutes_is_the_best_of_all_of_them() -> None:
    found = weighed(written("seen: [{symptom: lug-face-scuff, unit: left, side: inboard}]\n", "two-track", "friction"))
    seen, weighed_ = found
    batch = best_batch(weighed_, 45, seen.ground, shipped())
    assert 0 < batch.minutes <= 45
    assert batch.gain_bits >= best_by_hand(weighed_.choice, found, 45) - 1e-6


def test_minutes_that_are_left_over_are_used() -> None:
    """A check that fits beside the best single one and tells something more is in the plan."""
    seen, weighed_ = weighed(example("signs-only"))
    for minutes in (30, 60):
        batch = best_batch(weighed_, minutes, seen.ground, shipped())
        alone = max(
            look.gain_bits for task, look in weighed_.best.items() if weighed_.choice.minutes([task]) <= minutes
        )  # fmt: skip
        assert len(batch.checks) > 1
        assert batch.gain_bits > alone + LEAST_BITS
        assert batch.minutes <= minutes


def test_what_a_plan_tells_is_no_more_than_all_its_signs_together_do() -> None:
    seen, weighed_ = weighed(written("seen: [{symptom: hub-oil-leak, unit: left}]\n", "two-track", "friction"))
    batch = best_batch(weighed_, 30, seen.ground, shipped())
    index = {key: at for at, key in enumerate(seen.ground.network.signs)}
    signs = tuple(dict.fromkeys(index[key] for one in batch.checks for key in one.signs))
    assert len(signs) <= 8, "choose fewer minutes for this test"
    (look,) = joint_looks(seen.ground.network, weighed_.evidence, [signs], rows=weighed_.counted, tolerance=TOLERANCE)
    assert 0 < batch.gain_bits <= look.gain_bits + 1e-6


@pytest.mark.parametrize("name", ["side-hill-look-alike", "one-unit-off-line"])
def test_a_settled_answer_gets_no_plan_of_checks_that_could_not_turn_it(name: str) -> None:
    plan = next_plan(example(name), shipped(), 60)
    assert plan.batch is not None
    if not plan.checks:
        assert plan.batch.checks == ()
    else:
        assert {one.check for one in plan.batch.checks} <= {one.check for one in plan.checks}


def test_a_plan_keeps_to_its_minutes_and_more_minutes_never_tell_less() -> None:
    seen, weighed_ = weighed(example("signs-only"))
    told = 0.0
    for minutes in (1, 30, 60, 120):
        batch = best_batch(weighed_, minutes, seen.ground, shipped())
        assert batch.minutes <= minutes
        order = [one.check for one in batch.checks]
        for one in batch.checks:
            assert set(one.after) <= set(order[: order.index(one.check)])
        assert batch.gain_bits >= told - 1e-6
        assert len(batch.checks) <= AMONG + 4
        told = batch.gain_bits


def test_the_same_case_gives_the_same_plan_to_the_byte() -> None:
    plans = {next_plan(example("signs-only"), shipped(), 30).model_dump_json() for _ in range(2)}
    assert len(plans) == 1


def test_outcomes_of_a_check_add_up_unless_rare_ones_are_left_out() -> None:
    plans = [next_plan(example(name), shipped()) for name in EXAMPLES]
    assert any(plan.checks for plan in plans)
    for check in (check for plan in plans for check in plan.checks):
        total = sum(one.probability for one in check.outcomes)
        least = 0.5 if check.several_as_one else 0.8  # one watch over all units has many rare outcomes
        assert least < total <= 1 + 1e-6 or not check.outcomes


def test_no_outcome_shows_a_difference_between_two_sides_on_both_sides() -> None:
    for name in EXAMPLES:
        for row in weighed(example(name))[1].rows:
            for one in row.outcomes:
                for symptom in (key.split("@")[0] for key in row.signs):
                    entry = shipped().symptoms[symptom]
                    assert not (entry.directed and one.result.count(entry.name) > 1)


def test_the_text_names_minutes_needs_gain_outcomes_and_what_was_left_out() -> None:
    rows = (
        "seen: [{symptom: lug-gap-packed, unit: rear-left},"
        " {symptom: idler-flank-polish, unit: front-right, side: inboard}]\n"
    )
    plan = next_plan(written(rows), shipped(), 30)
    text = "\n".join(row for row, _ in laid_out(next_lines(plan, shipped(), COMMON_CAUTION), 100))
    for words in ("Look next", "tells", "asks", "needs", "if ", "Within 30 min", "Left out", "packed dirt", "redraws"):
        assert words in text


@pytest.mark.parametrize("name", ["signs-only", "new-belt-scuffing"])
def test_cautions_and_what_must_be_so_stand_with_every_check_in_plain_names(name: str) -> None:
    plan = next_plan(example(name), shipped())
    text = " ".join(" ".join(row for row, _ in laid_out(next_lines(plan, shipped(), COMMON_CAUTION), 100)).split())
    for row in plan.checks:
        entry = shipped().checks[row.check]
        for said in (*entry.cautions, *entry.preconditions, *(shipped().checks[one].name for one in row.after)):
            assert " ".join(said.split()) in text
    assert plan.checks
    assert "engine off, key out" in text


def test_what_must_come_before_a_check_is_offered_at_its_own_place() -> None:
    """Two checks on two units that need the same look first: it is offered on both."""
    rows = [
        {"symptom": "belt-sag-slap", "unit": "left"},
        {"symptom": "wheel-material-build-up", "unit": "right"},
    ]
    _, found = weighed(written(f"seen: {json.dumps(rows)}\n", "two-track", "friction"))
    placed = [(row.check, row.unit) for row in found.rows]
    assert len(placed) == len(set(placed))
    for row in found.rows:
        for need in found.choice.candidates[row.check, Place(unit=row.unit or "", axle=row.axle or "")].first:
            assert placed.index((need[0], need[1].unit or None)) < placed.index((row.check, row.unit))
    assert len({unit for check, unit in placed if check == "debris-look"}) == 2


def test_the_command_prints_json(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    from lugwright.cli import main

    path = Path("examples") / "signs-only.yaml"
    monkeypatch.chdir(ROOT)
    monkeypatch.setattr("sys.argv", ["lugwright", "next", str(path), "--json", "--minutes", "20"])
    with pytest.raises(SystemExit) as done:
        main()
    assert not done.value.code
    plan = json.loads(capsys.readouterr().out)
    assert plan["batch"]["allowed"] == 20
    assert plan["steadiness"]["draws"] > 0
