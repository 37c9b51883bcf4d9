"""`lugwright align`: the adjustment loop of one unit, question by question, saved after every answer."""

from __future__ import annotations

import hashlib
import io
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Optional

import typer

from lugwright.cli.shared import CaseFile, RulesFolders, load_both, written
from lugwright.issues import Issue, Spot, UnusableInput

if TYPE_CHECKING:
    from lugwright.plan.alignment import Ask, Finish, Setup


def align_command(
    case: CaseFile,
    unit: Annotated[
        Optional[str],  # noqa: UP045 - typer reads the annotation at run time
        typer.Option("--unit", metavar="UNIT", help="The unit to align (default: the one furthest off the middle)."),
    ] = None,
    restart: Annotated[bool, typer.Option("--restart", help="Begin again; the saved answers are put aside.")] = False,
    rules: RulesFolders = None,
) -> None:
    """Align one unit step by step: which screw, how far, what to prove; stops and says what to suspect when it must.

    Answers are read line by line and kept beside the case, so that it can be left at any time and taken up again.

    Example: lugwright align examples/one-unit-off-line.yaml --unit front-right
    """
    record, rulebase = load_both(case, rules)
    from lugwright.plan.alignment_setup import hindrance, setup_of
    from lugwright.triage import triage

    answer = triage(record, rulebase)
    setup = setup_of(record, unit, answer, rulebase)
    hindered = hindrance(answer)
    if hindered is not None:
        _end(hindered)
        return
    target = case.with_name(f"{case.stem}.align-{setup.unit}.json")
    if restart and target.exists():
        try:
            target.replace(_aside(target))
        except OSError as problem:
            raise _fault(target, "cannot-write", f"cannot be put aside: {problem.strerror or problem}", "") from None
    _go(setup, record.case, target)


def _aside(target: Path) -> Path:
    """Where saved answers are put aside: beside them, under a name that no earlier answers have."""
    number = 1
    while (free := target.with_suffix(f".before{f'-{number}' if number > 1 else ''}.json")).exists():
        number += 1
    return free


def _go(setup: Setup, name: str, target: Path) -> None:
    from lugwright.plan.alignment import Finish, stand
    from lugwright.plan.alignment_answers import AnswerRefused

    mark = hashlib.sha256(repr(setup).encode()).hexdigest()[:16]
    answers = _saved(target, name, mark)
    if answers:
        typer.echo(f"Taken up again after {len(answers)} answers, from {target}.\n")
    try:
        here = stand(setup, answers)
    except AnswerRefused as problem:
        raise _fault(target, "saved-answers", str(problem), problem.hint) from None
    typer.echo(f"Aligning {setup.unit}. The operator's manual, local rules and qualified people come first.\n")
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")  # a letter of another encoding is refused as an answer, nothing worse
    while not isinstance(here, Finish):
        _show(here)
        text = _line()
        if text is None:
            typer.echo("\nLeft here. Run the same command again to go on.")
            return
        try:
            here.read(text)
        except AnswerRefused as problem:
            typer.echo(f"  Not taken: {problem}." + (f" ({problem.hint})" if problem.hint else "") + "\n")
            continue
        answers.append((here.id, text))
        _save(target, name, mark, answers)
        here = stand(setup, answers)
    _end(here)
    if answers:
        written(target, "kept in")


def _show(ask: Ask) -> None:
    from lugwright.report.lines import Line, write

    lines = [Line(text, label="  ", label_width=2) for text in ask.told]
    if ask.caution:
        lines.append(Line(ask.caution, label="!  CAUTION ", label_width=11, tone="stop"))
    lines.append(Line(ask.text, tone="strong"))
    write(lines)
    typer.echo(f"  [{ask.hint}; quit leaves it] > ", nl=False)
    sys.stdout.flush()


def _end(finish: Finish) -> None:
    from lugwright.report.lines import Line, write

    title = {"done": "DONE", "nothing-to-do": "NOTHING TO ADJUST", "stopped": "STOP"}[finish.outcome]
    lines = [Line(text) for text in finish.told]
    lines += [Line(), Line(title, tone="go" if finish.outcome != "stopped" else "stop"), Line(finish.text)]
    lines += [Line(text, label="suspect ", label_width=8, indent=2) for text in finish.suspects]
    write(lines)


def _line() -> str | None:
    """The next line, or None where there is none or the person leaves."""
    try:
        text = sys.stdin.readline()
    except (OSError, KeyboardInterrupt):
        return None
    if not text or text.strip().lower() in ("quit", "exit", "q"):
        return None
    if not sys.stdin.isatty():
        typer.echo(text.strip())
    return text.strip()


def _saved(target: Path, name: str, mark: str) -> list[tuple[str, str]]:
    if not target.exists():
        return []
    try:
        kept: Any = json.loads(target.read_text(encoding="utf-8"))
        answers = [(str(asked), str(text)) for asked, text in kept["answers"]]
    except (OSError, ValueError, KeyError, TypeError):
        raise _fault(
            target, "saved-answers", "this file does not hold saved answers", "move it away, or use --restart"
        ) from None
    if kept.get("case") != name or kept.get("setup") != mark:
        what = "the case, its first reading or the machine sheet has changed since these answers were given"
        raise _fault(target, "saved-answers", what, "put that back, or begin again with --restart")
    return answers


def _save(target: Path, name: str, mark: str, answers: list[tuple[str, str]]) -> None:
    from lugwright.report.render import write_whole

    kept = {"case": name, "setup": mark, "answers": answers}
    try:
        write_whole(target, (json.dumps(kept, indent=1, ensure_ascii=False) + "\n").encode())
    except OSError as problem:
        raise _fault(target, "cannot-write", f"cannot be written: {problem.strerror or problem}", "") from None


def _fault(target: Path, code: str, what: str, hint: str) -> UnusableInput:
    return UnusableInput([Issue(Spot(str(target)), code, what, hint=hint)])
