"""The page as one HTML file: nothing loaded from elsewhere, no script, light and dark, phone and paper.

The same diagnosis and the same drawn trace give the same bytes: no clock, no random numbers.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import singledispatch
from xml.etree import ElementTree

from lugwright.diagnosis import Diagnosis
from lugwright.report.browser import POLICY
from lugwright.report.lines import laid_out
from lugwright.report.markup import VOID, Markup, el, joined, kept_together, safe, verbatim
from lugwright.report.page.blocks import (
    Banner,
    Block,
    Bullets,
    Cautions,
    Facts,
    Heading,
    Picture,
    Section,
    Steps,
    Table,
    Text,
)
from lugwright.report.page.sections import sections
from lugwright.report.page.style import printed_height, style
from lugwright.report.trace_text import trace_lines
from lugwright.report.wear_map import wear_map_svg

NO_PICTURE = (
    "The picture of the reasoning was not drawn, since no program that can draw it was found; it stands here as text. "
    "To have it drawn: pip install 'lugwright[draw]', then make the report again."
)

BLANK = verbatim(" ")
#: Elements without an end tag.
VOID_TAGS = VOID


def page_html(answer: Diagnosis, trace_svg: str | None = None, *, paper: str = "") -> str:
    """The whole page.

    trace_svg: the drawn trace as SVG; without it the trace stands as text. paper: `A4` or `Letter`, or as the printer
    has it.
    """
    parts = sections(answer)
    head = [
        el("meta", charset="utf-8"),
        verbatim(POLICY),
        el("meta", name="viewport", content="width=device-width, initial-scale=1"),
        el("meta", name="referrer", content="no-referrer"),
        el("title", f"{answer.case}: diagnosis of {answer.machine}"),
        verbatim(f"<style>\n{style(paper)}\n</style>"),
    ]
    body = [
        el("a", "Skip to the verdict", href="#verdict", class_="skip"),
        _header(answer),
        el(
            "main",
            _section(parts[0], answer, trace_svg),
            _contents(parts),
            *(_section(part, answer, trace_svg) for part in parts[1:]),
        ),
        el("footer", el("p", f"Lugwright, {answer.rulebase.words}"), _sign_off()),
    ]
    page = joined(
        [
            verbatim("<!DOCTYPE html>\n"),
            el("html", el("head", *head), verbatim("\n"), el("body", *body), lang="en-GB"),
        ]
    )
    return f"{page}\n"


def notebook_html(answer: Diagnosis, trace_svg: str | None = None) -> str:
    """The page inside a frame, so that its style stays in it and the notebook's stays out."""
    return el(
        "iframe",
        title=f"Diagnosis of {answer.case}",
        srcdoc=verbatim_attribute(page_html(answer, trace_svg)),
        sandbox="",
        style="width: 100%; height: 44rem; border: 1px solid",
    )


def verbatim_attribute(page: str) -> Markup:
    """A whole page as the value of an attribute: escaped once more, its line ends kept."""
    return verbatim(page.replace("&", "&amp;").replace('"', "&quot;").replace("<", "&lt;").replace(">", "&gt;"))


def _header(answer: Diagnosis) -> Markup:
    lines = [el("p", kept_together(answer.machine)), el("p", answer.rulebase.words, class_="faint")]
    if answer.invented:
        lines.append(el("p", "Invented demonstration case; the machine does not exist.", class_="faint"))
    return el("header", el("h1", answer.case), *lines)


def _contents(parts: tuple[Section, ...]) -> Markup:
    links = [el("li", el("a", part.title, href=f"#{part.id}")) for part in parts]
    return el("nav", el("ul", *links), aria_label="On this page")


def _sign_off() -> Markup:
    return el("div", el("p", "Read and accepted by"), el("p", "Date"), class_="sign-off", aria_hidden="true")


def _section(part: Section, answer: Diagnosis, trace_svg: str | None) -> Markup:
    inside = [
        _picture(block, answer, trace_svg) if isinstance(block, Picture) else _shown(block) for block in part.blocks
    ]
    title = el("h2", part.title, id=part.id)
    return joined([verbatim("\n"), el("section", title, *inside, aria_labelledby=part.id)])


def _picture(block: Picture, answer: Diagnosis, trace_svg: str | None) -> Markup:
    caption = el("figcaption", block.caption)
    if block.kind == "map":
        drawing = verbatim(wear_map_svg(answer, key=False))
        return el("figure", _scroll(drawing, "Wear map"), caption, class_="map", style=printed_height(drawing))
    drawn = inline_svg(trace_svg, block.alt) if trace_svg else None
    if drawn is None:
        lines = "\n".join(text.rstrip() for text, _ in laid_out(trace_lines(answer), 100))
        text = el("pre", verbatim("\n".join(safe_line(line) for line in lines.split("\n"))))
        return joined([el("p", NO_PICTURE, class_="faint"), _scroll(text, "The reasoning as text")])
    return el("figure", _scroll(drawn, "Drawn trace"), caption, class_="trace")


def safe_line(line: str) -> str:
    """One line of laid-out text, its blanks kept."""
    return "".join(" " if mark == " " else safe(mark) for mark in line)


def _scroll(inside: Markup, label: str) -> Markup:
    return el(
        "div", inside, class_="scroll", role="group", tabindex="0", aria_label=f"{label}, may be scrolled sideways"
    )


def inline_svg(svg: str, alt: str) -> Markup | None:
    """A drawing made elsewhere, ready to stand inside a page: no prolog, no size, with words; None if it is no SVG."""
    try:
        tree = ElementTree.fromstring(svg.encode())
    except ElementTree.ParseError:
        return None
    start = re.search(r"<svg\b[^>]*>", svg)
    if start is None or any(_does_more(one) for one in tree.iter()):
        return None
    tag = re.sub(r'\s(?:width|height)="[^"]*"', "", start[0])
    words = safe(alt)
    return verbatim(f'{tag[:-1]} role="img" aria-label="{words}">{svg[start.end() :].rstrip()}')


def _does_more(one: ElementTree.Element) -> bool:
    """Whether an element of a drawing runs or loads something."""
    names = {name.rpartition("}")[2]: value for name, value in one.attrib.items()}
    runs = one.tag.rpartition("}")[2] in ("script", "foreignObject") or any(name.startswith("on") for name in names)
    return runs or not names.get("href", "#").startswith("#")


@singledispatch
def _shown(block: Block) -> Markup:
    raise TypeError(f"no view for {type(block).__name__}")


@_shown.register
def _(block: Text) -> Markup:
    return el("p", kept_together(block.text), class_="faint" if block.tone == "faint" else None)


@_shown.register
def _(block: Banner) -> Markup:
    return el("p", el("strong", block.word), BLANK, el("span", block.text), class_=f"banner tone-{block.tone}")


@_shown.register
def _(block: Heading) -> Markup:
    right = [BLANK, el("span", block.right, class_="right")] if block.right else []
    heading = el("h3", el("span", block.text), *right, id=block.id or None)
    if block.share is None:
        return heading
    bar = el("div", el("div", style=f"width: {block.share * 100:.1f}%"), class_="bar", aria_hidden="true")
    return joined([heading, bar])


@_shown.register
def _(block: Facts) -> Markup:
    return el("dl", *(joined([el("dt", name), el("dd", kept_together(text))]) for name, text in block.rows))


@_shown.register
def _(block: Bullets) -> Markup:
    return el("ol" if block.numbered else "ul", *(el("li", kept_together(item)) for item in block.items))


@_shown.register
def _(block: Cautions) -> Markup:
    head = el("p", "Before you touch anything")
    return el("div", head, el("ul", *(el("li", item) for item in block.items)), class_="cautions tone-caution")


@_shown.register
def _(block: Steps) -> Markup:
    return el("ol", *(el("li", *_step(caution, do)) for caution, do in block.items))


def _step(caution: str, do: str) -> Iterator[Markup]:
    if caution:
        yield el("p", el("strong", "Caution:"), BLANK, caution, class_="caution tone-caution")
    yield el("p", kept_together(do))


@_shown.register
def _(block: Table) -> Markup:
    def kind(column: int) -> str | None:
        return "figure" if column in block.figures else None

    heads = [
        el("th", name, scope="col", role="columnheader", class_=kind(column))
        for column, name in enumerate(block.columns)
    ]
    rows = []
    for row in block.rows:
        cells = [el("th", row[0], scope="row", role="rowheader")]
        cells += [
            el("td", text, role="cell", class_=kind(column), data_label=block.columns[column])
            for column, text in enumerate(row[1:], 1)
        ]
        rows.append(el("tr", *cells, role="row"))
    return el(
        "table",
        el("caption", block.caption),
        el("thead", el("tr", *heads, role="row"), role="rowgroup"),
        el("tbody", *rows, role="rowgroup"),
        role="table",
    )
