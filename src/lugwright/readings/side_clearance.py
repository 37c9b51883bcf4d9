"""Lug-to-flank clearance after a straight coast: is the belt centred, and if not, which face is tight?"""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.readings.alignment import (
    RUN_MM,
    SHIM_MM,
    End,
    Tight,
    coast_faults,
    end,
    ends_pattern,
    from_shim,
    pattern,
)
from lugwright.readings.centred import centred
from lugwright.readings.uncertainty import ReadingRefused, State

__all__ = ["SHIM_MM", "side_clearance"]

_REAR = ("rear-inboard", "rear-outboard")
_SHIMS = ("inboard-shim", "outboard-shim")


def side_clearance(fields: Mapping[str, float | str], sheet: Mapping[str, float]) -> dict[str, float | str]:
    """Total clearance, offset of the belt, and the face that does not take the shim.

    fields: `inboard`, `outboard`: clearances at the front roller in mm, each >= 0; or `inboard-shim` and
            `outboard-shim`: goes or binds. If taken, `rear-inboard` and `rear-outboard`: the same at the last roller.
            `run` (mm), `brake-or-steering`, `ground`, `gap`, `tension`: how the coast was driven.
    sheet:  `shim-thickness`, `straight-run` and `clearance-aim` in mm, if the sheet names them.
    Adds    `total` (mm, at the front), `offset` (mm, half of outboard minus inboard: positive when the inboard face is
            the tighter one), `tight`: inboard, outboard, both or none; `state`: outside when it is clearly so, inside
            when every face clearly takes the shim and the belt is centred, off-middle when they take it and it lies
            further off than may stay, too-close; `shim`: what the shim said, unless off-middle; `pattern` of the ends.
            Where the rear was measured too, the end that binds speaks for the unit: `tight`, `offset` and `state` are
            those of the front where it binds, else those of the rear; tight on both faces at one end is `both`; `none`
            and a shim that goes mean that both ends are free.
            A coast that was not driven as it must be adds only `refused`, which names the reason.
    Raises  ReadingRefused for one side only, a gap below zero or larger than the part, sides that look swapped, or a
            gap that clearly says the opposite of its shim word.
    Source  statics of a guide lug between two flanks: the two clearances add up to a fixed total.

    >>> side_clearance({"inboard": 4.0, "outboard": 14.0}, {})
    {'inboard': 4.0, 'outboard': 14.0, 'total': 18.0, 'offset': 5.0, 'tight': 'inboard', 'state': 'outside'}
    >>> side_clearance({"inboard": 8.0, "outboard": 9.0}, {"shim-thickness": 6.0})["tight"]
    'none'
    >>> side_clearance({"inboard": 8.0, "outboard": 40.0}, {"clearance-aim": 8.0})["state"]
    'off-middle'
    >>> side_clearance({"inboard": 8.0, "outboard": 9.0, "run": 20_000.0}, {})["refused"]
    'straight run of 20 m, at least 45 m is needed'
    """
    brake, ground, gap, tension = (_word(fields, name) for name in ("brake-or-steering", "ground", "gap", "tension"))
    least_run = sheet.get("straight-run", RUN_MM)
    faults = coast_faults(_number(fields, "run"), brake, ground, gap, tension, least_run)
    shim = sheet.get("shim-thickness", SHIM_MM)
    measured = _pair(fields, "inboard", "outboard")
    words = _pair(fields, *_SHIMS)
    rear = _pair(fields, *_REAR)
    if measured is None and words is None:
        raise ReadingRefused(
            "inboard", "neither gaps nor shim words are written", "write both gaps, or both shim words"
        )
    front = end(float(measured[0]), float(measured[1]), shim) if measured else None
    said = from_shim(*(word == "goes" for word in words)) if words else None
    if front and said and {front.tight, said} == {"inboard", "outboard"}:
        what = f"the gaps bind {front.tight}, the shim binds {said}"
        raise ReadingRefused("inboard-shim", what, "inboard and outboard look swapped; go and see which is which")
    for name, word, state in zip(_SHIMS, words or (), front.states if front else (), strict=False):
        if state != "too-close" and (word == "goes") != (state == "inside"):
            side = name.removesuffix("-shim")
            what = f"'{name}' is {word}, but the gap {side} is {float(fields[side]):g} mm and the shim {shim:g} mm"
            raise ReadingRefused(name, what, "one of the two is wrong; try the shim and the rule again")
    last = end(float(rear[0]), float(rear[1]), shim) if rear else None
    if faults:
        return {**fields, "refused": "; ".join(faults)}
    found: dict[str, float | str] = dict(fields)
    if front:
        found |= {"total": front.total, **_unit(front, last)}
    free_but_off = front is not None and found["state"] == "inside" and not centred(front, sheet.get("clearance-aim"))
    if free_but_off:
        found["state"] = "off-middle"
    shim_says = _shim_of_unit(said, last) if said else None
    if shim_says and not free_but_off:
        found["shim"] = shim_says
    if last and front:
        found["pattern"] = ends_pattern(front, last)
    elif last and said:
        found["pattern"] = "too-close" if last.state == "too-close" else pattern(said, last.tight)
    return found


def _clear(one: End) -> State:
    """State of an end with its word: tight on both faces counts only where both clearly bind."""
    return "too-close" if one.tight == "both" and one.states != ("outside", "outside") else one.state


def _unit(front: End, rear: End | None) -> dict[str, float | str]:
    """Word, offset and state of the unit: of the end that pinches, else the first that binds, else the unsure one."""
    ends = [front] if rear is None else [front, rear]
    ranks = {"outside": 0, "too-close": 1, "inside": 2}
    one = min(ends, key=lambda end: (_clear(end) != "outside" or end.tight != "both", ranks[_clear(end)]))
    return {"offset": one.offset, "tight": one.tight, "state": _clear(one)}


def _shim_of_unit(said: Tight, rear: End | None) -> Tight | None:
    """What the shim said at the front, with the gaps at the rear; None where the rear leaves it open."""
    if rear is None or said == "both":
        return said
    if _clear(rear) == "outside" and (said == "none" or rear.tight == "both"):
        return rear.tight
    return None if said == "none" and _clear(rear) == "too-close" else said


def _pair(fields: Mapping[str, float | str], one: str, other: str) -> tuple[float | str, float | str] | None:
    """Both fields, or None where neither is written. Raises ReadingRefused where only one is."""
    here = [name for name in (one, other) if name in fields]
    if len(here) == 1:
        missing = other if here == [one] else one
        what = f"'{here[0]}' is written and '{missing}' is not"
        raise ReadingRefused(here[0], what, f"one side alone says nothing: add {missing}")
    return (fields[one], fields[other]) if here else None


def _number(fields: Mapping[str, float | str], name: str) -> float | None:
    value = fields.get(name)
    return value if isinstance(value, float) else None


def _word(fields: Mapping[str, float | str], name: str) -> str | None:
    value = fields.get(name)
    return value if isinstance(value, str) else None
