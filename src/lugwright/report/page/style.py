"""How the page looks: colour pairs for light and dark (a test works out their contrast), layout, phone, print."""

from __future__ import annotations

import re
from collections.abc import Mapping

from lugwright.report.graph import AGAINST, CAUSE, FOR, OBSERVED, RULE, SIGN, SOUND
from lugwright.report.labels import INK
from lugwright.report.wear_map import SMALL
from lugwright.report.wear_symbols import dark_style

#: What is drawn -> (text, ground).
LIGHT: Mapping[str, tuple[str, str]] = {
    "page": ("#1a1a1a", "#ffffff"),
    "faint": ("#4d4d4d", "#ffffff"),
    "head": ("#1a1a1a", "#eef1f4"),
    "link": ("#0b4f8a", "#ffffff"),
    "stop": ("#ffffff", "#a4161a"),
    "limit": ("#1a1a1a", "#ffcf5c"),
    "go": ("#ffffff", "#1d5f2a"),
    "caution": ("#4a2500", "#fff1dc"),
}
DARK: Mapping[str, tuple[str, str]] = {
    "page": ("#ececec", "#16181b"),
    "faint": ("#b9b9b9", "#16181b"),
    "head": ("#ececec", "#262a2f"),
    "link": ("#9cc8f0", "#16181b"),
    "stop": ("#ffffff", "#a4161a"),
    "limit": ("#1a1a1a", "#ffcf5c"),
    "go": ("#ffffff", "#1d5f2a"),
    "caution": ("#ffd9ad", "#33230f"),
}

#: Colours of the drawn trace -> what they become in the dark.
TRACE_FILLS: Mapping[str, str] = {
    OBSERVED: "#16181b", "white": "#16181b", SIGN: "#22303f", RULE: "#35301f", CAUSE: "#1f4468", SOUND: "#3a3a3a",
    FOR: "#9cc8f0", AGAINST: "#ffb877", INK: "#ececec",
}  # fmt: skip
TRACE_STROKES: Mapping[str, str] = {FOR: "#9cc8f0", AGAINST: "#ffb877", INK: "#c8c8c8", "black": "#c8c8c8"}

#: In mm: the height of a printed map that leaves room for its heading, and the height of its smallest letters: 7 pt.
MAP_MM, LABEL_MM = 195.0, 2.48

_BASE = """
:root { color-scheme: light dark; }
* { box-sizing: border-box; }
html { -webkit-text-size-adjust: 100%; }
body { margin: 0 auto; padding: 1rem; max-width: 62rem; font: 16px/1.45 system-ui, -apple-system, sans-serif;
  background: var(--page-ground); color: var(--page-text); overflow-wrap: anywhere; }
h1 { font-size: 1.5rem; line-height: 1.2; margin: 0 0 .3rem; }
h2 { font-size: 1.25rem; margin: 2.2rem 0 .6rem; padding-bottom: .2rem; border-bottom: 2px solid currentColor; }
h3 { font-size: 1rem; margin: 1.3rem 0 .3rem; display: flex; flex-wrap: wrap; gap: .2rem 1rem; }
h3 span { min-width: 0; }
h3 .right { margin-left: auto; font-weight: 600; }
p { margin: .4rem 0; max-width: 46rem; }
header p { margin: .1rem 0; }
.faint, figcaption, footer { color: var(--faint-text); }
a { color: var(--link-text); }
a:focus-visible, [tabindex]:focus-visible { outline: 3px solid var(--link-text); outline-offset: 2px; }
.skip { position: absolute; left: -100rem; }
.skip:focus { position: static; }
nav ul { list-style: none; margin: .6rem 0 0; padding: 0; display: flex; flex-wrap: wrap; gap: .2rem 1rem; }
nav a { display: inline-block; padding: .2rem 0; }
.banner > * { min-width: 0; }
.banner { max-width: none; display: flex; flex-wrap: wrap; gap: .3rem 1rem; align-items: baseline;
  padding: .7rem .9rem; margin: .5rem 0;
  border-radius: .3rem; }
.banner strong { font-size: 1.5rem; letter-spacing: .03em; }
.bar { height: .5rem; border: 1px solid var(--faint-text); margin: .1rem 0 .5rem; }
.bar div { height: 100%; background: var(--link-text); }
dl { display: grid; grid-template-columns: minmax(8rem, 13rem) minmax(0, 1fr); gap: .2rem 1rem; margin: .4rem 0; }
dt { font-weight: 600; }
dd { margin: 0; }
ul, ol { margin: .4rem 0; padding-left: 1.4rem; }
li { margin: .25rem 0; }
table { border-collapse: collapse; width: 100%; margin: .7rem 0; font-size: .94em; }
caption { text-align: left; font-weight: 600; padding: .2rem 0; }
th, td { border: 1px solid #8a8f96; padding: .3rem .45rem; text-align: left; vertical-align: top; min-width: 6.5rem; }
thead th { background: var(--head-ground); color: var(--head-text); overflow-wrap: normal; }
tbody th { font-weight: 400; }
.figure { text-align: right; min-width: 8rem; }
.cautions { padding: .4rem .8rem; margin: .6rem 0; border-left: .4rem solid #c26a00; }
.cautions p { font-weight: 700; }
.caution { padding: .2rem .6rem; border-left: .3rem solid #c26a00; }
figure { margin: .8rem 0; }
.scroll { overflow-x: auto; }
.scroll svg { display: block; width: 100%; height: auto; }
.map svg { min-width: 20rem; max-width: 36rem; }
.trace svg { min-width: 40rem; }
pre { white-space: pre-wrap; margin: .5rem 0; font-size: .8rem; line-height: 1.3; }
.sign-off { display: none; }
@media (max-width: 40rem) {
  body { padding: .7rem; }
  dl { grid-template-columns: minmax(0, 1fr); gap: 0; }
  dd { margin: 0 0 .4rem; }
  h3 .right { margin-left: 0; }
  table, thead, tbody, tr, th, td, caption { display: block; }
  thead { position: absolute; left: -100rem; }
  tr { border: 1px solid #8a8f96; margin: 0 0 .6rem; }
  th, td { border: 0; min-width: 0; padding: .15rem .45rem; }
  td { display: inline-block; max-width: 100%; }
  tbody th { background: var(--head-ground); color: var(--head-text); font-weight: 600; }
  td[data-label]::before { content: attr(data-label) ": "; font-weight: 600; }
  .figure { text-align: left; min-width: 0; }
}
"""
_PRINT = """
@page { margin: 14mm; }
@media print {
  body { max-width: none; padding: 0; font-size: 9pt; line-height: 1.35; }
  p { max-width: none; }
  th, td { padding: .15rem .35rem; min-width: 5.2rem; }
  nav, .skip { display: none; }
  h2 { margin-top: .9rem; font-size: 12pt; }
  h3 { margin-top: .7rem; font-size: 9.5pt; }
  .banner strong { font-size: 14pt; }
  h2, h3, .bar, caption, thead, h2 + p, h2 + p + p { break-after: avoid; }
  figure, tr, li, .banner, .cautions { break-inside: avoid; }
  .banner, .caution, .cautions, .bar div, thead th { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  .scroll { overflow: visible; }
  .map svg { min-width: 0; width: 100%; max-width: 100%; max-height: var(--map-high, 195mm); }
  section[aria-labelledby="map"] > p { break-after: avoid; }
  section[aria-labelledby="rules"] { columns: 2; column-gap: 8mm; font-size: 8pt; }
  section[aria-labelledby="rules"] h2 { column-span: all; }
  section[aria-labelledby="rules"] dl { grid-template-columns: 5rem minmax(0, 1fr); gap: 0 .5rem; break-inside: avoid; }
  .trace svg { min-width: 0; max-width: 100%; max-height: 200mm; }
  .sign-off { display: block; margin-top: 2rem; break-inside: avoid; }
  .sign-off p { margin: 1.6rem 0 0; border-top: 1px solid currentColor; max-width: 24rem; }
}
"""


def style(paper: str = "") -> str:
    """The whole style sheet. paper: `A4` or `Letter` for a file made for one; empty leaves it to the printer."""
    rules = [_colours(LIGHT, ":root"), _BASE.strip(), *(_tone(name) for name in LIGHT if name not in ("page", "link"))]
    dark = [_colours(DARK, ":root"), dark_style(), *_trace_dark()]
    rules += ["@media screen and (prefers-color-scheme: dark) {", *dark, "}", _PRINT.strip()]
    if paper:
        rules.append(f"@page {{ size: {paper}; }}")
    return "\n".join(rules)


def printed_height(svg: str) -> str | None:
    """How high a tall map may be on paper so that its labels stay readable; None where the style sheet will do.

    >>> printed_height('<svg viewBox="0 0 418 942">'), printed_height('<svg viewBox="0 0 418 700">')
    ('--map-high: 234mm', None)
    """
    box = re.search(r'viewBox="0 0 [\d.]+ ([\d.]+)"', svg)
    high = float(box[1]) * LABEL_MM / SMALL if box else 0.0
    return f"--map-high: {high:.0f}mm" if high > MAP_MM else None


def _colours(pairs: Mapping[str, tuple[str, str]], where: str) -> str:
    rules = "".join(f"--{name}-text:{text};--{name}-ground:{ground};" for name, (text, ground) in pairs.items())
    return f"{where} {{ {rules} }}"


def _tone(name: str) -> str:
    if name in ("faint", "head"):
        return ""
    return f".tone-{name} {{ color: var(--{name}-text); background: var(--{name}-ground); }}"


def _trace_dark() -> list[str]:
    fills = [f'.trace svg [fill="{old}"] {{ fill: {new}; }}' for old, new in TRACE_FILLS.items()]
    strokes = [f'.trace svg [stroke="{old}"] {{ stroke: {new}; }}' for old, new in TRACE_STROKES.items()]
    return [*fills, *strokes, ".trace svg text:not([fill]) { fill: #ececec; }"]
