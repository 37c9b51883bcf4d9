"""Quantities as people write them in a yard: "6 mm", "3/32 in", "221 lbf ft", "15 %", "1/2 turn".

`parse` reads text into one base unit for each kind of quantity, `show` prints it in metric, inch or both. A bare
number is refused wherever a unit matters, because 6 may be millimetres or sixteenths of an inch.
The units and their factors stand in `lugwright.units`.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from lugwright.units import FOOT, FOOT_POUND, INCH, KINDS, MILE, POUND, PSI, UNCLEAR, Kind

System = Literal["metric", "inch", "both"]

_LOOSE = str.maketrans("", "", " .·⋅∙•*×-\u2011")  # what people put between the parts of a unit
_TYPED = {"\u2212": "-", "\u2044": "/", "″": '"', "”": '"', "′": "'", "’": "'", "''": '"'}
_DECIMAL = r"(?:\d+(?:\.\d+)?|\.\d+)"
_NUMBER = re.compile(
    rf"(?P<sign>[+-]?)\s*(?:(?:(?P<whole>\d+)(?:\s+|\s*-\s*))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)|(?P<plain>{_DECIMAL}))"
    r"(?P<rest>.*)$"
)
_FEET_AND_INCHES = re.compile(r"(?P<sign>[+-]?)(?P<feet>\d+)\s*(?:'|ft\b\.?|feet\b|foot\b)\s*(?P<inches>\d.*)$", re.I)


class QuantityError(ValueError):
    """Text that is not the quantity it should be. `hint` says what to write instead."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.hint = hint


class NotANumberError(QuantityError):
    """The text does not begin with a number that can be read in only one way."""


class BareNumberError(QuantityError):
    """A number without a unit where a unit matters."""


class WrongUnitError(QuantityError):
    """A unit of another kind of quantity, or one that is not known."""


class OutOfRangeError(QuantityError):
    """A number no undercarriage can show."""


@dataclass(frozen=True)
class Quantity:
    """A value in the base unit of its kind, with the text it came from.

    >>> Quantity.read("3/32 in", "length")
    Quantity(value=2.38125, quantity='length', text='3/32 in')
    """

    value: float
    quantity: str
    text: str

    @classmethod
    def read(cls, text: str, quantity: str) -> Quantity:
        """Parse and keep the text. Raises QuantityError."""
        return cls(parse(text, quantity), quantity, text)


def parse(text: str, quantity: str) -> float:
    """A quantity in the base unit of its kind (`KINDS[quantity].base`; a share as a fraction, an angle in degrees).

    Lengths, temperatures, their differences and angles may be negative; the other kinds may not. A difference of
    temperatures is scaled and never shifted. A slope in % is read as an angle. Raises QuantityError (a ValueError)
    with a message in plain words and a hint.

    >>> parse("1 1/4 in", "length"), parse("−5 °C", "temperature"), parse("1/2 turn", "angle"), parse("15 %", "share")
    (31.75, -5.0, 180.0, 0.15)
    >>> parse("9 °F", "temperature-difference"), parse("5' 3 in", "length"), parse("5 bar", "pressure")
    (5.0, 1600.2, 500.0)
    >>> parse("6", "length")
    Traceback (most recent call last):
    lugwright.quantities.BareNumberError: '6' has no unit; a length is needed here
    """
    kind = KINDS[quantity]
    said = f"'{_short(text)}'"
    clean = _plain(text)
    number, rest = _number(clean, kind, said)
    unit = rest.lower().translate(_LOOSE)
    if unit not in kind.units:
        raise _refusal(unit, rest, kind, said)
    value = float(f"{kind.units[unit](number):.13g}")  # 1.1 cm must equal 11 mm where a limit is 11 mm
    if quantity == "count" and not float(value).is_integer():
        raise OutOfRangeError(f"{said} is not a whole number; {kind.name} is needed here", f"write {kind.fits}")
    if not kind.least <= value <= kind.most:
        hint = "look for a slipped digit or a wrong unit"
        raise OutOfRangeError(f"{said} is out of range: {_range(kind, value)}", hint)
    return value


@lru_cache(maxsize=1024)
def kinds_of(text: str) -> tuple[str, ...]:
    """Every kind of quantity the text can be read as, in the order of `KINDS`; empty if none.

    >>> kinds_of("130 N·m"), kinds_of("15 %"), kinds_of("soon")
    (('torque',), ('angle', 'share'), ())
    """
    return tuple(quantity for quantity in KINDS if _reads_as(text, quantity))


def _reads_as(text: str, quantity: str) -> bool:
    try:
        parse(text, quantity)
    except QuantityError:
        return False
    return True


def _short(text: str) -> str:
    shown = "".join(mark if mark.isprintable() else " " for mark in text)
    return shown if len(shown) <= 40 else shown[:37] + "..."


def _plain(text: str) -> str:
    """One kind of space, minus, quote and fraction bar, so that text copied from a page reads like typed text."""
    if len(text) > 200:
        return "(long text)"
    spaced = "".join(f" {m}" if unicodedata.decomposition(m).startswith("<fraction>") else m for m in text)
    folded = unicodedata.normalize("NFKC", spaced)
    for found, wanted in _TYPED.items():
        folded = folded.replace(found, wanted)
    folded = re.sub(r"^\s*[\u2013\u2014](?=\s*\d)", "-", folded)
    return " ".join(folded.split())


def _number(clean: str, kind: Kind, said: str) -> tuple[float, str]:
    """The number at the start of the text and what follows it."""
    needed = f"{kind.name} is needed here"
    write = f"write {kind.fits}"
    if not clean:
        raise NotANumberError(f"nothing is written; {needed}", write)
    if not clean.isascii() and any(mark.isdigit() and mark not in "0123456789" for mark in clean):
        raise NotANumberError(f"{said} holds digits that are not 0 to 9", write)
    both = _FEET_AND_INCHES.match(clean)
    if both and "in" in kind.units and "ft" in kind.units:
        inches, unit = _number(both["inches"], kind, said)
        if unit.lower().translate(_LOOSE) not in ("in", "inch", "inches", '"'):
            raise WrongUnitError(f"{said} has feet and then no inches; {needed}", "write for example 5 ft 3 in")
        if not 0 <= inches < 12:
            hint = "twelve inches make a foot: count full feet, or write it all in inches"
            raise OutOfRangeError(f"{said} has {inches:g} inches beside its feet; there are 0 to 11 and a part", hint)
        total = int(both["feet"]) * 12 + inches
        return (-total if both["sign"] == "-" else total), "in"
    match = _NUMBER.match(clean)
    if match is None:
        raise NotANumberError(f"{said} does not begin with a number; {needed}", write)
    rest = match["rest"].strip()
    if rest.startswith(","):
        hint = "use a point for decimals and nothing between thousands: 2.5 or 2500"
        raise NotANumberError(f"the comma in {said} can be read in two ways", hint)
    if re.match(r"(-|–|—|to\b|\.\.)\s*\d", rest):
        hint = "write the reading itself, or the worst of several"
        raise NotANumberError(f"{said} is a range; one number is needed here", hint)
    if re.match(r"[\d.]", rest) or re.match(r"[eE][+-]?\d", rest):
        raise NotANumberError(f"{said} is not one plain number", "write all digits together, for example 2212 mm")
    if match["bottom"] is None:
        value = float(match["plain"])
    elif int(match["bottom"]) == 0:
        raise NotANumberError(f"{said} divides by zero", write)
    else:
        if match["whole"] and int(match["top"]) >= int(match["bottom"]):
            raise NotANumberError(f"{said} is not one plain number", "write a mixed fraction like 1 1/4 in")
        value = int(match["whole"] or 0) + int(match["top"]) / int(match["bottom"])
    if not math.isfinite(value):
        raise OutOfRangeError(f"{said} is too large a number", "look for a slipped digit")
    return (-value if match["sign"] == "-" else value), rest


def _refusal(unit: str, rest: str, kind: Kind, said: str) -> QuantityError:
    """Why a unit does not fit: none, one of another kind, one that is unclear, or an unknown one."""
    write = f"write {kind.fits}"
    if not unit:
        return BareNumberError(f"{said} has no unit; {kind.name} is needed here", write)
    if unit in UNCLEAR:
        return WrongUnitError(f"'{_short(rest)}' in {said} is not clear", UNCLEAR[unit])
    others = [other.name for other in KINDS.values() if unit in other.units]
    if others:
        return WrongUnitError(f"{said} is {' or '.join(others)}; {kind.name} is needed here", write)
    return WrongUnitError(f"'{_short(rest)}' in {said} is not a known unit; {kind.name} is needed here", write)


def _range(kind: Kind, value: float) -> str:
    if not kind.base:
        return f"{kind.name} lies between 0 and {'100 %' if kind.most == 1 else f'{kind.most:.0f}'}"
    if value < kind.least:
        return f"{kind.name} cannot be below {kind.least:.10g} {kind.base}"
    return f"{kind.name} cannot be above {kind.most:.10g} {kind.base}"


def show(value: float, quantity: str, system: System = "metric") -> str:
    """A value in base units as a person reads it. `inch` means inch, pound and Fahrenheit; `both` adds it in brackets.

    Lengths in inches are printed to the nearest 1/64 below 1/8 in and to the nearest 1/32 above. Kinds that have one
    form only (angles, hours, years, shares, counts) read the same in every system.

    >>> show(6, "length", "both"), show(2.5, "length", "both"), show(4, "length", "inch")
    ('6 mm (1/4 in)', '2.5 mm (3/32 in)', '5/32 in')
    >>> show(300, "torque", "both"), show(13, "temperature-difference", "both"), show(0.15, "share", "both")
    ('300 N·m (221 lbf·ft)', '13 K (23 °F)', '15 %')
    """
    metric, inch = _metric(value, quantity), _inch(value, quantity)
    if system == "metric" or not inch:
        return metric
    return inch if system == "inch" else f"{metric} ({inch})"


def _metric(value: float, quantity: str) -> str:
    if quantity == "length" and abs(value) >= 10_000:
        return f"{_trim(value / 1000)} m"
    if quantity == "pressure" and value >= 100:
        return f"{_trim(value / 100)} bar"
    if quantity == "share":
        return f"{_trim(value * 100)} %"
    if quantity == "angle":
        return f"{_trim(value)}°"
    return f"{_trim(value)} {KINDS[quantity].base}".rstrip()


def _inch(value: float, quantity: str) -> str:
    if quantity == "length":
        if abs(value) >= 10_000:
            return f"{value / FOOT:.0f} ft"
        return f"{_fraction(value / INCH)} in"
    factor, unit = {
        "distance": (1 / MILE, "mile"), "temperature-difference": (9 / 5, "°F"), "pressure": (1 / PSI, "psi"),
        "torque": (1 / FOOT_POUND, "lbf·ft"), "mass": (1 / POUND, "lb"), "speed": (1 / MILE, "mph"),
        "temperature": (9 / 5, "°F"),
    }.get(quantity, (0.0, ""))  # fmt: skip
    if not unit:
        return ""
    number = value * factor + (32 if quantity == "temperature" else 0)
    return f"{_trim(number, whole_from=10)} {unit}"


def _trim(number: float, whole_from: float = 10_000) -> str:
    """Two decimals below 10, one below `whole_from`, none above; no trailing zeros and no minus zero."""
    decimals = 0 if abs(number) >= whole_from else 1 if abs(number) >= 10 else 2
    text = f"{number:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _fraction(inches: float) -> str:
    """Inches as a workshop fraction; a gap too small for 1/64 in is printed in thousandths."""
    steps = 64 if abs(inches) < 1 / 8 else 32
    count = round(abs(inches) * steps)
    if count == 0:
        return f"{inches:.3f}" if abs(inches) >= 0.0005 else "0"
    whole, left = divmod(count, steps)
    shared = math.gcd(left, steps)
    parts = [str(whole)] * bool(whole) + [f"{left // shared}/{steps // shared}"] * bool(left)
    return ("-" if inches < 0 else "") + " ".join(parts)
