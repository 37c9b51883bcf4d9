"""The report of a run as lines: failures in full, everything else in numbers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lugwright.report.lines import Line
from lugwright.rulecases.coverage import Coverage, Part
from lugwright.rulecases.run import CaseResult, Results

_WIDTH = 11
#: Names printed of one part of the coverage; the JSON has them all.
_NAMED = 12


def result_lines(results: Results, label: str, *, every: bool = False) -> Iterator[Line]:
    """The report of a run.

    label: the rule base, as it names itself. every: also list the cases that pass.
    """
    yield Line(label, tone="head")
    for one in results.cases:
        if not one.passed or every:
            yield Line()
            yield from case_lines(one)
    yield Line()
    yield _sum(results)
    if results.coverage:
        yield Line()
        yield from coverage_lines(results.coverage)


def case_lines(one: CaseResult) -> Iterator[Line]:
    """One case: its sentence, what was expected and did not come out, what came out instead, what decided it."""
    mark, tone = ("PASS", "go") if one.passed else ("FAIL", "strong")
    yield Line(f"{one.case} ({one.kind})", label=mark, label_width=6, tone=tone)
    yield Line(f"{one.file}:{one.line}", indent=6, tone="faint")
    yield Line(one.sentence, indent=6)
    if one.trouble:
        yield Line("it cannot be diagnosed:", indent=6)
        yield from (Line(text, indent=8) for text in one.trouble.splitlines())
    for miss in one.failures:
        yield Line(miss.expected, indent=6, label="expected", label_width=_WIDTH)
        yield Line(miss.got, indent=6, label="got", label_width=_WIDTH)
    for n, text in enumerate(one.deciding):
        yield Line(text, indent=6, label="and by" if n else "decided by", label_width=_WIDTH)


def coverage_lines(found: Coverage) -> Iterator[Line]:
    """What no case exercises, by kind."""
    yield Line("Coverage", tone="head")
    yield from _part_lines("causes with their three kinds of case", found.causes)
    yield from _part_lines("chaining rules that fire in a case that names them", found.rules_fire)
    yield from _part_lines("chaining rules that a case holds silent", found.rules_silent)
    yield from _part_lines("links from a cause to a sign", found.links)
    yield from _part_lines("checks", found.checks)


def _part_lines(name: str, part: Part) -> Iterator[Line]:
    yield Line(name, indent=2, right=f"{part.exercised} of {part.total}")
    if part.missing:
        shown, more = part.missing[:_NAMED], len(part.missing) - _NAMED
        tail = f", and {more} more (--json prints them all)" if more > 0 else ""
        yield Line("not exercised: " + ", ".join(shown) + tail, indent=4, tone="faint")


def _sum(results: Results) -> Line:
    total, failed = len(results.cases), len(results.failed)
    if failed:
        return Line(f"{failed} of {_count(total, 'case')} failed.", tone="stop")
    return Line(f"{_count(total, 'case')} passed." if total else "No case was run.", tone="go")


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def plain(lines: Iterable[Line]) -> str:
    """The lines as text of a fixed width, for a place that is no terminal."""
    from lugwright.report.lines import laid_out

    return "\n".join(text.rstrip() for text, _ in laid_out(lines, 100))
