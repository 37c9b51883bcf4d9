"""What importing the engine leaves behind, and that the trace does not depend on the process that made it."""

from __future__ import annotations

import os
import subprocess
import sys

IMPORTS = """
import collections, logging, sys, warnings
before = sorted(vars(collections))
import lugwright.chaining
assert "experta" not in sys.modules, "the package imports experta"
import lugwright.chaining.rules, lugwright.chaining.strata
assert "experta" not in sys.modules, "rules or strata import experta"
import lugwright.chaining.engine
assert sys.modules["experta"].KnowledgeEngine
assert sorted(set(vars(collections)) - {"abc"}) == sorted(set(before) - {"abc"}), "collections was changed"
assert logging.getLogger().handlers == [] and logging.getLogger().level == logging.WARNING
print("clean")
"""

EMPTY = """
import sys, types
sys.modules["experta"] = types.ModuleType("experta")
try:
    import lugwright.chaining.engine
except ImportError as problem:
    print(problem)
"""

TRACE = """
import hashlib, random
from chaining_programs import SHAPES
from lugwright.chaining.engine import Engine
digest = hashlib.sha256()
for shape in ("many", "crowded", "pairs"):
    rules, facts = SHAPES[shape](random.Random(5))
    digest.update(repr(Engine(rules).run(facts)).encode())
print(digest.hexdigest())
"""


def _start(code: str, *options: str, **environment: str) -> subprocess.Popen[str]:
    paths = os.pathsep.join(path for path in sys.path if path)
    return subprocess.Popen(
        [sys.executable, *options, "-c", code],
        env={**os.environ, "PYTHONPATH": paths, **environment},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def _said(process: subprocess.Popen[str]) -> str:
    out, err = process.communicate(timeout=60)
    assert process.returncode == 0, err
    return out.strip()


def test_importing_leaves_collections_and_the_root_logger_alone_even_with_warnings_as_errors() -> None:
    assert _said(_start(IMPORTS, "-W", "error")) == "clean"


def test_an_experta_that_came_up_empty_is_an_import_error() -> None:
    assert _said(_start(EMPTY)) == (
        "experta was imported but came up empty: one of its own parts is missing (schema or frozendict). Install "
        "lugwright again with its dependencies."
    )


def test_the_trace_is_the_same_under_any_hash_seed() -> None:
    found = set()
    for first in range(0, 10, 2):
        pair = [_start(TRACE, PYTHONHASHSEED=str(7 * seed)) for seed in (first, first + 1)]
        found |= {_said(one) for one in pair}
    assert len(found) == 1
