"""Case records built in code for the trade tests: a machine, what is seen where, and what was looked at."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from lugwright.casefile.record import CaseRecord, Finding, Reading
from lugwright.issues import Spot
from lugwright.places import UNITS, Place, place_from_key
from lugwright.rulebase.load import RuleBase, load

RULEBASE: RuleBase = load()
DRIVE = {"two-track": "friction", "four-track": "positive"}
HERE = Spot("test")


def record(
    layout: str,
    seen: Iterable[str],
    *,
    absent: Iterable[str] = (),
    looked_at: bool = False,
    drive: str | None = None,
    context: Mapping[str, str | float] | None = None,
    readings: Iterable[Reading] = (),
    hours: float | None = None,
) -> CaseRecord:
    """A case of this layout. `seen` and `absent` are keys such as `hub-hot@left`; `looked_at` sweeps everything that
    can be seen or touched, which records no test as done.
    """
    drive = drive or DRIVE[layout]
    found = {key: _finding(key, "seen", "seen") for key in seen}
    found.update({key: _finding(key, "absent", "not_seen") for key in absent})
    if looked_at:
        for key in swept(layout, drive):
            found.setdefault(key, _finding(key, "absent", "looked_at"))
    return CaseRecord(
        case="trade",
        machine_name="",
        layout=layout,
        drive=drive,
        file="test",
        hours=hours,
        context=context or {},
        findings=tuple(found.values()),
        readings=tuple(readings),
    )


def swept(layout: str, drive: str) -> list[str]:
    """Every sign that a look or a touch all round the machine would show, and that a sound machine seldom has."""
    from lugwright.belief.ground import applies, sign_places

    return [
        f"{name}@{place.key}"
        for name, symptom in RULEBASE.symptoms.items()
        if symptom.by in ("look", "touch")
        and symptom.sound not in ("usually", "often")
        and applies(symptom, layout, drive)
        for place in sign_places(symptom, layout)
    ]


def _finding(key: str, state: str, source: str) -> Finding:
    name, _, place = key.partition("@")
    return Finding(name, place_from_key(place), state, source, HERE)  # type: ignore[arg-type]


def reading(check: str, place: Place, **fields: float | str) -> Reading:
    """A reading in base units."""
    return Reading(check, place, {name.replace("_", "-"): value for name, value in fields.items()}, {}, HERE)


def keys(symptoms: Iterable[str], places: Iterable[str]) -> list[str]:
    """Every symptom at every place."""
    places = list(places)
    return [f"{symptom}@{place}" for symptom in symptoms for place in places]


def units(layout: str) -> tuple[str, ...]:
    """The units of a layout."""
    return UNITS[layout]
