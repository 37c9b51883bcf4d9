"""Hub and rim temperatures against their peers: which wheel stands out, and is it the bearing or the rubber?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from lugwright.readings.uncertainty import HUB_K, ReadingRefused, State, against, together

#: How far a hub may stand above its peers when the sheet names no figure. common practice: 15 to 20 K.
LIMIT_K = 15.0
#: Minutes within which one round of readings must be taken. common practice
MOST_MINUTES = 5.0


def hub_heat(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """The hottest hub of a unit above its peers, against the limit.

    fields: `excess` in K. sheet: `hub-temperature-excess` in K, if named. Adds `state`.

    >>> [hub_heat({"excess": kelvin}, {})["state"] for kelvin in (8.0, 16.0, 24.0)]
    ['inside', 'too-close', 'outside']
    """
    limit = sheet.get("hub-temperature-excess", LIMIT_K)
    return {**fields, "state": against(float(fields["excess"]), limit, together(HUB_K, HUB_K / 2))}


@dataclass(frozen=True)
class Standing:
    """One wheel against its peers, in K. says: hub-hot, rim-hot, even or too-close."""

    wheel: str
    hub_excess: float
    rim_excess: float
    state: State
    says: Literal["hub-hot", "rim-hot", "even", "too-close"]


def against_peers(
    hubs: Mapping[str, float], rims: Mapping[str, float] | None = None, limit: float = LIMIT_K, minutes: float = 0.0
) -> tuple[Standing, ...]:
    """Each wheel of one kind against the mean of the others, hottest hub first.

    hubs, rims: temperature in degC of like wheels by name (idlers with idlers, rollers with rollers), three or more,
                so that one hot wheel does not pull its own yardstick up; the peers are the others, not the mean of all.
    minutes:    time from the first reading to the last.
    Raises      ReadingRefused for fewer than three wheels, unlike lists, or readings taken too far apart.
    common practice: a hub hotter than its rim is a bearing; a rim hotter than its hub is load and speed.

    >>> [(one.wheel, one.says) for one in against_peers({"a": 74.0, "b": 45.0, "c": 47.0})]
    [('a', 'hub-hot'), ('c', 'even'), ('b', 'even')]
    """
    rims = rims or {}
    if minutes > MOST_MINUTES:
        what = f"the round took {minutes:g} min; wheels cool, so it may take {MOST_MINUTES:g} min"
        raise ReadingRefused("minutes", what, "run again and go round faster")
    if len(hubs) < 3:
        raise ReadingRefused(
            "hubs", f"{len(hubs)} wheels; a peer needs three or more of a kind", "read like wheels on all units"
        )
    if rims and set(rims) != set(hubs):
        raise ReadingRefused("rims", "the rims are not those of the hubs", "read hub and rim of the same wheels")
    half = together(HUB_K, HUB_K / (len(hubs) - 1) ** 0.5)
    rows = []
    for wheel, heat in hubs.items():
        hub = heat - _mean(hubs, wheel)
        rim = rims[wheel] - _mean(rims, wheel) if rims else 0.0
        state, rim_state = against(hub, limit, half), against(rim, limit, half)
        if state == "outside":
            says: Literal["hub-hot", "rim-hot", "even", "too-close"] = "hub-hot"
        elif rim_state == "outside" and state == "inside":
            says = "rim-hot"
        else:
            says = "too-close" if "too-close" in (state, rim_state) else "even"
        rows.append(Standing(wheel, hub, rim, state, says))
    return tuple(sorted(rows, key=lambda one: (-one.hub_excess, one.wheel)))


def _mean(values: Mapping[str, float], but: str) -> float:
    others = [value for name, value in values.items() if name != but]
    return sum(others) / len(others)
