"""Wear forecasts: what is said, what is drawn, and CSV files as people save them."""

from __future__ import annotations

import math
import random
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest
import typer
from hypothesis import given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from lugwright.cli.wear import wear_command
from lugwright.issues import UnusableInput
from lugwright.readings.uncertainty import ReadingRefused
from lugwright.readings.wear_forecast import forecast
from lugwright.readings.wear_table import read_wear, wear_from_text
from lugwright.report.wear_plot import nice_steps, wear_svg

ROOT = Path(__file__).parents[2]
TABLE = ROOT / "examples" / "bar-heights.csv"
STRAIGHT = [0, 200, 400, 600, 800, 1000], [52.0, 48.1, 43.9, 40.2, 35.9, 32.0]


@settings(max_examples=60, deadline=None)
@given(st.floats(0.005, 0.05), st.integers(3, 9), st.floats(0, 0.9), st.randoms(use_true_random=False))
def test_the_interval_holds_the_estimate_and_tells_what_is_left(
    rate: float, count: int, error: float, dice: random.Random
) -> None:
    hours = [100.0 * n for n in range(count)]
    heights = [60 - rate * hour + dice.uniform(-error, error) for hour in hours]
    one = forecast(hours, heights, 13.0)
    assert one.life.hours is None or one.life.low <= one.life.hours + 1e-6
    assert one.life.hours is None or one.life.high is None or one.life.hours <= one.life.high + 1e-6
    truth = (60 - 13) / rate - hours[-1]
    if error == 0:
        assert one.life.hours == pytest.approx(max(0.0, truth), rel=1e-6, abs=1e-3)


def test_the_interval_covers_the_truth_about_as_often_as_it_says() -> None:
    dice, inside, count = random.Random(5), 0, 400
    for _ in range(count):
        hours = [0, 250, 500, 750, 1000]
        one = forecast(hours, [52 - 0.02 * h + dice.gauss(0, 1.0) for h in hours], 13, level=0.9)
        inside += one.life.low <= 950 <= (one.life.high or math.inf)
    assert inside / count >= 0.88


def test_two_readings_are_said_to_be_too_few() -> None:
    assert any("too few" in note for note in forecast([0, 400], [52, 44], 13).notes)
    with pytest.raises(ReadingRefused, match="one reading gives no rate"):
        forecast([100], [44], 13)
    with pytest.raises(ReadingRefused, match="one reading gives no rate"):
        forecast([100, 100], [44, 43], 13)


def test_a_changed_rate_is_said_and_only_the_later_readings_count() -> None:
    hours = [0, 200, 400, 600, 800, 1000, 1200]
    one = forecast(hours, [60, 58, 56, 54, 44, 34, 24], 13, reading_sd=0.5)
    assert one.changed_at == 600
    assert one.used == (3, 4, 5, 6)
    assert one.rate == pytest.approx(0.05)
    assert any("rate changed" in note for note in one.notes)
    assert forecast(*STRAIGHT, 13).changed_at is None


def test_an_outlier_is_said_and_the_robust_line_ignores_it() -> None:
    heights = [52.0, 48.1, 43.9, 32.0, 35.9, 32.0, 28.1]
    one = forecast([0, 200, 400, 600, 800, 1000, 1200], heights, 13)
    assert one.outlier == 3
    assert one.robust_rate == pytest.approx(0.02, rel=0.02)
    assert any("does not fit the others" in note for note in one.notes)


def test_no_wear_gives_no_upper_end_and_a_reached_limit_is_said() -> None:
    one = forecast([0, 100, 200], [50, 50.2, 49.9], 13)
    assert one.life.high is None
    assert any("cannot be told" in note for note in one.notes)
    rising = forecast([0, 100, 200], [50, 50.2, 50.4], 13)
    assert (rising.life.hours, rising.life.high) == (None, None)
    worn = forecast([0, 400, 800], [30, 20, 12], 13)
    assert worn.life.hours == 0
    assert any("reached" in note for note in worn.notes)


@pytest.mark.parametrize(
    ("hours", "heights", "says"),
    [([0, 400, 300], [52, 44, 43], "hours only go up"), ([-1, 400], [52, 44], "hours only go up"),
     ([0, 400], [52, -1], "between 0 and 500"), ([0, 400], [52, 5000], "between 0 and 500"),
     ([0, 400], [52], "as many")],
)  # fmt: skip
def test_readings_that_cannot_be_are_refused(hours: list[float], heights: list[float], says: str) -> None:
    with pytest.raises(ReadingRefused, match=says):
        forecast(hours, heights, 13)


# --- tables ----------------------------------------------------------------------------------------------------------

SAME = [
    "hours,front-left [mm]\n0,52\n400,44.5\n",
    "\ufeffhours;front-left [mm]\n0;52,0\n400;44,5\n",
    "Hour meter (h)\tfront-left (mm)\n0\t52\n400\t44.5\n",
    "hours;front-left\n0;52 mm\n400;44,5 mm\n",
    'hours,front-left\n0 h,52 mm\n400 h,"44,5 mm"\n',
    "# the yard's list\n\nhours,position,height mm,note\n0,front-left,52,new\n400,front-left,44.5,after the wet week\n",
    "hours;front-left [cm]\n0;5,2\n400;4,45\n",
    "hours;front-left [mm];empty [mm]\r\n0;52;\r\n400;44,5;\r\n",
]


@pytest.mark.parametrize("text", SAME)
def test_a_table_reads_the_same_however_it_was_saved(text: str, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(text.encode())
    (one,) = read_wear(path)
    assert (one.position, one.hours, one.heights) == ("front-left", [0, 400], [52, 44.5])


def test_inches_and_several_columns_of_place_are_read() -> None:
    rows = wear_from_text(
        "hours;unit;side;height [in]\n0;left;inboard;2 1/16\n0;left;outboard;2\n400;left;inboard;1 3/4\n"
    )
    assert [(one.position, [round(h, 2) for h in one.heights]) for one in rows] == [
        ("left inboard", [52.39, 44.45]), ("left outboard", [50.8])]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "code", "line", "says"),
    [
        ("hours,a [mm]\n0,52\n400,44\n300,43\n", "hours-backwards", 4, "hours only go up"),
        ("hours,a\n0,52\n", "no-unit", 2, "no unit"),
        ("hours,a [mm]\n0,many\n", "not-a-number", 2, "begin with a number"),
        ("hours,a [mm]\n0,-4\n", "out-of-range", 2, "between 0 and 500"),
        ("hours,a [mm]\n0,5200\n", "out-of-range", 2, "slipped digit"),
        ("hours,a [bar]\n0,52\n", "not-a-number", 2, "a pressure"),
        ("hours,a [mm]\n,52\n", "missing-hours", 2, "says nothing"),
        ("hours,a [mm]\n0,52,5\n", "too-many-cells", 2, "decimal comma"),
        ("meters,a [mm]\n0,52\n", "no-hours-column", 1, "no column is called hours"),
        ("hours,hours,a\n0,1,2\n", "no-hours-column", 1, "two columns"),
        ("hours,position\n0,left\n", "no-height-column", 1, "no column holds heights"),
        ("hours,position,a [mm],b [mm]\n0,left,5,6\n", "no-height-column", 1, "one column of heights"),
        ("hours,a [mm]\n", "no-readings", 1, "no reading"),
    ],
)
def test_a_bad_table_is_refused_with_its_row_and_the_reason(text: str, code: str, line: int, says: str) -> None:
    with pytest.raises(UnusableInput) as caught:
        wear_from_text(text, "a.csv")
    (issue,) = caught.value.issues
    assert (issue.code, issue.spot.line) == (code, line)
    assert says in str(caught.value)


@settings(max_examples=80, deadline=None)
@given(st.text(alphabet="hours,;a [m]()0123456789.-\n\t\"'é°", max_size=120))
def test_no_table_makes_a_crash(text: str) -> None:
    try:
        rows = wear_from_text(text)
    except UnusableInput:
        return  # refused in words, which is all that is asked of it
    for one in rows:
        assert one.hours == sorted(one.hours)
        assert all(0 <= height <= 500 for height in one.heights)


@pytest.mark.parametrize(("raw", "code"), [(b"\xff\xfeh\0", "not-utf-8"), (b"", "empty-file"), (b"a\0b", "not-utf-8")])
def test_a_file_that_is_no_text_is_refused(raw: bytes, code: str, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(raw)
    with pytest.raises(UnusableInput) as caught:
        read_wear(path)
    assert caught.value.issues[0].code == code
    with pytest.raises(UnusableInput, match="cannot be read"):
        read_wear(tmp_path / "nothing.csv")


# --- picture and command ---------------------------------------------------------------------------------------------


def test_the_picture_is_sound_and_shows_limit_and_every_reading() -> None:
    ones = [forecast(one.hours, one.heights, 13, one.position) for one in read_wear(TABLE)]
    svg = wear_svg(ones)
    tree = ElementTree.fromstring(svg)
    names = "{http://www.w3.org/2000/svg}"
    assert len(tree.findall(f".//{names}circle")) == sum(len(one.hours) for one in ones) - 1  # one reading is crossed
    texts = [node.text for node in tree.iter(f"{names}text")]
    assert texts.count("limit 13 mm") == 4
    assert {"front-left", "rear-right"} <= set(texts)
    assert svg == wear_svg(ones)
    assert "nan" not in svg
    odd = forecast([0, 400], [52, 44], 13, "<b>&")
    assert "<b>" not in wear_svg([odd])


@given(st.floats(-100, 100), st.floats(0.01, 5000))
def test_the_steps_of_an_axis_are_round_and_inside(low: float, wide: float) -> None:
    steps = nice_steps(low, low + wide)
    assert 1 <= len(steps) <= 7
    assert all(low - wide * 1e-6 <= one <= low + wide * (1 + 1e-6) for one in steps)


def run(*words: str) -> str:
    app = typer.Typer()
    app.command()(wear_command)
    done = CliRunner().invoke(app, list(words), catch_exceptions=False)
    assert done.exit_code == 0
    return done.output


def test_the_command_tells_rate_hours_and_cost(tmp_path: Path) -> None:
    said = run(str(TABLE), "--limit", "1/2 in", "--price", "12000", "-o", str(tmp_path / "w.svg"))
    assert "12.7 mm (1/2 in)" in said
    assert "per hour" in said
    assert said.index("front-left") < said.index("rear-left"), "the shortest life comes first"
    assert (tmp_path / "w.svg").stat().st_size > 2000


def test_a_case_gives_lug_widths_and_the_usual_limit(tmp_path: Path) -> None:
    text = (
        "case: worn\nmachine: {name: a, layout: two-track, drive: friction}\ncontext: {belt-hours: 900 h}\n"
        "measured:\n  - {check: lug-size, unit: left, width-new: 90 mm, width-now: 80 mm}\n"
    )
    path = tmp_path / "a.yaml"
    path.write_text(text, encoding="utf-8")
    said = run(str(path))
    assert "54 mm" in said  # common practice: 60 % of 90 mm
    assert "2340 h" in said  # 26 mm left at 10 mm in 900 h
    path.write_text(text.replace("context: {belt-hours: 900 h}\n", ""), encoding="utf-8")
    with pytest.raises(UnusableInput, match="hours of the belt"):
        run(str(path))


def test_the_command_refuses_what_it_cannot_use(tmp_path: Path) -> None:
    for words, says in (
        ([str(TABLE)], "without a limit"),
        ([str(TABLE), "--limit", "13"], "no unit"),
        ([str(TABLE), "--limit", "13mm", "-o", str(tmp_path / "w.gif")], "does not end in"),
        ([str(TABLE), "--limit", "13mm", "-o", str(tmp_path / "no" / "w.svg")], "cannot be written"),
    ):
        with pytest.raises(UnusableInput, match=says):
            run(*words)
