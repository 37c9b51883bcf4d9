"""A job card as plain text, Markdown, or one self-contained page that prints on paper."""

from __future__ import annotations

import html
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from lugwright.report.figures import percent
from lugwright.report.lines import Line, laid_out, printable
from lugwright.report.sentences import heed_beside

if TYPE_CHECKING:
    from lugwright.plan.jobcard import JobCard

VERDICTS = {"stop": "STOP: no further work", "limit-use": "LIMIT USE", "keep-running": "KEEP RUNNING"}
_INVENTED = "Invented demonstration; the machine does not exist, and no number here may be used on a real one."
_NO_NUMBERS = "This work needs none of the sheet."
_STOP = (
    "The verdict is STOP: no step of this card that drives or rolls the machine may be done until what stands here is "
    "put right and the machine may move again. Work on it only while it stands secured."
)
_REPAIRS = (
    "The verdict is STOP, and this work is what puts it right. Until it is proved the machine moves only as what "
    "stands here allows, and nobody stands near it while it does."
)
_WHY_LATER = (
    "This work comes before every check there. Once its first steps have shown the cause, print the card for that: "
    "lugwright jobcard CASE.yaml --cause ID."
)
_UNLIKELY = "This cause is not the likeliest answer of the case: be sure before a tool is taken up."
_UNSETTLED = (
    "This cause stands first, but it is not settled, since it is not more likely than not: prove it before a tool is "
    "taken up."
)


def head(card: JobCard) -> tuple[str, ...]:
    """The lines that say what the card is about."""
    chance = f"{card.word}, {percent(card.probability)}" if card.probability else card.word
    asked_for = f"Found      {card.found}" if card.found else f"Cause      {card.cause_name} ({chance})"
    minutes = f"about {card.minutes:g} min" if card.minutes else "time: see the operator's manual"
    return (
        f"Machine    {card.machine}",
        f"Place      {card.place_words}",
        asked_for,
        f"Verdict    {VERDICTS[card.verdict]}",
        f"Case       {card.case}, {card.rulebase}",
        f"Time       {minutes}",
    )


def notes(card: JobCard) -> tuple[str, ...]:
    """What must be said before the card is believed."""
    label = {"stop": "Stop", "limit-use": "Limit"}.get(card.verdict, "")
    stop = _REPAIRS if card.repairs_stop else _STOP
    verdict = ((stop, card.verdict == "stop"), *((f"{label}: {text}", True) for text in card.reasons))
    rows = (
        *verdict,
        (_INVENTED, card.invented),
        (_WHY_LATER, bool(card.found)),
        (f"Other work that comes first: {', '.join(card.also)}.", bool(card.also)),
        (_UNSETTLED if card.first else _UNLIKELY, not card.likely),
    )
    return (*(text for text, wanted in rows if wanted), *heed_beside(card.undecided, card.beside))


def card_lines(card: JobCard) -> Iterator[Line]:
    """The card for a terminal; a caution always stands right before the step it protects."""
    yield Line(f"JOB CARD   {card.title}", tone="head")
    for row in head(card):
        yield Line(row[11:], label=row[:11], label_width=11)
    for text in notes(card):
        yield Line(text, tone="limit")
    yield from _part("Before anything else", card.cautions, label="!  ", tone="stop")
    yield from _part("Tools", card.tools, label="[ ]")
    yield from _part("What must hold before the work begins", card.before, label="[ ]")
    yield Line()
    yield Line("Steps", tone="head")
    for number, step in enumerate(card.steps, 1):
        if step.caution:
            yield Line(step.caution, indent=4, label="!  CAUTION ", label_width=11, tone="stop")
        yield Line(step.do, label=f"[ ] {number:>2} ", label_width=7)
    yield from _part("Prove it", (card.prove,), label="[ ]")
    yield Line()
    yield Line("Recheck", tone="head")
    for one in card.recheck:
        yield Line(one.text + (f" (hour meter {', '.join(one.due)})" if one.due else ""), label="[ ] ", label_width=4)
    yield Line()
    yield Line("Numbers of this machine", tone="head")
    if not card.numbers:
        yield Line(_NO_NUMBERS)
    for own in card.numbers:
        yield Line(own.value, label=f"{own.name:<24}", label_width=24)
    yield Line()
    for row in card.sign_off:
        yield Line("_" * 40, label=f"{row:<26}", label_width=26)


def _part(title: str, texts: tuple[str, ...], label: str, tone: str = "") -> Iterator[Line]:
    yield Line()
    yield Line(title, tone="head")
    for text in texts:
        yield Line(text, label=f"{label} ", label_width=4, tone=tone)


def card_text(card: JobCard, width: int = 100) -> str:
    """The card as plain text of at most `width` columns."""
    return "".join(text.rstrip() + "\n" for text, _ in laid_out(card_lines(card), width))


def card_markdown(card: JobCard) -> str:
    """The card as Markdown with tick boxes."""

    safe_unknown = "\\[see the operator's manual\\]"

    def safe(text: str) -> str:
        """Nothing a case or a rule base holds may become markup."""
        marks = "\\`*_{}[]<>#|!"
        escaped = "".join(f"\\{mark}" if mark in marks else mark for mark in printable(text))
        return escaped.replace("&", "&amp;").replace(safe_unknown, "**see the operator's manual**")

    rows = [f"# Job card: {safe(card.title)}", ""]
    rows += [f"- **{row[:11].strip()}**: {safe(row[11:])}" for row in head(card)]
    rows += ["", *(f"> {safe(text)}" for text in notes(card))] if notes(card) else []
    rows += ["", "## Before anything else", "", *(f"- **Caution.** {safe(text)}" for text in card.cautions)]
    rows += ["", "## Tools", "", *(f"- [ ] {safe(text)}" for text in card.tools)]
    rows += ["", "## What must hold before the work begins", "", *(f"- [ ] {safe(text)}" for text in card.before)]
    rows += ["", "## Steps", ""]
    for number, step in enumerate(card.steps, 1):
        caution = f"**Caution.** {safe(step.caution)} " if step.caution else ""
        rows.append(f"- [ ] {number}. {caution}{safe(step.do)}")
    rows += ["", "## Prove it", "", f"- [ ] {safe(card.prove)}", "", "## Recheck", ""]
    for one in card.recheck:
        due = f" (hour meter {', '.join(one.due)})" if one.due else ""
        rows.append(f"- [ ] {safe(one.text)}{due}")
    rows += ["", "## Numbers of this machine", "", "| number | value |", "|---|---|"]
    rows += [f"| {safe(own.name)} | {safe(own.value)} |" for own in card.numbers] or [f"| - | {_NO_NUMBERS} |"]
    rows += ["", "## Sign-off", "", *(f"- {row}: ______________________" for row in card.sign_off)]
    return "\n".join(rows) + "\n"


STYLE = """
@page { size: A4; margin: 16mm }
body { font: 11pt/1.4 system-ui, sans-serif; color: #1a1a1a; background: #fff }
body { max-width: 46em; margin: 1em auto; padding: 0 1em }
h1 { font-size: 1.5em; margin: 0 0 .3em }
h2 { font-size: 1.1em; margin: 1.2em 0 .3em; border-bottom: 1px solid #1a1a1a }
table { border-collapse: collapse } th { text-align: left; font-weight: 600 }
td, th { padding: .1em .8em .1em 0; vertical-align: top }
ol, ul { margin: 0; padding-left: 0; list-style: none }
li { margin: .35em 0; padding-left: 2em; position: relative; break-inside: avoid }
li > .box { position: absolute; left: 0; top: .15em; width: 1em; height: 1em; border: 1.5px solid #1a1a1a }
.caution { border-left: 5px solid #1a1a1a; background: #ffe9a8; padding: .2em .6em; margin: .3em 0; font-weight: 600 }
.note { border: 1.5px dashed #1a1a1a; padding: .3em .6em } .number { font-weight: 600 }
.line { border-bottom: 1px solid #1a1a1a; display: inline-block; width: 20em }
.whole, .note, .caution, tr { break-inside: avoid } h1, h2 { break-after: avoid }
@media print { .caution { background: none } body { margin: 0 } }
""".strip()


def card_page(card: JobCard) -> str:
    """The card as one HTML page: no script, no outside file; it prints in black on white and reads without colour."""

    def safe(text: str) -> str:
        return html.escape(printable(text))

    def items(texts: tuple[str, ...], shape: Callable[[str], str]) -> str:
        return "\n".join(f"<li>{shape(safe(text))}</li>" for text in texts)

    def boxed(text: str) -> str:
        return f'<span class="box"></span>{text}'

    rows = "\n".join(f"<tr><th>{row[:11].strip()}</th><td>{safe(row[11:])}</td></tr>" for row in head(card))
    steps = []
    for number, step in enumerate(card.steps, 1):
        caution = f'<div class="caution">Caution: {safe(step.caution)}</div>' if step.caution else ""
        steps.append(
            f'<li>{caution}<span class="box"></span><span class="number">{number}.</span> {safe(step.do)}</li>'
        )
    rechecks = []
    for one in card.recheck:
        due = f' <span class="number">(hour meter {", ".join(one.due)})</span>' if one.due else ""
        rechecks.append(f'<li><span class="box"></span>{safe(one.text)}{due}</li>')
    numbers = "\n".join(f"<tr><td>{safe(n.name)}</td><td>{safe(n.value)}</td></tr>" for n in card.numbers)
    numbers = numbers or f"<tr><td>{_NO_NUMBERS}</td></tr>"
    signs = "\n".join(f'<tr><td>{row}</td><td><span class="line">&nbsp;</span></td></tr>' for row in card.sign_off)
    warn = "\n".join(f'<p class="note">{safe(text)}</p>' for text in notes(card))
    cautions = "\n".join(f'<div class="caution">Caution: {safe(text)}</div>' for text in card.cautions)
    return f"""<!DOCTYPE html>
<html lang="en">
<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>Job card: {safe(card.title)}</title>
<style>
{STYLE}
</style></head>
<body>
<h1>Job card: {safe(card.title)}</h1>
<table>
{rows}
</table>
{warn}
<h2>Before anything else</h2>
{cautions}
<h2>Tools</h2>
<ul>
{items(card.tools, boxed)}
</ul>
<h2>What must hold before the work begins</h2>
<ul>
{items(card.before, boxed)}
</ul>
<h2>Steps</h2>
<ol>
{chr(10).join(steps)}
</ol>
<h2>Prove it</h2>
<ul>
{items((card.prove,), boxed)}
</ul>
<h2>Recheck</h2>
<ul>
{chr(10).join(rechecks)}
</ul>
<section class="whole">
<h2>Numbers of this machine</h2>
<table>
{numbers}
</table>
</section>
<section class="whole">
<h2>Sign-off</h2>
<table>
{signs}
</table>
</section>
</body>
</html>
"""
