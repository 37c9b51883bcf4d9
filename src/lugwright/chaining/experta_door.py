"""The one door to experta 1.9.4: everything this package uses of it is imported here and nowhere else.

Three things are put right on the way in. Its frozendict still asks for `collections.Mapping`, gone since Python 3.10:
the name is lent while frozendict is imported and taken back at once. Importing experta adds a handler to the root
logger: that is taken off again. And experta hides a failed import of its own parts: here that is an error.
"""

from __future__ import annotations

import collections
import collections.abc
import contextlib
import logging
from types import ModuleType


def _load() -> ModuleType:
    root = logging.getLogger()
    handlers = list(root.handlers)
    missing = not hasattr(collections, "Mapping")
    if missing:
        collections.Mapping = collections.abc.Mapping  # type: ignore[attr-defined]
    try:
        with contextlib.suppress(ImportError):  # a later experta may not need it
            import frozendict  # noqa: F401
    finally:
        if missing:
            del collections.Mapping  # type: ignore[attr-defined]
    try:
        import experta
    finally:
        for handler in [one for one in root.handlers if one not in handlers]:
            root.removeHandler(handler)
    if not hasattr(experta, "KnowledgeEngine"):
        raise ImportError(
            "experta was imported but came up empty: one of its own parts is missing (schema or frozendict). "
            "Install lugwright again with its dependencies."
        )
    # Its log lines tell of its own workings, at every fact: not for people who turn on the log of this package.
    logging.getLogger("experta").setLevel(logging.WARNING)
    return experta  # type: ignore[no-any-return]


_load()

from experta import NOT, Fact, KnowledgeEngine, L, P, Rule, W  # noqa: E402
from experta.abstract import Matcher, Strategy  # noqa: E402
from experta.activation import Activation  # noqa: E402
from experta.conditionalelement import ConditionalElement  # noqa: E402
from experta.fieldconstraint import ANDFC  # noqa: E402

__all__ = [
    "ANDFC", "NOT", "Activation", "ConditionalElement", "Fact", "KnowledgeEngine", "L", "Matcher", "P", "Rule",
    "Strategy", "W",
]  # fmt: skip
