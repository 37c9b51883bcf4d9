"""The same answer gives the same bytes: today, on another machine, and for any hash seed."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from make_snapshots import FOLDER, snapshots

HELP = "if the change is meant: python tests/report/make_snapshots.py, then read what it changed"


@pytest.mark.parametrize("name", sorted(snapshots()))
def test_a_view_is_the_same_to_the_byte(name: str) -> None:
    assert (FOLDER / name).read_bytes() == snapshots()[name], HELP


def test_no_snapshot_is_left_over() -> None:
    assert {path.name for path in FOLDER.iterdir()} == set(snapshots())


def test_the_bytes_do_not_depend_on_the_hash_seed() -> None:
    code = "import hashlib, make_snapshots as m; print([hashlib.sha256(s).hexdigest() for s in m.snapshots().values()])"
    said = {
        subprocess.run(
            [sys.executable, "-c", code],
            cwd=Path(__file__).parent,
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(said) == 1
