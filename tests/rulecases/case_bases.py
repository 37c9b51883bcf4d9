"""A small rule base with cases in a temporary folder."""

from __future__ import annotations

import shutil
import textwrap
from pathlib import Path

from lugwright.rulebase.load import RuleBase, load

SMALL = Path(__file__).resolve().parents[1] / "rulebase" / "sound"

ONE_CASE = """
one-face:
  sentence: One face of one unit points at that unit.
  for: [out-of-line, tight-inboard]
  kind: typical
  case:
    machine: {layout: four-track, drive: positive, sheet: demo}
    seen:
      - {symptom: face-scuff, unit: rear-left, side: outboard}
      - {symptom: side-hot, unit: rear-left, side: outboard}
    measured:
      - {check: clearance, unit: front-left, inboard: 1 mm, outboard: 21 mm}
  expect:
    first: out-of-line@rear-left
    at_least: {out-of-line@rear-left/outboard: 20 %}
    no_fault: {at_most: 60 %}
    fires: [tight-inboard]
    silent: [young-belt]
    verdict: limit-use
"""


def base(folder: Path, cases: str = ONE_CASE, name: str = "first.yaml") -> Path:
    """A copy of the small rule base in a folder, with one file of cases."""
    home = folder / "bench"
    if not home.exists():
        shutil.copytree(SMALL, home)
    (home / "cases").mkdir(exist_ok=True)
    (home / "cases" / name).write_text(textwrap.dedent(cases), encoding="utf-8")
    return home


def loaded(folder: Path, cases: str = ONE_CASE) -> RuleBase:
    """The small rule base, loaded, with these cases beside it."""
    return load(base(folder, cases))


def changed(text: str, **lines: str) -> str:
    """The one case with the value of some keys replaced, each `key: value` on its line."""
    for key, value in lines.items():
        key = key.replace("for_", "for")
        old = next(line for line in text.splitlines() if line.strip().startswith(f"{key}:"))
        text = text.replace(old, f"{old[: len(old) - len(old.lstrip())]}{key}: {value}")
    return text
