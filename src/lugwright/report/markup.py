"""Markup that cannot be broken by what a case or rule file says: every text is escaped when it is put in.

`Markup` is text that is markup already; only `el`, `joined` and `verbatim` make it. Whatever else is given to `el` is a
plain text: its control and direction marks are made visible, and it is escaped.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterable

from lugwright.report.lines import printable

#: The blank between a figure and a unit, in a text that is escaped already.
_UNIT_AFTER = re.compile(r"(?<=\d) (?=(?:%|h|min|mm|cm|m|km|km/h|mph|in|ft|K|°C|°F|N·m|lbf·ft|bar|bits)(?![\w/·&]))")
#: Elements that have no content in HTML.
VOID = frozenset({"meta", "br", "hr"})


class Markup(str):
    """Text that is safe markup."""

    __slots__ = ()


def safe(text: str) -> Markup:
    """A plain text as markup: blanks and line ends become one blank, marks that steer a display are made visible.

    >>> safe("a <b>\\n & \\u202e")
    'a &lt;b&gt; &amp; \\\\u202e'
    """
    return text if isinstance(text, Markup) else Markup(html.escape(printable(" ".join(text.split())), quote=True))


def kept_together(text: str) -> Markup:
    """A plain text as markup in which no line ends between a figure and its unit.

    >>> kept_together("92 %, 1860 h, 3 signs")
    '92&nbsp;%, 1860&nbsp;h, 3 signs'
    """
    return Markup(_UNIT_AFTER.sub("&nbsp;", safe(text)))


def joined(parts: Iterable[str], between: str = "") -> Markup:
    """Parts one after another; plain texts among them are escaped."""
    return Markup(between.join(safe(part) for part in parts))


def el(name: str, /, *inside: str, **attributes: str | float | None) -> Markup:
    """One element. An attribute that is None is left out; `class_` and `for_` lose their dash, `_` becomes `-`.

    >>> el("p", "1 < 2", class_="small", aria_label='say "so"')
    '<p class="small" aria-label="say &quot;so&quot;">1 &lt; 2</p>'
    >>> el("rect", x=1.5, fill_opacity=None), el("br")
    ('<rect x="1.5"></rect>', '<br>')
    """
    said = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{safe(value if isinstance(value, str) else f"{value:g}")}"'
        for key, value in attributes.items()
        if value is not None
    )
    if name in VOID:
        return Markup(f"<{name}{said}>")
    return Markup(f"<{name}{said}>{joined(inside)}</{name}>")


def verbatim(text: str) -> Markup:
    """Markup from a source that escapes by itself: our own style sheet, a drawing that was made elsewhere."""
    return Markup(text)
