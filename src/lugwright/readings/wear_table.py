"""Wear readings from a CSV file as people save it: any separator, decimal commas, a byte order mark, units on top."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass, field
from pathlib import Path

from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.quantities import QuantityError, parse
from lugwright.readings.wear_forecast import MOST_MM

HOURS = ("hours", "hour", "h", "hrs", "hr", "hour meter", "hourmeter", "machine hours", "belt hours", "meter")
POSITION = ("position", "place", "unit", "where", "side", "belt", "wheel")
PASSED = ("note", "notes", "date", "comment", "remark", "by")
BIGGEST = 2_000_000
_BRACKET = re.compile(r"^(?P<name>.*?)\s*[\[(]\s*(?P<unit>[^\])]*?)\s*[\])]\s*$")
_TAIL = re.compile(r"^(?P<name>.+?)\s+(?P<unit>mm|cm|in|inch|inches|h|hours)$", re.I)
_COMMA = re.compile(r"(?<=\d),(?=\d)")
#: `1.400` or `1,400` hours: fourteen hundred to one person, one and a bit to another.
_TWO_WAYS = re.compile(r"[1-9]\d{0,2}[.,]\d{3}(?!\d)\D*")
_MARK = re.compile(r"sep=(?P<mark>[;,\t])")
HEADINGS = "head the columns: hours;front-left [mm];... or hours;position;height [mm]"


@dataclass
class Series:
    """Readings of one position in the order of the file: hours, heights in mm, each line's number and text.

    now: hours from which the hours left count; None where that is the last reading.
    """

    position: str
    hours: list[float] = field(default_factory=list)
    heights: list[float] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)
    now: float | None = None


def read_wear(path: Path) -> tuple[Series, ...]:
    """The readings of a file. Raises UnusableInput with every fault, each with its row and the reason."""
    name = path.as_posix()
    try:
        if path.stat().st_size > BIGGEST:
            raise UnusableInput(
                [Issue(Spot(name), "too-large", "this file is larger than 2 MB; no wear record is that long")]
            )
        raw = path.read_bytes()
    except OSError as problem:
        what = f"this file cannot be read: {(problem.strerror or str(problem)).lower()}"
        raise UnusableInput([Issue(Spot(name), "unreadable-file", what)]) from None
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\0" in raw:
        raise UnusableInput(
            [Issue(Spot(name), "not-utf-8", "this file is not plain UTF-8 text", hint="save it as CSV UTF-8")]
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    return wear_from_text(text, name)


def wear_from_text(text: str, name: str = "readings.csv") -> tuple[Series, ...]:
    """The readings of CSV text; see `read_wear`.

    Wide: a column for the hours and one for each position. Long: hours, position, height. Units stand in the header
    (`front-left [mm]`) or in each cell (`44 mm`, `1 3/4 in`).

    >>> rows = wear_from_text("hours;front-left [mm];front-right [mm]\\n0;52,0;52\\n400;44,5;47\\n")
    >>> [(one.position, one.hours, one.heights) for one in rows]
    [('front-left', [0.0, 400.0], [52.0, 44.5]), ('front-right', [0.0, 400.0], [52.0, 47.0])]
    """
    text = text.removeprefix("\ufeff")
    lines = text.splitlines()
    first = next((n for n, line in enumerate(lines) if line.strip() and not line.lstrip().startswith("#")), None)
    if first is None:
        raise UnusableInput([Issue(Spot(name), "empty-file", "nothing is written in this file")])
    told = _MARK.fullmatch(lines[first].strip(" \r\n"))
    if told and first + 1 < len(lines):
        return _Table(name, lines, first + 1, told["mark"]).read()
    mark = ";" if ";" in lines[first] else "\t" if "\t" in lines[first] else ","
    return _Table(name, lines, first, mark).read()


class _Table:
    def __init__(self, name: str, lines: list[str], first: int, mark: str) -> None:
        self.name, self.lines, self.first, self.mark = name, lines, first, mark
        self.issues: list[Issue] = []
        self.found: dict[str, Series] = {}

    def fault(self, line: int, code: str, what: str, why: str = "", hint: str = "") -> None:
        if len(self.issues) < 50:
            self.issues.append(Issue(Spot(self.name, line, 1), code, what, why, hint, text=self.lines[line - 1]))

    def cells(self, number: int) -> list[str]:
        row = next(csv.reader(io.StringIO(self.lines[number]), delimiter=self.mark), [])
        return [cell.strip() for cell in row]

    def read(self) -> tuple[Series, ...]:
        heads = [_head(cell) for cell in self.cells(self.first)]
        names = [name for name, _ in heads]
        hours = [n for n, one in enumerate(names) if one.lower() in HOURS]
        if len(hours) != 1:
            what = "no column is called hours" if not hours else "two columns are called hours"
            self.fault(self.first + 1, "no-hours-column", what, "a rate needs hours", HEADINGS)
            raise UnusableInput(self.issues)
        twice = next((one for n, one in enumerate(names) if one and one.lower() in map(str.lower, names[:n])), None)
        if twice is not None:
            what, why = f"two columns are called '{twice}'", "readings of two places would be taken for one"
            self.fault(self.first + 1, "repeated-column", what, why, "give each place its own name")
            raise UnusableInput(self.issues)
        places = [n for n, one in enumerate(names) if one.lower() in POSITION]
        values = [n for n, one in enumerate(names) if n not in (*hours, *places) and one and one.lower() not in PASSED]
        if not values or (places and len(values) != 1):
            what = (
                "no column holds heights"
                if not values
                else "with a position column there must be one column of heights"
            )
            self.fault(self.first + 1, "no-height-column", what, "", HEADINGS)
            raise UnusableInput(self.issues)
        for number in range(self.first + 1, len(self.lines)):
            if not self.lines[number].strip() or self.lines[number].lstrip().startswith("#"):
                continue
            row = self.cells(number)
            if len(row) > len(heads):
                hint = "a decimal comma in a file that is separated by commas? save it with semicolons, or use points"
                self.fault(
                    number + 1, "too-many-cells", f"{len(row)} cells stand under {len(heads)} headings", "", hint
                )
                continue
            self.row(number + 1, row + [""] * (len(heads) - len(row)), heads, hours[0], places, values)
        if not self.found and not self.issues:
            self.fault(self.first + 1, "no-readings", "no reading stands under the headings")
        if self.issues:
            raise UnusableInput(self.issues)
        return tuple(self.found.values())

    def row(
        self, line: int, row: list[str], heads: list[tuple[str, str]], hours: int, places: list[int], values: list[int]
    ) -> None:
        at = self.number(line, heads[hours][0], row[hours], heads[hours][1] or "h", "hours")
        if at is None:
            return
        for column in values:
            if not row[column]:
                continue
            height = self.number(line, heads[column][0], row[column], heads[column][1], "length")
            if height is None:
                continue
            where = " ".join(row[n] for n in places if row[n]) if places else heads[column][0]
            where = " ".join(where.split()) or "all"
            series = self.found.setdefault(where.lower(), Series(where))
            if height < 0 or height > MOST_MM:
                what = f"'{row[column]}' is {height:g} mm; a height lies between 0 and {MOST_MM:g} mm"
                self.fault(
                    line, "out-of-range", what, "no part can show it", "look for a slipped digit or a wrong unit"
                )
            elif series.hours and at < series.hours[-1]:
                what = f"{at:g} h at '{series.position}' stands after {series.hours[-1]:g} h (line {series.lines[-1]})"
                hint = "mend the hours; after a new meter or a new belt, begin a new file"
                self.fault(line, "hours-backwards", what, "hours only go up, so one of the two is wrong", hint)
            else:
                series.hours.append(at)
                series.heights.append(height)
                series.lines.append(line)
                series.texts.append(self.lines[line - 1])

    def number(self, line: int, head: str, cell: str, unit: str, quantity: str) -> float | None:
        """A cell in base units. A decimal comma is read where it cannot be the separator."""
        if not cell:
            self.fault(line, "missing-hours", f"'{head}' is empty in this row", "a height without hours says nothing")
            return None
        if quantity == "hours" and _TWO_WAYS.fullmatch(cell):
            why = "it may be a thousand and more, or one and a part"
            self.fault(line, "not-a-number", f"'{cell}' under '{head}' can be read in two ways", why,
                       "write hours without a mark between the thousands: 1400")  # fmt: skip
            return None
        text = _COMMA.sub(".", cell, count=1) if self.mark != "," or cell.count(",") == 1 else cell
        if re.fullmatch(r"[+\-\u2212]?[\d.]+", text):
            if not unit:
                self.fault(line, "no-unit", f"'{cell}' under '{head}' has no unit", "44 may be anything",
                           f"write the unit in the heading: {head} [mm]")  # fmt: skip
                return None
            text = f"{text} {unit}"
        elif re.fullmatch(r"[\d\s/]+", text) and unit:
            text = f"{text} {unit}"
        try:
            return parse(text, quantity)
        except QuantityError as problem:
            self.fault(line, "not-a-number", f"'{cell}' under '{head}': {problem}", "", problem.hint)
            return None


def _head(cell: str) -> tuple[str, str]:
    """Name and unit of a heading.

    >>> _head("front-left [mm]"), _head("Hours (h)"), _head("height mm"), _head("rear")
    (('front-left', 'mm'), ('Hours', 'h'), ('height', 'mm'), ('rear', ''))
    """
    found = _BRACKET.match(cell) or _TAIL.match(cell)
    return (found["name"].strip(), found["unit"].strip()) if found and found["name"].strip() else (cell.strip(), "")
