"""Wear over hours as a picture: readings, line, interval and limit, one panel for each position. SVG, drawn by hand."""

from __future__ import annotations

import errno
import html
import math
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from lugwright.report.lines import printable
from lugwright.report.render import CannotDraw, write_whole
from lugwright.report.wear_text import hours_words, level_words, range_words

if TYPE_CHECKING:
    from lugwright.readings.wear_forecast import Forecast

WIDE, HIGH, LEFT, RIGHT, TOP, BOTTOM = 560, 300, 56, 20, 44, 46
INK, LINE, BAND, LIMIT = "#1a1a1a", "#0b5394", "#cfe2f3", "#b00020"


def nice_steps(low: float, high: float, most: int = 6) -> list[float]:
    """Round figures from low to high, at most `most` of them.

    >>> nice_steps(0, 1950)
    [0.0, 500.0, 1000.0, 1500.0]
    """
    raw = (high - low) / most
    power = 10.0 ** math.floor(math.log10(raw)) if raw > 0 else 1.0
    step = next(one * power for one in (1, 2, 2.5, 5, 10) if one * power >= raw * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    return [n * step for n in range(first, math.floor(high / step + 1e-9) + 1)]


def wear_svg(ones: Sequence[Forecast]) -> str:
    """The whole picture as SVG text; the same forecasts give the same bytes."""
    columns = 1 if len(ones) == 1 else 2
    rows = math.ceil(len(ones) / columns)
    wide, high = WIDE * columns, HIGH * rows
    panels = [_panel(one, WIDE * (n % columns), HIGH * (n // columns)) for n, one in enumerate(ones)]
    names = ", ".join(_safe(one.position or "all") for one in ones)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}" viewBox="0 0 {wide} {high}" '
        'role="img">\n'
        f"<title>Wear over hours: {names}</title>\n"
        f'<rect width="{wide}" height="{high}" fill="#ffffff"/>\n'
        f'<g font-family="sans-serif" font-size="12" fill="{INK}">\n' + "\n".join(panels) + "\n</g>\n</svg>\n"
    )


def _panel(one: Forecast, x0: float, y0: float) -> str:
    end = _end(one)
    start = min(one.hours)
    top = max(*one.heights, one.limit) * 1.06
    bottom = max(0.0, min(*one.heights, one.limit) - 0.12 * (top - min(*one.heights, one.limit)))

    def x(hour: float) -> float:
        return x0 + LEFT + (hour - start) / (end - start) * (WIDE - LEFT - RIGHT)

    def y(height: float) -> float:
        return y0 + HIGH - BOTTOM - (height - bottom) / (top - bottom) * (HIGH - TOP - BOTTOM)

    parts = [
        _text(x0 + LEFT, y0 + 18, one.position or "all", size=14, bold=True),
        _text(x0 + LEFT, y0 + 34, _caption(one)),
    ]
    for hour in nice_steps(start, end):
        parts += [
            _path(f"M{x(hour):.1f} {y(bottom):.1f}v5", INK),
            _text(x(hour), y(bottom) + 18, f"{hour:g}", anchor="middle"),
        ]
    for height in nice_steps(bottom, top, 5):
        parts += [
            _path(f"M{x(start):.1f} {y(height):.1f}h-5", INK),
            _text(x(start) - 8, y(height) + 4, f"{height:g}", anchor="end"),
        ]
    parts.append(_text(x0 + WIDE - RIGHT, y0 + HIGH - 10, "hours", anchor="end"))
    parts.append(_text(x0 + 6, y0 + TOP - 4, "mm"))
    first = one.hours[one.used[0]]
    hours = [first + (end - first) * n / 60 for n in range(61)]
    half = [one.line.half_width(hour, one.sd, one.quantile, one.new_reading) for hour in hours]
    upper = [f"{x(hour):.1f} {y(one.line.at(hour) + h):.1f}" for hour, h in zip(hours, half, strict=True)]
    lower = [f"{x(hour):.1f} {y(one.line.at(hour) - h):.1f}" for hour, h in zip(hours, half, strict=True)]
    frame = f"plot-{x0:.0f}-{y0:.0f}"
    inside = f'x="{x0 + LEFT}" y="{y0 + TOP}" width="{WIDE - LEFT - RIGHT}" height="{HIGH - TOP - BOTTOM}"'
    parts.append(f'<clipPath id="{frame}"><rect {inside}/></clipPath>')
    parts.append(f'<g clip-path="url(#{frame})">')
    parts.append(f'<path d="M{"L".join(upper)}L{"L".join(reversed(lower))}Z" fill="{BAND}"/>')
    now = one.hours[-1]
    parts.append(_path(f"M{x(first):.1f} {y(one.line.at(first)):.1f}L{x(now):.1f} {y(one.line.at(now)):.1f}", LINE, 2))
    ahead = f"M{x(now):.1f} {y(one.line.at(now)):.1f}L{x(end):.1f} {y(one.line.at(end)):.1f}"
    parts.append(_path(ahead, LINE, 2, "6 4"))
    parts.append("</g>")
    parts.append(_path(f"M{x(start):.1f} {y(one.limit):.1f}H{x0 + WIDE - RIGHT:.1f}", LIMIT, 1.5, "2 3"))
    parts.append(_text(x0 + LEFT + 6, y(one.limit) - 5, f"limit {one.limit:g} mm", colour=LIMIT))
    parts.append(_path(f"M{x(start):.1f} {y(top):.1f}V{y(bottom):.1f}H{x0 + WIDE - RIGHT:.1f}", INK))
    for n, (hour, height) in enumerate(zip(one.hours, one.heights, strict=True)):
        parts.append(_mark(x(hour), y(height), n == one.outlier, n in one.used))
    return "<g>\n" + "\n".join(parts) + "\n</g>"


def _end(one: Forecast) -> float:
    """The last hour drawn: a little past the end of the interval, or past what is known where there is none."""
    span = one.hours[-1] - one.hours[0]
    wanted = one.life.high if one.life.high is not None else (one.life.hours or span) * 2
    return one.now + max(min(wanted * 1.08, span * 12), span * 0.3)


def _caption(one: Forecast) -> str:
    if one.life.hours is None:
        return "no wear can be told from these readings yet"
    return f"{hours_words(one.life.hours)} left ({level_words(one.level)}: {range_words(one)})"


def _mark(x: float, y: float, outlier: bool, used: bool) -> str:
    """Filled: used. Hollow: before the rate changed. A cross: does not fit the others."""
    if outlier:
        return _path(f"M{x - 5:.1f} {y - 5:.1f}l10 10m0 -10l-10 10", LIMIT, 2)
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{INK if used else "#ffffff"}" stroke="{INK}"/>'


def _path(d: str, colour: str, width: float = 1, dash: str = "") -> str:
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<path d="{d}" fill="none" stroke="{colour}" stroke-width="{width:g}"{dashed}/>'


def _text(
    x: float, y: float, text: str, *, anchor: str = "start", size: int = 12, bold: bool = False, colour: str = INK
) -> str:
    weight = ' font-weight="bold"' if bold else ""
    at = f'x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"'
    return f'<text {at} font-size="{size}" fill="{colour}"{weight}>{_safe(text)}</text>'


def _safe(text: str) -> str:
    return html.escape(printable(text)[:80])


def foresee(target: Path) -> None:
    """Find out what will stand in the way of a picture before any work is done for it.

    Raises CannotDraw for another ending than .svg or .png, OSError where its folder is missing.
    """
    if target.suffix.lower() not in (".svg", ".png"):
        raise CannotDraw(f"'{target.name}' does not end in .svg or .png")
    if not target.parent.is_dir():
        raise FileNotFoundError(errno.ENOENT, "there is no such folder", str(target.parent))


def draw_wear(svg: str, target: Path) -> str:
    """Write the picture as .svg, or as .png where a converter is installed. Returns a note, empty when all went well.

    Without one it is written beside it as .svg, unless such a file is there already.
    Raises CannotDraw for another ending, a converter that fails or such a file, OSError when it cannot be written.
    """
    foresee(target)
    if target.suffix.lower() == ".svg":
        write_whole(target, svg.encode())
        return ""
    converter = shutil.which("rsvg-convert")
    if converter is None:
        beside = target.with_suffix(".svg")
        why = "no SVG converter (rsvg-convert) was found"
        if beside.exists():
            raise CannotDraw(f"{why}; {beside.name} is there already and was left as it is")
        write_whole(beside, svg.encode())
        return f"{target.name} was not drawn: {why}. The picture was written to {beside}"
    try:
        done = subprocess.run([converter, "-z", "2"], input=svg.encode(), capture_output=True, check=False, timeout=60)
    except subprocess.TimeoutExpired:
        raise CannotDraw("the SVG converter did not come to an end; ask for .svg instead") from None
    except OSError as problem:
        raise CannotDraw(f"the SVG converter cannot be run: {problem.strerror or problem}") from None
    if done.returncode or not done.stdout:
        raise CannotDraw("the SVG converter failed")
    write_whole(target, done.stdout)
    return ""
