"""The wear map: this machine from above, front up, with every sign at its place. A drawing of our own, written as SVG.

Units are plain rectangles. Along each, from the front to the rear, lie its parts; across it the outboard lane, the
middle, and the inboard lane toward the machine's middle line. A sign is a symbol and a number. Kind of part is told by
symbol, by fill pattern and by colour, so that the map reads in grey and without colour sight.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lugwright.diagnosis import Diagnosis
from lugwright.places import AXLES, unit_hand, units_of
from lugwright.report.labels import wrap
from lugwright.report.markup import Markup, el, joined
from lugwright.report.pattern import pattern_lines
from lugwright.report.wear_cells import FAMILIES, FITTINGS, Cell, WearCells, bands, place_list, wear_cells
from lugwright.report.wear_drawing import box, ring, stroke, words_at
from lugwright.report.wear_symbols import INK, PAPER, hatched, symbol

MARGIN, LANE, GAP, TOP = 66.0, 46.0, 68.0, 44.0
UNIT = 3 * LANE
LEFT, RIGHT = MARGIN, MARGIN + UNIT + GAP
WIDTH = RIGHT + UNIT + 8
ROW, CHIP, CHIP_ROW, BOX = 22.0, 33.0, 18.0, 22.0
BETWEEN = 26.0
SMALL, PLAIN = 10.0, 12.0
PER_LANE, PER_BOX, PER_GAP, PER_ROW = 1, 2, 1, 10
#: Letters in a line of the list below the drawing.
LINE_LETTERS = 62
#: Said where it applies, lest a sign be read as seen twice.
EITHER_IDLER = "A sign of the idlers stands at each of them where it was not noted which one showed it."


def wear_map_svg(answer: Diagnosis, *, key: bool = True, ids: str = "wear-map") -> str:
    """The wear map as one SVG picture; the same diagnosis gives the same bytes.

    key: whether the pattern in words and the list of signs stand below the drawing; the legend always does.
    ids: begins every id in it, so that several maps may stand on one page.
    """
    cells = wear_cells(answer)
    drawing = list(_machine(answer, cells))
    bottom = _bottom(answer, cells)
    below = list(_key(answer, cells, bottom + 12)) if key else []
    below += _legend(cells, (below[-1][1] if below else bottom) + 22)
    drawing += [mark for mark, _ in below]
    bottom = below[-1][1]
    title, text = f"{ids}-title", f"{ids}-words"
    return (
        el(
            "svg",
            el("title", f"Wear map of {answer.case}", id=title),
            el("desc", description(answer, cells), id=text),
            el("rect", x=0, y=0, width=WIDTH, height=bottom + 8, fill=PAPER, class_="wm-paper"),
            *drawing,
            xmlns="http://www.w3.org/2000/svg",
            viewBox=f"0 0 {WIDTH:g} {bottom + 8:g}",
            width=WIDTH,
            height=bottom + 8,
            role="img",
            aria_labelledby=f"{title} {text}",
            font_family="Helvetica, Arial, sans-serif",
            font_size=PLAIN,
        )
        + "\n"
    )


def description(answer: Diagnosis, cells: WearCells | None = None) -> str:
    """The map in words, for those who do not see it: the pattern, then every sign with its places."""
    cells = cells or wear_cells(answer)
    signs = [f"{sign.number}, {sign.name}: {place_list(sign)}." for sign in cells.signs]
    return " ".join([*pattern_lines(answer), *(signs or ["No sign was seen."])])


@dataclass(frozen=True)
class _Rows:
    """How high the bands of one axle are; both of its units share them."""

    top: float
    along: tuple[tuple[str, str, float, float], ...]
    boxes: tuple[tuple[str, str, float, float, float], ...]
    bottom: float


def _rows(answer: Diagnosis, cells: WearCells) -> dict[str, _Rows]:
    found = {}
    y = TOP
    for axle in AXLES[answer.layout]:
        top = y
        units = units_of(axle)
        y += 30
        along = []
        for key, words, _ in bands(answer.layout, answer.drive):
            most = max(cells.units[unit, key].most for unit in units)
            height = max(ROW, -(-most // PER_LANE) * CHIP_ROW + 4)
            along.append((key, words, y, height))
            y += height
        y += 6
        boxes = []
        for first in range(0, len(FITTINGS), 2):
            pair = FITTINGS[first : first + 2]
            most = max(cells.units[unit, key].most for unit in units for key, _, _ in pair)
            height = BOX if not most else 14 + -(-most // PER_BOX) * CHIP_ROW
            boxes += [(key, words, y, height, column * UNIT / 2) for column, (key, words, _) in enumerate(pair)]
            y += height
        found[axle] = _Rows(top, tuple(along), tuple(boxes), y)
        y += BETWEEN
    return found


def _bottom(answer: Diagnosis, cells: WearCells) -> float:
    rows = _rows(answer, cells)
    last = max(one.bottom for one in rows.values())
    return last + (24 + -(-len(cells.machine) // PER_ROW) * CHIP_ROW if cells.machine else 0)


def _machine(answer: Diagnosis, cells: WearCells) -> Iterator[Markup]:
    rows = _rows(answer, cells)
    middle = LEFT + UNIT + GAP / 2
    bottom = max(one.bottom for one in rows.values())
    yield stroke(middle, TOP - 6, middle, bottom, dashed=True)
    arrow = f"M{middle:g} 6 l6 11 h-4 v9 h-4 v-9 h-4 z"
    yield el("path", d=arrow, fill=INK, class_="wm-ink-fill")
    yield words_at(middle + 12, 20, "front", PLAIN)
    yield words_at(middle, TOP - 9, "middle line", SMALL, anchor="middle")
    for axle in AXLES[answer.layout]:
        yield from _axle(axle, rows[axle], cells, middle)
    if cells.machine:
        yield words_at(LEFT, bottom + 16, "whole machine", SMALL)
        yield from _chips(cells.machine, cells, LEFT, bottom + 22, PER_ROW)


def _axle(axle: str, rows: _Rows, cells: WearCells, middle: float) -> Iterator[Markup]:
    for _, words, y, height in rows.along:
        yield words_at(MARGIN - 6, y + height / 2 + 3.5, words, SMALL, anchor="end")
    numbers = cells.axles.get(axle, ())
    centre = (rows.along[0][2] + rows.along[-1][2] + rows.along[-1][3]) / 2
    for y in (centre - 3, centre + 3):
        yield stroke(LEFT + UNIT, y, RIGHT, y)
    if numbers:
        height = 14 + -(-len(numbers) // PER_GAP) * CHIP_ROW
        left, top = middle - GAP / 2 + 8, centre - height / 2
        yield el("rect", x=left, y=top, width=GAP - 16, height=height, fill=PAPER, class_="wm-paper")
        yield box(left, top, GAP - 16, height)
        yield words_at(middle, centre - height / 2 + 11, "both units", SMALL, anchor="middle")
        yield from _chips(numbers, cells, middle - GAP / 2 + 12, centre - height / 2 + 14, PER_GAP)
    for unit in units_of(axle):
        yield from _unit(unit, rows, cells)


def _unit(unit: str, rows: _Rows, cells: WearCells) -> Iterator[Markup]:
    x = LEFT if unit_hand(unit) == "left" else RIGHT
    lanes = ("outboard", "middle", "inboard") if unit_hand(unit) == "left" else ("inboard", "middle", "outboard")
    yield words_at(x + UNIT / 2, rows.top + 11, unit, PLAIN, anchor="middle", bold=True)
    yield words_at(x + 2, rows.top + 25, lanes[0], SMALL)
    yield words_at(x + UNIT - 2, rows.top + 25, lanes[2], SMALL, anchor="end")
    for key, _, y, height in rows.along:
        cell = cells.units[unit, key]
        yield _ground(cell, x, y, UNIT, height)
        yield from _wheel(key, x, y, height)
        for index, lane in enumerate(lanes):
            numbers = cell.lanes.get(lane, ())
            start = x + index * LANE + (LANE - min(len(numbers), PER_LANE) * CHIP) / 2
            yield from _chips(numbers, cells, start, y + (height - _depth(numbers, PER_LANE)) / 2, PER_LANE)
    first, last = rows.along[0], rows.along[-1]
    yield box(x, first[2], UNIT, last[2] + last[3] - first[2], heavy=True)
    for key, words, y, height, shift in rows.boxes:
        cell = cells.units[unit, key]
        yield _ground(cell, x + shift, y, UNIT / 2, height)
        yield box(x + shift, y, UNIT / 2, height)
        yield words_at(x + shift + 4, y + 11, words, SMALL, plate=cell.state == "not looked at")
        yield from _chips(cell.lanes.get("middle", ()), cells, x + shift + 4, y + 13, PER_BOX)


def _wheel(key: str, x: float, y: float, height: float) -> Iterator[Markup]:
    """Wheel halves beside the row of lugs, or the lugs themselves, as faint outlines."""
    if key in ("front-idler", "rear-idler", "drive-wheel", "mid-rollers"):
        for shift in (3.0, 2 * LANE + 3):
            yield box(x + shift, y + 2, LANE - 6, height - 4, faint=True)
    elif key == "lugs":
        yield box(x + LANE + 3, y + 2, LANE - 6, height - 4, faint=True)


def _ground(cell: Cell, x: float, y: float, width: float, height: float) -> Markup:
    """The state of a cell: hatched where nobody looked, a small ring where nothing was found."""
    if cell.state == "not looked at":
        return hatched(x, y, width, height)
    if cell.state == "sound":
        return ring(x + width - 9, y + height / 2)
    return Markup("")


def _depth(numbers: Sequence[int], per_row: int) -> float:
    return -(-len(numbers) // per_row) * CHIP_ROW


def _chips(numbers: Sequence[int], cells: WearCells, x: float, y: float, per_row: int) -> Iterator[Markup]:
    """Symbols with their numbers, in rows from the left."""
    signs = {sign.number: sign for sign in cells.signs}
    for index, number in enumerate(numbers):
        left, top = x + index % per_row * CHIP, y + index // per_row * CHIP_ROW
        plate = el("rect", x=left, y=top + 1, width=CHIP - 1, height=16, rx=3, fill=PAPER, class_="wm-paper")
        words = signs[number].name
        mark = symbol(signs[number].family.id, left + 8, top + 9)
        yield el("g", el("title", f"{number}: {words}"), plate, mark, words_at(left + 16, top + 13, str(number), 11))


def _key(answer: Diagnosis, cells: WearCells, y: float) -> Iterator[tuple[Markup, float]]:
    """The machine, the pattern in words, and every sign by its number, each with how far down it reaches."""
    for part in wrap(f"{answer.case}, {answer.machine}", LINE_LETTERS + 4):
        y += 15
        yield words_at(12, y, part, 11), y
    for part in wrap(answer.rulebase.words, LINE_LETTERS + 12):
        y += 13
        yield words_at(12, y, part, SMALL), y
    y += 4
    for line in pattern_lines(answer):
        for part in wrap(line, LINE_LETTERS - 4):
            y += 15
            yield words_at(12, y, part, PLAIN, bold=True), y
    y += 6
    for sign in cells.signs:
        for index, part in enumerate(wrap(f"{sign.name}: {place_list(sign)}", LINE_LETTERS)):
            y += 15 if index else 18
            if not index:
                yield joined([symbol(sign.family.id, 20, y - 4), words_at(30, y, str(sign.number), 11)]), y
            yield words_at(48, y, part, 11), y


def _legend(cells: WearCells, y: float) -> Iterator[tuple[Markup, float]]:
    """What the symbols and the grounds mean."""
    x = 20.0
    for family in FAMILIES:
        width = 30 + 5.6 * len(family.name)
        if x + width > WIDTH:
            x, y = 20.0, y + 18
        yield joined([symbol(family.id, x, y - 4), words_at(x + 11, y, family.name, 11)]), y
        x += width
    y += 18
    yield joined([ring(20, y - 4), words_at(31, y, "looked at, nothing found", 11)]), y
    swatch = joined([hatched(176, y - 10, 18, 12), box(176, y - 10, 18, 12)])
    yield joined([swatch, words_at(199, y, "not looked at", 11)]), y + 6
    if any(cell.state == "" for cell in cells.units.values()):
        yield joined([box(282, y - 10, 18, 12), words_at(305, y, "nothing noted", 11)]), y + 6
    if cells.either_idler:
        for part in wrap(EITHER_IDLER, LINE_LETTERS):
            y += 16
            yield words_at(14, y, part, 11), y + 6
