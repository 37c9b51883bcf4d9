"""The kinds of entry a rule base holds, as words of the command line."""

from __future__ import annotations

from enum import Enum


class Kind(str, Enum):
    """The kinds of entry a rule base holds."""

    symptoms = "symptoms"
    causes = "causes"
    chaining = "chaining"
    checks = "checks"
    context = "context"
    procedures = "procedures"
    machines = "machines"
