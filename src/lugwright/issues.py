"""Faults in what a person wrote, as small objects: where, what, why, and what to do about it.

Loading a rule base or a case collects every fault it can find and then stops; it returns either knowledge or
faults, never half of each.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True, order=True)
class Spot:
    """A position in a text file. Line and column count from 1; line 0 means the file as a whole.

    >>> str(Spot("rules/scales.yaml", 7, 17))
    'rules/scales.yaml:7:17'
    >>> str(Spot("missing.yaml"))
    'missing.yaml'
    """

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}" if self.line else self.file


@dataclass(frozen=True, order=True)
class Issue:
    """One fault: where it stands, a stable code, what is wrong, why it matters, what would repair it.

    `text` is the author's own line, so that the message can show it. `severity` is `error` or `warning`.
    """

    spot: Spot
    code: str
    what: str
    why: str = ""
    hint: str = ""
    severity: str = "error"
    text: str = field(default="", compare=False)


class UnusableInput(Exception):
    """Input that cannot be used as it stands. Carries every fault found; a command exits with code 2."""

    def __init__(self, issues: Iterable[Issue]) -> None:
        self.issues: tuple[Issue, ...] = tuple(sorted(set(issues)))
        super().__init__("\n\n".join(render(issue) for issue in self.issues))


def render(issue: Issue) -> str:
    """The fault as a person reads it: place and name, the author's own line with a caret, why, hint.

    >>> print(render(Issue(Spot("a.yaml", 3, 5), "unknown-key", "'prior' is not a key of a cause",
    ...                    "a key nobody reads is a mistake that stays hidden", "did you mean 'beforehand'?",
    ...                    text="    prior: common")))
    a.yaml:3:5: error[unknown-key]: 'prior' is not a key of a cause
       3 |     prior: common
         |     ^
      why:  a key nobody reads is a mistake that stays hidden
      hint: did you mean 'beforehand'?
    """
    lines = [f"{issue.spot}: {issue.severity}[{issue.code}]: {issue.what}"]
    if issue.text and issue.spot.line:
        shown, caret = _window(issue.text, issue.spot.column)
        lines += [f"{issue.spot.line:>4} | {shown}", f"     | {' ' * caret}^"]
    if issue.why:
        lines.append(f"  why:  {issue.why}")
    if issue.hint:
        lines.append(f"  hint: {issue.hint}")
    return "\n".join(lines)


def _window(text: str, column: int, width: int = 100) -> tuple[str, int]:
    """The part of a line round a column (a long line is cut), and where the caret stands in it."""
    start = max(0, min(column - 1 - width // 2, len(text) - width)) if len(text) > width else 0
    shown = "".join(mark if mark.isprintable() else " " for mark in text[start : start + width])
    return shown, max(0, column - 1 - start)


def nearest(word: str, known: Iterable[str], limit: int = 3) -> list[str]:
    """Known names that look like `word`, best first, at most `limit`.

    >>> nearest("lug-edge-tron", ["lug-edge-torn", "hub-hot"])
    ['lug-edge-torn']
    """
    return difflib.get_close_matches(word[:80], sorted(known), n=limit, cutoff=0.6)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint naming the nearest known names, or the whole list where it is short, or nothing.

    >>> did_you_mean("lft", ["left", "right"])
    "did you mean 'left'?"
    >>> did_you_mean("zzz", ["left", "right"])
    'one of: left, right'
    """
    names = sorted(known)
    found = nearest(word, names)
    if found:
        return "did you mean " + " or ".join(f"'{name}'" for name in found) + "?"
    return "one of: " + ", ".join(names) if 0 < len(names) <= 12 else ""


def summary(issues: Sequence[Issue]) -> str:
    """How many errors and warnings there are.

    >>> summary([Issue(Spot("a"), "x", "y"), Issue(Spot("a"), "x", "z", severity="warning")])
    '1 error, 1 warning'
    """
    errors = sum(issue.severity == "error" for issue in issues)
    warnings = len(issues) - errors
    parts = [f"{n} {word}{'' if n == 1 else 's'}" for n, word in ((errors, "error"), (warnings, "warning")) if n]
    return ", ".join(parts) or "no faults"
