"""Turning what the rules and the network found into the rows of a `Diagnosis`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from lugwright.belief.ground import Ground, Key, applies
from lugwright.belief.judge import Judgement, Leader
from lugwright.belief.posterior import ImpossibleEvidence, TooWide
from lugwright.chaining.base_facts import sheet_numbers
from lugwright.chaining.conclude import Conclusions, fact_words
from lugwright.chaining.rules import Step
from lugwright.diagnosis import (
    AnswerShown,
    Edge,
    FindingShown,
    NextCheck,
    NormalShown,
    RankedCause,
    ReadingShown,
    RulebaseLabel,
    RuledOut,
    SheetShown,
    StepShown,
    VerdictShown,
    Without,
    Work,
)  # fmt: skip
from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.places import UNITS, place_from_key, units_of
from lugwright.plan.confirm import not_now
from lugwright.plan.said import by_ids, said
from lugwright.plan.too_close import too_close
from lugwright.quantities import show
from lugwright.readings import derive
from lugwright.rulebase.reading_fields import field_quantities

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord, Finding
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.schema import Cause

#: The question whose answer sets how many faults a visit brings.
VISIT = "visit"

#: A change of probability smaller than this is not worth a line.
NOTICEABLE = 0.005
#: Less doubt than this is not worth a line either.
SMALLEST_DOUBT = 0.001
#: Signs named that carry a cause together.
CARRIERS = 3
#: Ranked causes below this are not listed.
LISTED = 0.005
#: Said before any work or check, in every output.
COMMON_CAUTION = (
    "Before a hand goes near a belt or wheel: level ground, engine off, key out, park brake, chocks, everything "
    "stopped and cool. The operator's manual, local rules and qualified people come before anything said here."
)


@contextmanager
def refused(case: CaseRecord, rulebase: RuleBase) -> Iterator[None]:
    """Turn evidence that is impossible, or too much for an exact answer, into a message for the person."""
    try:
        yield
    except ImpossibleEvidence as problem:
        keys = [str(sign) for sign in problem.signs]
        spots = {f"{one.symptom}@{one.place.key}": one.spot for one in case.findings}
        raise UnusableInput(
            Issue(
                spots.get(key) or Spot(case.file),
                "impossible-together",
                f"'{key}' cannot hold together with "
                + (", ".join(other for other in keys if other != key) or "this machine and context"),
                why="under this rule base no cause and no sound undercarriage can show them at the same time",
                hint="check the notes on the machine; if they are right, a rule or a scale is too absolute",
            )
            for key in keys
        ) from problem
    except TooWide as problem:
        raise UnusableInput([Issue(Spot(case.file), "too-wide", str(problem))]) from problem


def name_of(symptom: str, rulebase: RuleBase) -> str:
    """The plain name of a symptom."""
    return rulebase.symptoms[symptom].name


def key_words(key: Key, rulebase: RuleBase) -> str:
    """A finding in plain words with its place."""
    symptom, place = key
    return f"{name_of(symptom, rulebase)}, {place.words}" if place.key != "machine" else name_of(symptom, rulebase)


def label(rulebase: RuleBase) -> RulebaseLabel:
    """Version and fingerprint of the rule base, and what its overlays added or replaced."""
    return RulebaseLabel(
        version=rulebase.about.version,
        fingerprint=rulebase.fingerprint,
        overlays=tuple(layer.title for layer in rulebase.layers[1:]),
        layer_of={key: title for key in rulebase.layer_of if (title := rulebase.overlay_of(key))},
        replaced=tuple(f"{key} [{layer.title}]" for layer in rulebase.layers[1:] for key in layer.replaces),
        retired=tuple(f"{key} [{layer.title}]" for layer in rulebase.layers[1:] for key in layer.retires),
    )


def sheet_shown(case: CaseRecord, rulebase: RuleBase) -> SheetShown | None:
    """The machine sheet the case names; None where it names none."""
    if case.sheet is None:
        return None
    written = written_at(f"machines/{case.sheet_id}", rulebase)
    return SheetShown(sheet=case.sheet_id, name=case.sheet.name, written=written)


def answers_shown(case: CaseRecord, concluded: Conclusions, rulebase: RuleBase) -> tuple[AnswerShown, ...]:
    """Every answer of the case about the machine and its work, with the rules and causes that made use of it."""
    fired: dict[str, dict[str, None]] = {}
    for step in concluded.steps:
        for used in step.used:
            if used.kind == "context":
                fired.setdefault(str(used.get("name")), {})[step.rule] = None
    rows = []
    for name, value in sorted(case.context.items()):
        question = rulebase.context[name]
        said = show(value, question.quantity or "") if isinstance(value, float) else question.answers[value]
        reads = [one.name for one in rulebase.causes.values() if _reads(one, name, case)]
        rows.append(
            AnswerShown(
                context=name,
                name=question.name,
                answer=said if isinstance(value, float) else f"{value} ({said})",
                rules=tuple(fired.get(name, ())),
                causes=tuple(reads),
                everywhere=name == VISIT,
            )
        )
    return tuple(rows)


def _reads(cause: Cause, name: str, case: CaseRecord) -> bool:
    """Whether a link of a cause that this machine can have depends on an answer."""
    if case.layout not in cause.layouts or case.drive not in cause.drives:
        return False
    return any(name in {**one.given, **one.unless} for one in (*cause.shows, *cause.never_shows))


def machine_words(case: CaseRecord) -> str:
    """Name, layout, drive and hours of the machine in one line."""
    drive = {"friction": "friction drive", "positive": "positive drive", "none": "no drive (trailed)"}[case.drive]
    hours = f"{case.hours:g} h" if case.hours is not None else ""
    return ", ".join(part for part in (case.machine_name, case.layout, drive, hours) if part)


def ranked_causes(judgement: Judgement, rulebase: RuleBase, ground: Ground) -> tuple[RankedCause, ...]:
    """Likely causes with place, word and what each finding is worth; at least one is listed."""
    rows = []
    for rank, leader in enumerate(judgement.leaders):
        if rank and leader.probability < LISTED:
            break
        cause, place = leader.cause
        without = [
            Without(
                finding=f"{key[0]}@{key[1].key}",
                words=("" if state == "seen" else "not found: ") + key_words(key, rulebase),
                speaks="for" if value < leader.probability else "against",
                probability=round(value, 4),
            )
            for key, state, value in leader.without
            if _tells(leader.probability, value)
        ]
        together = leader.without_absences
        if leader.without and together is not None and abs(together - leader.probability) >= NOTICEABLE:
            count = len(judgement.evidence.absent)
            without.append(
                Without(
                    finding="all-absent",
                    words=f"all {count} signs looked for and not found, taken together"
                    if count > 1
                    else "the one sign looked for and not found",
                    speaks="for" if together < leader.probability else "against",
                    probability=round(together, 4),
                )
            )
        rows.append(
            RankedCause(
                cause=cause,
                name=rulebase.causes[cause].name,
                unit=place.unit or None,
                axle=place.axle or None,
                side=place.side or None,
                hand=place.hand or None,
                place_words=place.words,
                probability=round(leader.probability, 6),
                word=rulebase.scales.word_for(leader.probability),
                mild=leader.mild,
                prior=round(leader.prior, 6),
                without=tuple(without),
                together=_together(leader, without, rulebase, ground),
                because=rulebase.causes[cause].because,
                if_ignored=rulebase.causes[cause].if_ignored,
                basis=rulebase.causes[cause].basis.words,
                written=written_at(f"causes/{cause}", rulebase),
            )
        )
    return tuple(rows)


def _together(leader: Leader, told: Iterable[Without], rulebase: RuleBase, ground: Ground) -> tuple[str, ...]:
    """The seen signs that a likely cause shows, those without which it would be least certain first.

    told: what can be told of single findings; where a seen sign is among those that speak for it, nothing more is said.
    """
    seen = {f"{key[0]}@{key[1].key}": (value, key) for key, state, value in leader.without if state == "seen"}
    if leader.probability < 0.5 or any(one.speaks == "for" and one.finding in seen for one in told):
        return ()
    places: dict[str, list[str]] = {}
    for value, (symptom, place) in sorted(seen.values()):
        linked = (leader.row, ground.sign_index[symptom, place]) in ground.words
        if linked and value <= leader.probability:
            places.setdefault(symptom, []).append("" if place.key == "machine" else place.words)
    named = list(places.items())[:CARRIERS]
    return tuple(name_of(one, rulebase) + (f" ({'; '.join(at)})" if any(at) else "") for one, at in named)


def _tells(now: float, without: float) -> bool:
    """Whether leaving a finding out tells something: a visible change, or twice the doubt in what is almost certain."""
    doubted = without < now and 1 - without >= max(SMALLEST_DOUBT, 2 * (1 - now))
    return abs(without - now) >= NOTICEABLE or doubted


def written_at(key: str, rulebase: RuleBase) -> str:
    """File and line of an entry, `kind/id`; empty where that is not known."""
    spot = rulebase.spots.get(key)
    return f"{spot.file}:{spot.line}" if spot else ""


def normal_shown(judgement: Judgement, rulebase: RuleBase) -> tuple[NormalShown, ...]:
    """What is normal on a sound machine and likely enough to be named."""
    return tuple(
        NormalShown(
            cause=cause,
            name=rulebase.causes[cause].name,
            place_words=place.words,
            probability=round(probability, 6),
            word=rulebase.scales.word_for(probability),
        )
        for (cause, place), probability in judgement.normal
        if probability >= 0.2
    )


def findings_shown(
    concluded: Conclusions, rulebase: RuleBase, case: CaseRecord | None = None
) -> tuple[FindingShown, ...]:
    """Every finding the reasoning used; with the case, on which wheels it was noted and what was written beside it."""
    written: dict[tuple[str, str], Finding] = {(one.key, one.state): one for one in case.findings} if case else {}
    return tuple(
        FindingShown(
            symptom=one.symptom,
            name=name_of(one.symptom, rulebase),
            place=one.place.key,
            place_words=one.place.words,
            state=one.state,  # type: ignore[arg-type]
            extent=one.extent or None,
            source=one.source,
            component=rulebase.symptoms[one.symptom].component,
            wheels=noted.wheels if (noted := written.get((one.key, one.state))) else (),
            note=noted.note if noted else "",
        )
        for one in concluded.findings
    )


def readings_shown(case: CaseRecord, concluded: Conclusions, rulebase: RuleBase) -> tuple[ReadingShown, ...]:
    """Every measurement: as written, what it works out to, and what the rules drew from it or could not draw."""
    rows = []
    lengths = sheet_numbers(case.sheet)
    for reading in case.readings:
        check = rulebase.checks[reading.check]
        quantities = field_quantities(check)
        derived = derive(check.computation, reading.fields, lengths)
        at = "" if reading.place.key == "machine" else f"@{reading.place.key}"
        key = f"reading {reading.check}{at}"
        found = [
            fact_words(new).split(" ")[0]
            for step in concluded.steps
            if any(fact_words(used).startswith(f"{key} ") for used in step.used)
            for new in (*step.concluded, *step.confirmed)
            if new.kind == "finding"
        ]
        refused = str(derived.get("refused", ""))
        void = (reading.check, reading.place.unit) in concluded.void
        close = too_close(reading, derived, concluded, rulebase) if not void and not refused else None
        rows.append(
            ReadingShown(
                check=reading.check,
                name=check.name,
                place=reading.place.key,
                place_words=reading.place.words,
                text=", ".join(f"{name} {text}" for name, text in reading.texts.items()),
                means=", ".join(
                    f"{name} {show(value, quantities[name]) if isinstance(value, float) else value}"
                    for name, value in derived.items()
                    if name not in reading.fields and name != "refused"
                ),
                refused=refused,
                void=void,
                findings=tuple(dict.fromkeys(found)),
                note=reading.note,
                too_close=close is not None,
                leaves_open=tuple(name_of(one, rulebase) for one in close or ()),
                care=check.preconditions if close is not None else (),
                not_now=not_now(reading.check, reading.place, case, rulebase, concluded) if close is not None else "",
            )
        )
    return tuple(rows)


def other_notes(case: CaseRecord, concluded: Conclusions, rulebase: RuleBase) -> tuple[str, ...]:
    """Notes beside signs that the reasoning does not use as they were written: those recorded both ways."""
    used = {(one.key, one.state) for one in concluded.findings}
    return tuple(
        f"{key_words((one.symptom, one.place), rulebase)}, written as {'seen' if one.state == 'seen' else 'not seen'}: "
        f"{one.note}"
        for one in case.findings
        if one.note and (one.key, one.state) not in used
    )


def void_shown(concluded: Conclusions, rulebase: RuleBase) -> tuple[str, ...]:
    """Checks whose readings mean nothing at a unit, by name and unit."""
    return tuple(f"{rulebase.checks[check].name}, {unit}" for check, unit in concluded.void)


def unexplained_shown(judgement: Judgement, concluded: Conclusions, rulebase: RuleBase) -> tuple[FindingShown, ...]:
    """Findings that no likely cause accounts for."""
    keys = {f"{symptom}@{place.key}" for symptom, place in judgement.unexplained}
    return tuple(one for one in findings_shown(concluded, rulebase) if one.key in keys)


def not_counted(
    case: CaseRecord, concluded: Conclusions, rulebase: RuleBase, readings: tuple[ReadingShown, ...]
) -> tuple[str, ...]:
    """Parts of which nothing is known although they were measured, as the reading does not count: unit, part, check."""
    unknown = set(not_noted(case, concluded, rulebase))
    found: dict[tuple[str, str], list[str]] = {}
    for key, check in _uncounted(readings, case, rulebase):
        if key in unknown:
            part, _, unit = key.partition("@")
            found.setdefault((unit, check), []).append(part)
    return tuple(
        f"{unit}: {', '.join(dict.fromkeys(parts))} ({check})" for (unit, check), parts in sorted(found.items())
    )


def _uncounted(readings: tuple[ReadingShown, ...], case: CaseRecord, rulebase: RuleBase) -> Iterator[tuple[str, str]]:
    """Every `component@unit` that a reading would have told of, had it counted, with the name of its check."""
    for one in readings:
        if not one.void and not one.refused:
            continue
        place = place_from_key(one.place)
        units = (place.unit,) if place.unit else units_of(place.axle) if place.axle else UNITS[case.layout]
        parts = sorted({rulebase.symptoms[name].component for name in rulebase.checks[one.check].decides})
        yield from ((f"{part}@{unit}", one.name) for unit in units for part in parts)


def not_noted(case: CaseRecord, concluded: Conclusions, rulebase: RuleBase) -> tuple[str, ...]:
    """Components of which no state of any sign is known, as `component@unit`; not evidence, and not cleared."""
    wanted: dict[str, set[str]] = {}
    for name, symptom in rulebase.symptoms.items():
        if (
            symptom.by in ("look", "touch")
            and symptom.where in ("unit", "side")
            and applies(symptom, case.layout, case.drive)
        ):
            wanted.setdefault(symptom.component, set()).add(name)
    noted = {(rulebase.symptoms[one.symptom].component, one.place.unit) for one in concluded.findings}
    return tuple(
        f"{component}@{unit}"
        for component in sorted(wanted)
        for unit in UNITS[case.layout]
        if (component, unit) not in noted
    )


def not_looked_at(
    case: CaseRecord, concluded: Conclusions, rulebase: RuleBase, readings: tuple[ReadingShown, ...] = ()
) -> tuple[str, ...]:
    """The same in words, by unit, without what was measured: a reading that does not count is told by `not_counted`."""
    tried = {key for key, _ in _uncounted(readings, case, rulebase)}
    by_component: dict[str, list[str]] = {}
    for one in (key for key in not_noted(case, concluded, rulebase) if key not in tried):
        component, _, unit = one.partition("@")
        by_component.setdefault(component, []).append(unit)
    missing: dict[tuple[str, ...], list[str]] = {}
    for component, units_missing in by_component.items():
        missing.setdefault(tuple(units_missing), []).append(component)
    every = UNITS[case.layout]
    return tuple(
        f"{'all units' if units == every else ', '.join(units)}: {', '.join(sorted(parts))}"
        for units, parts in sorted(missing.items(), key=lambda item: (-len(item[0]), item[0]))
    )


def ruled_out(concluded: Conclusions, rulebase: RuleBase) -> tuple[RuledOut, ...]:
    """Causes a rule excluded."""
    return tuple(
        RuledOut(
            cause=cause,
            name=rulebase.causes[cause].name,
            place_words="" if place.key == "machine" else place.words,
            rule=rule,
        )
        for cause, place, rule in concluded.excluded
    )


def steps_shown(steps: Iterable[Step], rulebase: RuleBase) -> tuple[StepShown, ...]:
    """Every firing, readable without the engine."""
    return tuple(
        StepShown(
            number=step.number,
            rule=step.rule,
            file=step.file,
            line=step.line,
            used=tuple(by_ids(one, rulebase) for one in step.used),
            absent=tuple(str(one) for one in step.absent),
            concluded=tuple(fact_words(one) for one in (*step.concluded, *step.confirmed)),
            because=rulebase.rules[step.rule].because if step.rule in rulebase.rules else "",
            name=rulebase.rules[step.rule].name if step.rule in rulebase.rules else "",
            basis=rulebase.rules[step.rule].basis.words if step.rule in rulebase.rules else "",
            used_words=tuple(said(one, rulebase) for one in step.used),
        )
        for step in steps
    )


def edges(judgement: Judgement, ground: Ground) -> tuple[Edge, ...]:
    """Signs that bear on the leading causes, with what leaving each out would change."""
    found = []
    for leader in judgement.leaders:
        for key, state, value in leader.without:
            word = ground.words.get((leader.row, ground.sign_index[key]), "")
            worth = round(leader.probability - value, 4)
            if (state == "seen" and word) or abs(worth) >= NOTICEABLE:
                found.append(
                    Edge(
                        finding=f"{key[0]}@{key[1].key}",
                        cause=f"{leader.cause[0]}@{leader.cause[1].key}",
                        worth=worth,
                        how_often=word,
                    )
                )
    return tuple(found)


def cautions(
    ruling: VerdictShown, work: Work | None, checks: tuple[NextCheck, ...], rulebase: RuleBase
) -> tuple[str, ...]:
    """The cautions that stand before anything is done: the common one, then the work's, then the first check's."""
    lines = [COMMON_CAUTION]
    if work:
        lines += work.cautions
    if checks:
        lines += rulebase.checks[checks[0].check].cautions
    return tuple(dict.fromkeys(lines))
