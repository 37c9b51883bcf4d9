"""Wear forecasts: what is said, what is drawn, and CSV files as people save them."""

from __future__ import annotations

import math
import random
import re
import subprocess
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
from lugwright.readings.wear_change import TooFewReadings, change_of_rate
from lugwright.readings.wear_forecast import forecast
from lugwright.readings.wear_table import read_wear, wear_from_text
from lugwright.report.render import CannotDraw
from lugwright.report.wear_plot import draw_wear, nice_steps, wear_svg

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


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 40), st.floats(0, 60)), min_size=2, max_size=8).filter(
        lambda rows: len({hour for hour, _ in rows}) > 1
    ),
    st.floats(0, 50),
    st.sampled_from([0.5, 0.9, 99.9 / 100]),
)
def test_whatever_was_read_the_ends_stand_round_the_estimate(
    rows: list[tuple[int, float]], limit: float, level: float
) -> None:
    rows = sorted(rows, key=lambda row: row[0])
    try:
        one = forecast([50.0 * hour for hour, _ in rows], [height for _, height in rows], limit, level=level)
    except TooFewReadings:
        return  # a part that was renewed and read once has no rate
    life = one.life
    assert life.low >= 0
    if life.hours is not None:
        assert life.low <= life.hours
        assert life.high is None or life.hours <= life.high
    if one.line.at(one.hours[-1]) <= limit:
        assert life.low == 0, "a limit that has been reached leaves nothing"


def test_a_forecast_agrees_with_the_interval_of_another_library() -> None:
    # source: scipy.stats.linregress and scipy.stats.t, prediction interval of the NIST/SEMATECH e-Handbook
    stats = pytest.importorskip("scipy.stats")
    hours, heights = [10, 210, 420, 640, 850, 1040], [52, 48.5, 44, 40.5, 36, 32.5]
    one, line = forecast(hours, heights, 13), stats.linregress(hours, heights)
    assert one.rate == pytest.approx(-line.slope, rel=1e-12)
    middle = sum(hours) / 6
    spread = sum((hour - middle) ** 2 for hour in hours)
    for left, sign in ((one.life.low, -1), (one.life.high, 1)):
        at = 1040 + left
        half = stats.t.ppf(0.95, 4) * math.sqrt(1 + 1 / 6 + (at - middle) ** 2 / spread)  # 1 mm of reading error
        assert line.intercept + line.slope * at + sign * half == pytest.approx(13, abs=1e-9)


def test_more_readings_than_can_be_compared_are_refused() -> None:
    with pytest.raises(ReadingRefused, match="1000 at most"):
        forecast(list(range(1001)), [50.0] * 1001, 13)


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
    with pytest.raises(ReadingRefused, match="all readings stand at one hour"):
        forecast([100, 100], [44, 43], 13)


def test_a_changed_rate_is_said_and_only_the_later_readings_count() -> None:
    hours = [0, 200, 400, 600, 800, 1000, 1200]
    one = forecast(hours, [60, 58, 56, 54, 44, 34, 24], 13, reading_sd=0.5)
    assert one.changed_at == 600
    assert one.used == (3, 4, 5, 6)
    assert one.rate == pytest.approx(0.05)
    assert any("rate changed" in note for note in one.notes)
    assert forecast(*STRAIGHT, 13).changed_at is None


@pytest.mark.parametrize(
    ("heights", "left"), [([60, 59, 58, 57, 53, 49, 45], 1600), ([60, 59.5, 59, 58.5, 55.5, 52.5, 49.5], 2433)]
)
def test_a_rate_that_rises_fourfold_is_not_averaged_away(heights: list[float], left: float) -> None:
    # arithmetic: 0.005 and 0.0025 mm/h until 600 h, 0.02 and 0.015 mm/h from there on, down to 13 mm
    one = forecast([0, 200, 400, 600, 800, 1000, 1200], heights, 13)
    assert one.changed_at == 600
    assert one.life.hours == pytest.approx(left, abs=1)


def test_a_rise_that_is_suspected_is_said_with_the_hours_of_the_later_rate() -> None:
    heights = [60, 59, 58, 57, 55.0, 53.0, 51.0]
    one = forecast([0, 200, 400, 600, 800, 1000, 1200], heights, 13, reading_sd=0.7)
    assert one.changed_at is None
    (note,) = (note for note in one.notes if "may have risen" in note)
    assert "600 h" in note
    assert "3800 h are left" in note  # arithmetic: 38 mm at 0.01 mm/h
    slower = forecast([0, 200, 400, 600, 800, 1000, 1200], [60, 58, 56, 54, 53, 52, 51], 13, reading_sd=0.7)
    assert not any("may have" in note for note in slower.notes)


def test_a_steady_rate_is_seldom_called_a_change() -> None:
    dice, hours = random.Random(11), [0, 200, 400, 600, 800, 1000, 1200]
    found = [change_of_rate(hours, [60 - 0.01 * h + dice.gauss(0, 1.0) for h in hours], 1.0) for _ in range(1000)]
    proved = sum(one is not None and one.says == "proved" for one in found)
    assert proved <= 20  # 1 % is meant, with room for chance
    assert sum(one is not None for one in found) <= 100


def test_only_the_readings_of_a_new_part_count_and_it_is_said() -> None:
    one = forecast([0, 400, 800, 810, 1200], [50, 40, 30, 50, 40], 13)
    assert one.used == (3, 4)
    assert one.rate == pytest.approx(10 / 390)
    assert one.life.hours == pytest.approx(27 * 39)
    assert any("new part" in note and "810 h" in note for note in one.notes)
    with pytest.raises(TooFewReadings, match="new part, and nothing later was read"):
        forecast([0, 400, 800, 810], [50, 40, 30, 50], 13)
    for slip in ([52, 48, 23, 40, 36], [52, 48, 94, 40, 36]):  # one reading that is wrong is no new part
        assert not any("new part was taken" in note for note in forecast([0, 400, 800, 1200, 1600], slip, 13).notes)


def test_a_new_part_read_once_does_not_spoil_the_others(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("hours;a [mm];b [mm]\n0;52;50\n400;44;30\n410;;50\n", encoding="utf-8")
    said = run(str(path), "--limit", "13mm")
    assert "1550 h to 13 mm" in said
    assert "left out: b: reading 3 (50 mm at 410 h)" in said


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
    "sep=;\nhours;front-left [mm]\n0;52\n400;44,5\n",
    "hrs;front-left [mm]\n0;52\n400.0;44,5\n",
    "hours;position;height [mm]\n0;front-left;52\n400;Front-Left ;44,5\n",
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
        ("stunden,a [mm]\n0,52\n", "no-hours-column", 1, "head the columns: hours;"),
        ("hours,a [mm],A [mm]\n0,52,50\n", "repeated-column", 1, "taken for one"),
        ("hours;a [mm]\n1.400;52\n", "not-a-number", 2, "read in two ways"),
        ('hours,a [mm]\n"1,400 h",52\n', "not-a-number", 2, "read in two ways"),
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


AT = (
    "case: worn\nmachine: {name: a, layout: two-track, drive: friction, hours: 3000}\ncontext: {belt-hours: 900 h}\n"
    "measured:\n  - {check: lug-size, unit: left, width-new: 90 mm, width-now: 80 mm, at: 2600 h}\n"
)


def test_a_case_counts_the_belt_hours_at_the_reading_and_the_hours_left_from_now(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text(AT, encoding="utf-8")
    said = run(str(path))
    assert "80 mm (3 5/32 in) at 500 h" in said  # 400 machine hours before now, the belt had run 500 of its 900 h
    assert "wears  2.00 mm in 100 h" in said
    assert "900 h, which is now" in said
    assert "900 h to 54 mm" in said  # arithmetic: 26 mm at 0.02 mm/h is 1300 h, and 400 of them are gone
    path.write_text(AT.replace("at: 2600 h", "at: 3000 h"), encoding="utf-8")
    assert "2340 h to 54 mm" in run(str(path))


@pytest.mark.parametrize(
    ("wrong", "right", "says"),
    [("at: 2600 h", "at: 2000 h", "fitted at 2100 h"), (", hours: 3000", "", "hours of the machine now are not known")],
)
def test_a_reading_that_cannot_be_of_this_belt_is_refused(wrong: str, right: str, says: str, tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text(AT.replace(wrong, right), encoding="utf-8")
    with pytest.raises(UnusableInput, match=says):
        run(str(path))


def test_a_place_read_once_does_not_spoil_the_others(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("hours;a [mm];b [mm]\n0;52;50\n400;44;\n", encoding="utf-8")
    said = run(str(path), "--limit", "13mm")
    assert "1550 h to 13 mm" in said
    assert "left out: b: one reading gives no rate; two at different hours are needed (line 2)" in said
    path.write_text("hours;b [mm]\n0;50\n", encoding="utf-8")
    with pytest.raises(UnusableInput) as caught:
        run(str(path), "--limit", "13mm")
    (issue,) = caught.value.issues
    assert (issue.code, issue.spot.line, issue.text) == ("reading-refused", 2, "0;50")


def test_no_end_is_never_written_as_a_range_and_the_next_look_is_never_late(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("hours;up [mm];worn [mm];even [mm]\n0;40;30;50\n400;52;20;50\n800;60;12;50\n", encoding="utf-8")
    said = " ".join(run(str(path), "--limit", "13mm", "--level", "99.9").split())
    assert "no upper end to no upper end" not in said
    assert "-0.00" not in said
    assert "99.9 %" in said
    assert "100 %" not in said
    assert "look now: the limit has been reached" in said
    path.write_text("hours;gone [mm]\n0;0\n400;0\n", encoding="utf-8")
    assert "left 0 h to 13 mm" in " ".join(run(str(path), "--limit", "13mm").split())
    one = forecast([0, 400], [52, 44.5], 13)
    path.write_text("hours;a [mm]\n0;52\n400;44,5\n", encoding="utf-8")
    (hour,) = re.findall(r"again before (\d+) h", run(str(path), "--limit", "13mm"))
    assert int(hour) <= 400 + one.life.low < int(hour) + 10


def test_each_lug_of_a_case_has_the_limit_of_its_own_width(tmp_path: Path) -> None:
    text = (
        "case: worn\nmachine: {name: a, layout: two-track, drive: friction}\ncontext: {belt-hours: 900 h}\n"
        "measured:\n  - {check: lug-size, unit: left, width-new: 90 mm, width-now: 80 mm}\n"
        "  - {check: lug-size, unit: right, width-new: 120 mm, width-now: 110 mm}\n"
    )
    path = tmp_path / "a.yaml"
    path.write_text(text, encoding="utf-8")
    said = run(str(path))
    assert "to 54 mm" in said
    assert "to 72 mm" in said
    assert "(belt hours)" in said
    path.write_text(text.replace("width-now: 80", "width-now: 95"), encoding="utf-8")
    with pytest.raises(UnusableInput, match="was 90 mm when new"):
        run(str(path))


@pytest.mark.parametrize(
    ("converter", "says"),
    [("#!/bin/sh\nexit 1\n", "failed"), ("no program", "cannot be run")],
)
def test_a_converter_that_fails_leaves_no_picture(
    converter: str, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tool = tmp_path / "bin" / "rsvg-convert"
    tool.parent.mkdir()
    tool.write_text(converter, encoding="utf-8")
    tool.chmod(0o755)
    monkeypatch.setenv("PATH", str(tool.parent))
    target = tmp_path / "w.png"
    with pytest.raises(CannotDraw, match=says):
        draw_wear("<svg/>", target)
    assert not target.exists()


def test_a_converter_that_never_ends_is_told_and_none_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object, **__: object) -> None:
        raise subprocess.TimeoutExpired("rsvg-convert", 60)

    monkeypatch.setattr("lugwright.report.wear_plot.shutil.which", lambda _: "rsvg-convert")
    monkeypatch.setattr("lugwright.report.wear_plot.subprocess.run", never)
    with pytest.raises(CannotDraw, match="did not come to an end"):
        draw_wear("<svg/>", tmp_path / "w.png")
    monkeypatch.setattr("lugwright.report.wear_plot.shutil.which", lambda _: None)
    assert "was written to" in draw_wear("<svg/>", tmp_path / "w.png")
    assert [path.name for path in tmp_path.iterdir()] == ["w.svg"]


def test_the_command_refuses_what_it_cannot_use(tmp_path: Path) -> None:
    for words, says in (
        ([str(TABLE)], "without a limit"),
        ([str(TABLE), "--limit", "13"], "no unit"),
        ([str(TABLE), "--limit", "13mm", "-o", str(tmp_path / "w.gif")], "does not end in"),
        ([str(TABLE), "--limit", "13mm", "-o", str(tmp_path / "no" / "w.svg")], "cannot be written"),
    ):
        with pytest.raises(UnusableInput, match=says):
            run(*words)
