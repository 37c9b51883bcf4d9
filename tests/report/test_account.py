"""Why and why not: the figures are those of the network, and the text says them in the right words."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import pytest
from report_answers import ROOT, example, shipped

from lugwright.casefile.load import load_case
from lugwright.casefile.record import CaseRecord, Finding
from lugwright.diagnosis import CauseAccount
from lugwright.issues import UnusableInput
from lugwright.places import Place, place_from_key
from lugwright.report.account_text import why_lines, whynot_lines
from lugwright.report.lines import laid_out
from lugwright.triage import account


def record(name: str) -> CaseRecord:
    return load_case(ROOT / "examples" / f"{name}.yaml", shipped())


@lru_cache(maxsize=16)
def told(name: str, wanted: str) -> CauseAccount:
    return account(record(name), shipped(), wanted)


def text(lines: object) -> str:
    return " ".join(" ".join(row for row, _ in laid_out(lines, 110)).split())  # type: ignore[arg-type]


def test_the_likeliest_cause_has_the_figures_of_the_answer() -> None:
    answer = example("one-unit-off-line")
    first = answer.ranked[0]
    found = told("one-unit-off-line", first.cause)
    assert found.key == first.key
    assert found.rank == 1
    assert found.rivals == ()
    assert found.probability == pytest.approx(first.probability, abs=1e-6)
    said = {one.finding: one.probability for one in found.without}
    seen = [one for one in first.without if one.finding in said]
    assert len(seen) >= 3
    for one in seen:
        assert said[one.finding] == pytest.approx(one.probability, abs=1e-4)


def test_a_cause_without_a_place_is_told_at_its_likeliest_place() -> None:
    found = told("one-unit-off-line", "frame-alignment-error")
    assert (found.place, len(found.elsewhere)) == ("front-right/inboard", 7)
    assert found.probability >= max(value for _, value in found.elsewhere)


def test_what_an_open_sign_would_do_is_what_triage_then_says() -> None:
    found = told("signs-only", "frame-alignment-error")
    best = found.open_signs[0]
    symptom, _, place = best.finding.partition("@")
    unit, _, side = place.partition("/")
    case = record("signs-only")
    new = Finding(symptom, Place(unit=unit, side=side), "seen", "seen", case.findings[0].spot)
    after = account(replace(case, findings=(*case.findings, new)), shipped(), found.key)
    assert after.probability == pytest.approx(best.if_seen, abs=1e-4)
    assert after.probability > found.probability


def test_open_signs_stand_with_the_one_that_lifts_most_first_and_their_mean_is_today() -> None:
    found = told("signs-only", "frame-alignment-error")
    lifts = [one.if_seen for one in found.open_signs]
    assert lifts == sorted(lifts, reverse=True)
    moves_priors = {show.symptom for cause in shipped().causes.values() for show in cause.never_shows}
    moves_priors |= asked_for()
    others = [one for one in found.open_signs if one.finding.partition("@")[0] not in moves_priors]
    assert others
    for one in others:  # the law of total probability; what moves the priors as well does not keep the mean
        mean = one.probability * one.if_seen + (1 - one.probability) * one.if_absent
        assert mean == pytest.approx(found.probability, abs=2e-5)


def asked_for() -> set[str]:
    """Signs that some chaining rule asks for."""
    return {
        str(getattr(one, "seen", "") or getattr(one, "absent", ""))
        for rule in shipped().rules.values()
        for one in (*rule.when, *rule.unless)
    }


@pytest.mark.parametrize("cause", ["dry-clean-running", "ground-hazard-damage"])
def test_what_a_sign_would_do_is_what_it_does_when_it_is_written_down(cause: str) -> None:
    """Rules conclude more from some signs; the figure is that of the case with the sign, not that of the sign alone."""
    case, found = record("signs-only"), told("signs-only", cause)
    reacts = [one for one in found.open_signs if one.finding.partition("@")[0] in asked_for()][:2]
    for one in (*reacts, *found.open_signs[:2]):
        symptom, _, place = one.finding.partition("@")
        for state, source, figure in (("seen", "seen", one.if_seen), ("absent", "not_seen", one.if_absent)):
            more = Finding(symptom, place_from_key(place), state, source, case.findings[0].spot)  # type: ignore[arg-type]
            findings = tuple(sorted((*case.findings, more), key=lambda row: (row.symptom, row.place)))
            after = account(replace(case, findings=findings), shipped(), found.key)
            assert after.probability == pytest.approx(figure, abs=2e-5), (one.finding, state)


def test_an_open_sign_names_the_check_that_settles_it() -> None:
    for one in told("signs-only", "frame-alignment-error").open_signs:
        if one.check:
            assert one.finding.partition("@")[0] in shipped().checks[one.check].decides


def test_an_excluded_cause_names_the_rule_and_offers_no_way_out() -> None:
    answer = example("one-unit-off-line")
    assert answer.ruled_out, "the example no longer rules a cause out"
    out = answer.ruled_out[0]
    found = told("one-unit-off-line", out.cause)
    said = text(whynot_lines(found))
    assert [one.rule for one in found.excluded_by] == [out.rule]
    assert found.excluded_by[0].written in said
    assert "no finding can lift this cause" in said
    assert found.open_signs == ()
    assert found.probability == 0


def test_a_rule_that_moved_a_cause_is_named_with_what_it_used() -> None:
    found = told("side-hill-look-alike", "side-hill-one-side@left-hand")
    assert found.shifted_by
    said = text(why_lines(found))
    for one in found.shifted_by:
        assert one.rule in said
        assert one.says.replace("-", " ") in said
        assert all(" ".join(used.split()) in said for used in one.used_words)


def test_what_stands_ahead_of_a_cause_is_named() -> None:
    found = told("side-hill-look-alike", "frame-alignment-error@front-right")
    first = example("side-hill-look-alike").ranked[0]
    assert found.rivals[0].cause == first.cause
    assert found.rank > 1
    assert first.name in text(whynot_lines(found))


def test_the_text_rises_only_with_what_lifts_and_falls_only_with_what_lowers() -> None:
    said = [row for row, _ in laid_out(why_lines(told("one-unit-off-line", "frame-alignment-error")), 110)]
    rise = said[next(i for i, row in enumerate(said) if row.startswith("Would rise")) :]
    arrows = [row.rsplit("  ", 1)[1] for row in rise if "→" in row]
    assert arrows
    for arrow in arrows:
        before, after = (float(part.strip("<> %")) for part in arrow.split("→"))
        assert after >= before


@pytest.mark.parametrize(
    ("wanted", "code", "hint"),
    [
        ("frame-alignment-eror", "unknown-cause", "frame-alignment-error"),
        ("toe-in-error@front-left", "unknown-place", "front-axle"),
        ("toe-in-error@nowhere", "unknown-place", "not a place"),
        ("no-fault", "unknown-cause", "where every cause is absent"),
        ("zzz", "unknown-cause", "lugwright rules list causes"),
    ],
)
def test_a_cause_or_place_that_is_not_there_is_told_in_words(wanted: str, code: str, hint: str) -> None:
    with pytest.raises(UnusableInput) as refused:
        account(record("one-unit-off-line"), shipped(), wanted)
    assert code in str(refused.value)
    assert hint in str(refused.value)


def test_a_cause_of_another_machine_says_so() -> None:
    trailed = replace(record("one-unit-off-line"), drive="none", findings=(), readings=(), context={})
    with pytest.raises(UnusableInput, match="cannot act on this machine"):
        account(trailed, shipped(), "worn-drive-wheel")


def test_what_carries_a_cause_that_is_almost_certain_is_told_in_finer_figures() -> None:
    found = CauseAccount.model_validate(
        {
            **told("one-unit-off-line", "frame-alignment-error").model_dump(),
            "probability": 0.99997,
            "without": [
                {"finding": "a@left", "words": "First sign", "speaks": "for", "probability": 0.9994},
                {"finding": "b@left", "words": "Second sign", "speaks": "for", "probability": 0.9999},
            ],
        }
    )
    said = text(why_lines(found))
    assert "First sign without it 99.94 %" in said
    assert "Second sign without it 99.990 %" in said


def test_the_opening_of_a_mechanism_says_something_by_itself() -> None:
    said = text(why_lines(told("one-unit-off-line", "frame-alignment-error")))
    opening = " ".join(shipped().causes["frame-alignment-error"].because.split())[:80]
    assert opening in said
