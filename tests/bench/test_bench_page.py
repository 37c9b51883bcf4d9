"""The page on the bench: its worked examples come out, and it names every computation."""

from __future__ import annotations

import doctest
import pkgutil
from pathlib import Path

import lugwright.readings
from lugwright.readings.alignment import RUN_MM
from lugwright.readings.uncertainty import GAUGE_SHARE, HUB_K, SAME_FACE_K, SCALE_SHARE, SHIM_MM, TAPE_MM

PAGE = Path(__file__).parents[2] / "docs" / "bench.md"
TEXT = PAGE.read_text(encoding="utf-8")


def test_every_worked_example_comes_out() -> None:
    done = doctest.testfile(str(PAGE), module_relative=False)
    assert done.attempted > 50
    assert done.failed == 0


def test_every_computation_has_an_example() -> None:
    modules = {one.name for one in pkgutil.iter_modules(lugwright.readings.__path__)}
    helpers = {
        "student",
        "welch",
        "wear_fit",
        "wear_table",
        "wear_case",
        "differences",
        "side_clearance",
        "turn_repeat",
    }
    missing = [name for name in sorted(modules - helpers) if f"lugwright.readings.{name} import" not in TEXT]
    assert missing == []


def test_the_half_widths_on_the_page_are_those_of_the_code() -> None:
    flat = " ".join(TEXT.split())
    assert f"{SHIM_MM:g} mm for a shim" in flat
    assert f"{TAPE_MM:g} mm for each taped distance" in flat
    assert f"{SAME_FACE_K:g} K for two lug faces" in flat
    assert f"{HUB_K:g} K from hub to hub" in flat
    assert f"{GAUGE_SHARE * 100:g} % of a gauge reading, {SCALE_SHARE * 100:g} % of a scale" in flat
    assert f"at least {RUN_MM / 1000:g} m (150 ft)" in flat
