"""The wear map: every sign at its place, told by more than colour, safe and the same bytes each time."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from report_answers import EXAMPLES, HOSTILE, crowded, example, finding, poisoned, small

from lugwright.places import SIDES, UNITS, opposite, place_from_key, swap_hands
from lugwright.report.wear_cells import FAMILIES, bands, wear_cells
from lugwright.report.wear_map import EITHER_IDLER, GAP, LEFT, UNIT, WIDTH, description, wear_map_svg
from lugwright.report.wear_symbols import PAPER, hatched

SVG = "{http://www.w3.org/2000/svg}"


def tags(svg: str) -> list[tuple[str, tuple[str, ...]]]:
    return [(one.tag, tuple(sorted(one.attrib))) for one in ElementTree.fromstring(svg).iter()]


def chips(svg: str) -> list[tuple[str, float, float]]:
    """Number, x and y of every symbol with a number in the drawing."""
    found = []
    for group in ElementTree.fromstring(svg).iter(f"{SVG}g"):
        text = group.find(f"{SVG}text")
        assert text is not None
        found.append((str(text.text), float(text.attrib["x"]), float(text.attrib["y"])))
    return found


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_seen_sign_is_on_the_map_and_in_its_words(path: Path) -> None:
    answer = example(path.stem)
    seen = {one.symptom for one in answer.findings if one.state == "seen"}
    cells = wear_cells(answer)
    assert len(cells.signs) == len(seen)
    drawn = {number for number, _, _ in chips(wear_map_svg(answer))}
    assert drawn == {str(sign.number) for sign in cells.signs}
    for sign in cells.signs:
        assert sign.name in description(answer)


def test_a_sign_stands_on_its_own_side_of_its_own_unit() -> None:
    for unit in UNITS["four-track"]:
        for side in SIDES:
            answer = small((finding("rubbed", "lugs", f"{unit}/{side}"),))
            ((_, x, y),) = chips(wear_map_svg(answer))
            middle = LEFT + UNIT + GAP / 2
            assert (x < middle) == unit.endswith("left")
            ((_, other, _),) = chips(wear_map_svg(small((finding("rubbed", "lugs", f"{unit}/{opposite(side)}"),))))
            assert (abs(x - middle) < abs(other - middle)) == (side == "inboard")
            ((_, _, ahead),) = chips(wear_map_svg(small((finding("rubbed", "lugs", f"front-left/{side}"),))))
            assert (y == ahead) == unit.startswith("front")


def test_a_mirrored_machine_gives_a_mirrored_map() -> None:
    findings = [finding("a", "lugs", "front-right/inboard"), finding("b", "hubs", "rear-left")]
    image = [finding(one.symptom, one.component, place_from_key(one.place).mirrored().key) for one in findings]
    here, there = (
        wear_cells(small(tuple(side)).model_copy(update={"not_noted": ()})).units for side in (findings, image)
    )
    assert {(swap_hands(unit), key): cell for (unit, key), cell in here.items()} == dict(there)


def test_an_idler_that_is_named_carries_the_sign_alone() -> None:
    plain = wear_cells(small((finding("bright", "idlers", "rear-left/inboard"),)))
    named = wear_cells(small((finding("bright", "idlers", "rear-left/inboard", wheels=("rear-idler",)),)))
    assert [plain.units["rear-left", end].state for end in ("front-idler", "rear-idler")] == ["seen", "seen"]
    assert [named.units["rear-left", end].state for end in ("front-idler", "rear-idler")] == ["", "seen"]


def test_an_idler_is_clean_only_where_that_was_written_down() -> None:
    seen = finding("bright", "idlers", "rear-left/inboard", wheels=("rear-idler",))
    clean = finding("torn", "idlers", "rear-left/outboard", "absent", source="looked_at")
    assert wear_cells(small((seen,))).units["rear-left", "front-idler"].state == ""
    assert wear_cells(small((seen, clean))).units["rear-left", "front-idler"].state == "sound"


def test_a_sign_that_stands_at_both_idlers_is_not_told_as_seen_at_both() -> None:
    plain = small((finding("bright", "idlers", "rear-left/inboard"),))
    named = small((finding("bright", "idlers", "rear-left/inboard", wheels=("rear-idler",)),))
    one_only = plain.model_copy(update={"layout": "two-track", "findings": (finding("bright", "idlers", "left"),)})
    said = [EITHER_IDLER[:30] in wear_map_svg(one) for one in (plain, named, one_only)]
    assert said == [True, False, False]


def test_the_hatching_stays_inside_its_cell() -> None:
    for x, y, width, height in ((66.0, 74.0, 138.0, 22.0), (3.5, 1.0, 18.0, 12.0), (0.0, 0.0, 69.0, 50.0)):
        spots = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", hatched(x, y, width, height))
        assert len(spots) >= 4
        assert all(x <= float(a) <= x + width and y <= float(b) <= y + height for a, b in spots)


def test_nothing_is_filled_with_a_pattern() -> None:
    """Chromium writes each use of a pattern into a PDF as a picture; a page of hatched cells came to 2 MB."""
    assert not re.search(r"<pattern|url\(", wear_map_svg(crowded()) + wear_map_svg(small()))


def test_not_looked_at_looked_at_and_nothing_written_are_told_apart() -> None:
    cells = wear_cells(small())
    assert cells.units["rear-right", "hubs"].state == "not looked at"
    assert cells.units["rear-left", "tread"].state == "sound"
    assert cells.units["front-left", "behaviour"].state == ""
    svg = wear_map_svg(small())
    assert svg.count('class="wm-hatch"') == 2  # the hubs of one unit, and the legend


def test_a_trailed_unit_has_no_drive_wheel() -> None:
    assert [key for key, _, _ in bands("two-track", "none")][-1] == "rear-idler"
    assert "drive-wheel" not in [key for key, _, _ in bands("two-track", "none")]
    assert [key for key, _, _ in bands("four-track", "positive")][-2:] == ["drive-wheel", "rear-idler"]


def luminance(colour: str) -> float:
    """source: WCAG 2.2, definition of relative luminance"""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_kinds_differ_by_shape_and_fill_and_stand_out_from_the_paper() -> None:
    svg = wear_map_svg(small())
    shapes = {family.id: re.search(rf'd="([^"]+)"[^>]*class="wm-{family.id}[ "]', svg) for family in FAMILIES}
    shapes = {name: found for name, found in shapes.items() if found}
    assert len({found[1] for found in shapes.values() if found}) == len(shapes)
    for family in FAMILIES:
        assert contrast(family.colour, PAPER) >= 4.5
        assert contrast(family.dark, "#16181b") >= 4.5


def test_two_maps_on_one_page_share_no_id() -> None:
    ids = [set(re.findall(r'\bid="([^"]+)"', wear_map_svg(small(), ids=name))) for name in ("first", "second")]
    assert ids[0]
    assert not ids[0] & ids[1]


@pytest.mark.parametrize("bad", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_words_stay_words(bad: str) -> None:
    svg = wear_map_svg(poisoned(small(), bad))
    assert {tag for tag, _ in tags(svg)} == {tag for tag, _ in tags(wear_map_svg(small()))}
    assert not [name for _, names in tags(svg) for name in names if name.startswith("on")]
    assert all(mark.isprintable() or mark == "\n" for mark in svg)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(bad=st.text(min_size=1, max_size=60))
def test_any_text_leaves_the_drawing_as_it_is(bad: str) -> None:
    assume(bad.strip())  # a text of blanks alone is an empty one
    svg = wear_map_svg(poisoned(small(), bad), key=False)
    assert tags(svg) == tags(wear_map_svg(poisoned(small(), "plain"), key=False))


def test_sixty_signs_stay_inside_the_drawing_and_do_not_lie_on_each_other() -> None:
    answer = crowded()
    assert sum(one.state == "seen" for one in answer.findings) >= 60
    spots = [(x, y) for _, x, y in chips(wear_map_svg(answer))]
    assert len(spots) == len(set(spots))
    assert all(0 < x < WIDTH for x, _ in spots)
    for index, (x, y) in enumerate(spots):
        assert all(abs(x - a) > 25 or abs(y - b) > 15 for a, b in spots[index + 1 :])


def test_the_same_answer_gives_the_same_bytes() -> None:
    assert wear_map_svg(example("one-unit-off-line")) == wear_map_svg(example("one-unit-off-line").model_copy())
