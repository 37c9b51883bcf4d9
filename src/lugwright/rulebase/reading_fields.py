"""Which fields a reading offers to the rules: those written down, and those its computation works out.

The computations themselves stand in `lugwright.readings`; a test holds the two together.
"""

from __future__ import annotations

from lugwright.rulebase.schema import Check

#: Computation -> the fields it adds -> their quantity. `same` means the quantity of the field's own two sides.
DERIVED: dict[str, dict[str, str]] = {
    "side-clearance": {"total": "length", "offset": "length", "tight": "word"},
    "toe": {"toe-in": "length", "toe-out": "length"},
    "side-temperature": {
        "inboard-excess": "temperature-difference",
        "outboard-excess": "temperature-difference",
        "difference": "temperature-difference",
    },
    "gap": {"spread": "length"},
    "plain": {"inboard-minus-outboard": "same"},
}


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
