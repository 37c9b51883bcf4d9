"""What a lint is, and the list of all of them in the order in which they were declared."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

from lugwright.rulelint.whole import Whole

Severity = Literal["error", "warning"]


@dataclass(frozen=True)
class Flaw:
    """What one lint found.

    key: where it stands, as in `RuleBase.spots` (`causes/toe-in-error/shows/3`), or `scales` for the scales file.
    """

    key: str
    what: str
    why: str
    hint: str = ""


Finder = Callable[[Whole], Iterator[Flaw]]


@dataclass(frozen=True)
class Lint:
    """One lint: its stable code, how grave its flaws are, and the pure function that finds them."""

    code: str
    severity: Severity
    find: Finder


LINTS: dict[str, Lint] = {}


def lint(code: str, severity: Severity) -> Callable[[Finder], Finder]:
    """Declare a generator function as the lint of a code. Raises ValueError for a code that is taken."""

    def declare(find: Finder) -> Finder:
        if code in LINTS:
            raise ValueError(f"two lints are called '{code}'")
        LINTS[code] = Lint(code, severity, find)
        return find

    return declare
