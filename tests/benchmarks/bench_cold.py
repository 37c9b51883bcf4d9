"""Cold start: a whole `lugwright triage` process against importing the libraries any such command needs.

Run: `python tests/benchmarks/bench_cold.py`. Both are timed in turn in one run; read the ratio, not the seconds.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CASE = str(ROOT / "examples" / "one-unit-off-line.yaml")
TRIAGE = [sys.executable, "-m", "lugwright", "triage", CASE, "--json"]
BASE = [sys.executable, "-c", "import typer, pydantic, yaml, numpy"]
HELP = [sys.executable, "-m", "lugwright", "--help"]


def seconds(command: list[str]) -> float:
    """Wall time of one process."""
    start = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - start


def main(rounds: int = 15) -> None:
    """Print medians and ratios."""
    seconds(TRIAGE)  # fills the cache of the rule base once, as a second command would find it
    timed = [[seconds(command) for command in (TRIAGE, BASE, HELP)] for _ in range(rounds)]
    triage, base, shown = (statistics.median(column) for column in zip(*timed, strict=True))
    print(f"triage {triage:.3f} s   libraries {base:.3f} s   --help {shown:.3f} s   (medians of {rounds})")
    print(f"triage / libraries {triage / base:.2f}   --help / libraries {shown / base:.2f}")


if __name__ == "__main__":
    main()
