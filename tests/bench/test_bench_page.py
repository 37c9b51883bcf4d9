"""The page on the bench: its worked examples come out, and it names every computation."""

from __future__ import annotations

import ast
import doctest
import pkgutil
import re
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


#: Where the commands of the bench say what they cannot use.
SPEAKERS = (
    "cli/align.py", "cli/jobcard.py", "cli/shared.py", "cli/wear.py", "plan/alignment_setup.py",
    "readings/wear_case.py", "readings/wear_table.py", "chaining/base_facts.py",
)  # fmt: skip


def _codes(path: Path) -> set[str]:
    """The codes in the calls of `Issue`, `fault` and `_fault` of a module: the second word that stands there."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call) or len(node.args) < 2:
            continue
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        code = node.args[1]
        if name in ("Issue", "fault", "_fault") and isinstance(code, ast.Constant):
            found.add(str(code.value))
    return found


def test_every_code_of_the_bench_is_explained() -> None:
    source = Path(lugwright.readings.__path__[0]).parent
    said = set().union(*(_codes(source / name) for name in SPEAKERS))
    assert len(said) > 15
    table = TEXT[TEXT.index("## What is refused, by its code") :]
    assert sorted(code for code in said if f"`{code}`" not in table) == []
    assert sorted(set(re.findall(r"`([a-z]+(?:-[a-z0-9]+)+)`", table)) - said - {"lug-size", "belt-hours"}) == []


def test_the_half_widths_on_the_page_are_those_of_the_code() -> None:
    flat = " ".join(TEXT.split())
    assert f"{SHIM_MM:g} mm for a shim" in flat
    assert f"{TAPE_MM:g} mm for each taped distance" in flat
    assert f"{SAME_FACE_K:g} K for two lug faces" in flat
    assert f"{HUB_K:g} K from hub to hub" in flat
    assert f"{GAUGE_SHARE * 100:g} % of a gauge reading, {SCALE_SHARE * 100:g} % of a scale" in flat
    assert f"at least {RUN_MM / 1000:g} m (150 ft)" in flat
