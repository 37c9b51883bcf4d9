"""`lugwright wear`: how fast it wears and how many hours are left to a limit."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from lugwright.cli.shared import RulesFolders, load_both, writing, written
from lugwright.issues import Issue, Spot, UnusableInput


def _fault(where: str, code: str, what: str, hint: str = "") -> UnusableInput:
    return UnusableInput([Issue(Spot(where), code, what, hint=hint)])


def _length(option: str, text: str) -> float:
    from lugwright.quantities import QuantityError, parse

    try:
        return parse(text, "length")
    except QuantityError as problem:
        raise _fault(option, "not-a-number", str(problem), problem.hint) from None


def wear_command(
    readings: Annotated[
        Path, typer.Argument(metavar="READINGS.csv|CASE.yaml", help="Hours and heights, or a case with lug sizes.")
    ],
    limit: Annotated[
        Optional[str],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("--limit", metavar="LENGTH", help="Height at which it is due, e.g. '13 mm' or '1/2 in'."),
    ] = None,
    level: Annotated[float, typer.Option("--level", min=50, max=99.9, help="Level of the interval in %.")] = 90,
    error: Annotated[
        str, typer.Option("--error", metavar="LENGTH", help="Standard deviation of one reading.")
    ] = "1 mm",
    price: Annotated[
        Optional[float],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("--price", min=0, help="Price of the part, for the cost of an hour from new down to the limit."),
    ] = None,
    new: Annotated[
        Optional[str],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("--new", metavar="LENGTH", help="Height when new, for the cost (default: the first reading)."),
    ] = None,
    output: Annotated[
        Optional[Path],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("-o", "--output", metavar="FILE", help="Also draw it: .svg (or .png where a converter is found)."),
    ] = None,
    rules: RulesFolders = None,
) -> None:
    """Wear rate and hours left to a limit, with both ends of what is likely, for each position.

    Example: lugwright wear examples/bar-heights.csv --limit 13mm -o wear.svg
    """
    from lugwright.readings.uncertainty import ReadingRefused
    from lugwright.readings.wear_change import TooFewReadings
    from lugwright.readings.wear_forecast import cost_per_hour, forecast
    from lugwright.readings.wear_table import read_wear
    from lugwright.report.lines import write
    from lugwright.report.wear_text import wear_lines

    least = _length("--limit", limit) if limit else None
    in_case = readings.suffix.lower() in (".yaml", ".yml")
    if output is not None:
        from lugwright.report.wear_plot import foresee

        with writing(output):
            foresee(output)
    usual: tuple[float, ...] = ()
    if in_case:
        from lugwright.readings.wear_case import wear_of_case

        record, _ = load_both(readings, rules)
        series, usual = wear_of_case(record)
    else:
        series = read_wear(readings)
    if least is None and not usual:
        hint = "name one, e.g. --limit 13mm; the machine sheet or the operator's manual gives it"
        raise _fault("--limit", "no-limit", "without a limit there are no hours left to work out", hint)
    sd = _length("--error", error)
    if sd <= 0:
        raise _fault("--error", "out-of-range", "a reading has some error")
    found = []
    few: list[Issue] = []
    refused: list[Issue] = []
    for number, one in enumerate(series):
        limit_mm = least if least is not None else usual[number]
        try:
            found.append(forecast(one.hours, one.heights, limit_mm, one.position, level / 100, sd, one.now))
        except ReadingRefused as problem:
            spot = Spot(readings.as_posix(), one.lines[-1], 1)
            text = one.texts[-1] if one.texts else ""
            issue = Issue(spot, "reading-refused", f"{one.position}: {problem}", hint=problem.hint, text=text)
            (few if isinstance(problem, TooFewReadings) else refused).append(issue)
    if refused or not found:
        raise UnusableInput([*few, *refused])
    found.sort(key=lambda one: (one.life.low, one.position))
    fresh = _length("--new", new) if new else None
    costs: list[float | None] = []
    for forecasted in found if price is not None else ():
        usable = (fresh if fresh is not None else forecasted.heights[0]) - forecasted.limit
        sound = usable > 0 and forecasted.rate > 0
        costs.append(cost_per_hour(price or 0.0, usable, forecasted.rate) if sound else None)
    write(wear_lines(found, costs, "belt hours" if in_case else "this meter"))
    for issue in few:
        typer.echo(f"left out: {issue.what} (line {issue.spot.line})")
    if output is not None:
        from lugwright.report.wear_plot import draw_wear, wear_svg

        with writing(output):
            note = draw_wear(wear_svg(found), output)
        if note:
            typer.echo(note, err=True)
        else:
            written(output, "drawn:")
