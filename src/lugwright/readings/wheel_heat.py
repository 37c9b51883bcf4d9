"""Hub and rim temperatures against their peers: which wheel stands out, and is it the bearing or the rubber?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from lugwright.readings.uncertainty import HUB_K, ReadingRefused, State, against, together, within_reach

#: How far a hub may stand above its peers when the sheet names no figure. common practice: 15 to 20 K.
LIMIT_K = 15.0
#: Rubber hotter than this at its surface is too hot, in degC. common practice: 65 °C.
RUBBER_C = 65.0
#: No wheel is colder or hotter than this in use, in degC. judgement: above it rubber and grease burn.
WHEEL_C = (-50.0, 300.0)
TEMPERATURES = ("hub", "peer-1", "peer-2", "peer-3", "rim", "rim-hub")
#: Minutes within which one round of readings must be taken. common practice
MOST_MINUTES = 5.0


def hub_heat(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """The hottest hub of a unit above its peers, and the hottest rim against what rubber bears.

    fields: `hub` and at least two of `peer-1` to `peer-3` in degC, or `excess` in K where it was worked out by hand;
            `rim` (its rubber) and `rim-hub` (the hub of the same wheel) in degC; `apart` in h from the first reading
            to the last.
    sheet:  `hub-temperature-excess` in K, if named.
    Adds    `excess` (K, hub less the mean of its peers) and `state` against the limit; `rim-state` of the rubber
            against 65 degC, whatever its hub; `hottest-hub` (degC): the hotter of `hub` and `rim-hub`.
    Raises  ReadingRefused for a hub without two peers, peers without a hub, an excess that contradicts them, a rim
            without its hub, nothing at all, a temperature no wheel can have, or readings taken too far apart.

    >>> [hub_heat({"excess": kelvin}, {})["state"] for kelvin in (8.0, 16.0, 24.0)]
    ['inside', 'too-close', 'outside']
    >>> hub_heat({"hub": 74.0, "peer-1": 45.0, "peer-2": 47.0}, {})["excess"]
    28.0
    >>> hub_heat({"rim": 72.0, "rim-hub": 51.0}, {})["rim-state"]
    'outside'
    """
    heat = {name: value for name in TEMPERATURES if isinstance(value := fields.get(name), float)}
    if not heat and "excess" not in fields:
        hint = "write hub and its peers, or rim and its hub"
        raise ReadingRefused("excess", "neither a hub nor a rim was read", hint)
    for name, value in heat.items():
        within_reach(name, value, WHEEL_C, "°C", "a wheel")
    if ("rim" in heat) != ("rim-hub" in heat):
        what = "a hot rim says nothing without the hub of the same wheel"
        raise ReadingRefused("rim", what, "write both, or neither")
    apart = fields.get("apart")
    _in_time("apart", apart * 60 if isinstance(apart, float) else 0.0)
    limit = sheet.get("hub-temperature-excess", LIMIT_K)
    found: dict[str, float | str] = dict(fields)
    wheels = {name: value for name, value in heat.items() if not name.startswith("rim")}
    if wheels:
        found |= _stands_out(wheels, limit, fields.get("excess"))
    elif "excess" in fields:
        found["state"] = against(float(fields["excess"]), limit, together(HUB_K, HUB_K / 2))
    if "rim" in heat:
        found["rim-state"] = against(heat["rim"], RUBBER_C, HUB_K)
    hubs = [heat[name] for name in ("hub", "rim-hub") if name in heat]
    if hubs:
        found["hottest-hub"] = max(hubs)
    return found


def _stands_out(wheels: Mapping[str, float], limit: float, noted: float | str | None) -> dict[str, float | str]:
    """The excess of the hub over its peers and its state; noted: an excess that was worked out by hand, if any."""
    if "hub" not in wheels or len(wheels) < 3:
        lacking = f"there are {len(wheels) - 1} peers" if "hub" in wheels else "no hub is written"
        what = f"a hub is compared with two or more like hubs, and {lacking}"
        raise ReadingRefused("hub", what, "read the hub and like hubs on all units: idler with idler")
    hub = next(one for one in against_peers(wheels, limit=limit) if one.wheel == "hub")
    if noted is not None and abs(float(noted) - hub.hub_excess) > 1.0:
        what = f"the excess is written as {float(noted):g} K, and hub and peers give {hub.hub_excess:.3g} K"
        raise ReadingRefused("excess", what, "leave the excess out; it is worked out from hub and peers")
    return {"excess": hub.hub_excess, "state": hub.state}


def _in_time(field: str, minutes: float) -> None:
    if minutes > MOST_MINUTES:
        what = f"the round took {minutes:.3g} min; wheels cool, so it may take {MOST_MINUTES:g} min"
        raise ReadingRefused(field, what, "run again and go round faster")


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
    _in_time("minutes", minutes)
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
