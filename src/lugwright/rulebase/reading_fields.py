"""Which fields a reading offers to the rules: those written down, and those its computation works out.

The computations themselves stand in `lugwright.readings`; a test holds the two together.
"""

from __future__ import annotations

from lugwright.rulebase.schema import Check

#: Computation -> the fields it adds -> their quantity. `same` means the quantity of the field's own two sides.
DERIVED: dict[str, dict[str, str]] = {
    "side-clearance": {
        "total": "length",
        "offset": "length",
        "tight": "word",
        "state": "word",
        "shim": "word",
        "pattern": "word",
        "refused": "word",
    },
    "turn-repeat": {"between": "length", "says": "word"},
    "toe": {"toe-in": "length", "toe-out": "length", "state": "word"},
    "side-temperature": {
        "inboard-excess": "temperature-difference",
        "outboard-excess": "temperature-difference",
        "difference": "temperature-difference",
        "state": "word",
        "both-state": "word",
    },
    "gap": {"spread": "length", "state": "word", "least-state": "word", "work": "word"},
    "hub-heat": {
        "excess": "temperature-difference",
        "state": "word",
        "rim-state": "word",
        "hottest-hub": "temperature",
    },
    "tension": {"under": "share", "state": "word", "noted": "word"},
    "leak-down": {"drop": "share", "drop-least": "share", "drop-most": "share", "state": "word"},
    "lug-size": {
        "left": "share",
        "state": "word",
        "thin-state": "word",
        "inboard-minus-outboard": "same",
        "faces-state": "word",
        "height-loss": "length",
        "height-state": "word",
    },
    "tread-profile": {"inboard-minus-outboard": "same", "state": "word"},
    "weighing": {
        "total": "mass",
        "front-share": "share",
        "front-state": "word",
        "heavier": "word",
        "heavier-share": "share",
        "side-state": "word",
        "plate-state": "word",
    },
    "slip": {"state": "word"},
    "side-slope": {"downhill-share": "share", "state": "word"},
    "road-run": {"pace": "speed", "lasts": "hours", "heat": "share", "state": "word"},
    "belt-grip": {"forward": "share", "reverse": "share", "state": "word"},
    "ground-pressure": {"mean": "pressure", "most": "pressure", "state": "word"},
    "sag-tension": {"stands-for": "pressure", "state": "word"},
    "plain": {"inboard-minus-outboard": "same"},
}

_THREE = ("inside", "outside", "too-close")
_BAND = ("inside", "below", "above", "too-close")
_TIGHT = ("inboard", "outboard", "both", "none")
#: Words a computation works out -> the words it can give, where they are not just inside, outside or too-close.
ANSWERS: dict[tuple[str, str], tuple[str, ...]] = {
    ("side-clearance", "tight"): _TIGHT,
    ("side-clearance", "shim"): _TIGHT,
    ("side-clearance", "state"): ("inside", "outside", "off-middle", "too-close"),
    ("side-clearance", "pattern"): ("centred", "offset", "skew", "rear-binds", "tight-both", "too-close"),
    ("side-clearance", "refused"): (),
    ("turn-repeat", "says"): ("repeatable", "play", "too-close"),
    ("gap", "least-state"): (*_THREE, "touches"),
    ("gap", "work"): ("none", "set", "flip", "grind", "replace"),
    ("tension", "state"): (*_BAND, "under"),
    ("tension", "noted"): ("below", "inside", "above"),
    ("weighing", "front-state"): _BAND,
    ("weighing", "heavier"): ("left", "right"),
    ("sag-tension", "state"): _BAND,
}


def derived_answers(check: Check, field: str) -> tuple[str, ...]:
    """The words that the computation of a check can give for one of its word fields."""
    return ANSWERS.get((check.computation or "", field), _THREE)


def field_quantities(check: Check) -> dict[str, str]:
    """Every field a rule may read from a reading of this check, with its quantity (or `word`)."""
    written: dict[str, str] = {name: field.quantity for name, field in check.reading.items()}
    for name, quantity in DERIVED.get(check.computation or "", {}).items():
        if quantity != "same":
            written[name] = quantity
        elif "inboard" in written and "outboard" in written:
            own = written["inboard"]
            written[name] = "temperature-difference" if own == "temperature" else own
    return written
