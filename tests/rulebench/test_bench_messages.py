"""What the bench says about cases and about what was typed: each code has a section whose message is really given."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "tools"))
sys.path.insert(0, str(Path(__file__).parents[1] / "rulebase"))

import printed
from test_broken_rules import _codes_in

ROOT = Path(__file__).parents[2]
PARTS = ("The cases beside the rules", "What a command of the bench says")
CASE = """\
dust-alone:
  sentence: Lugs polished alike alarm nobody.
  for: []
  kind: sound
  case:
    machine: {layout: two-track, drive: friction}
    seen:
      - {symptom: lug-face-even-polish, unit: left}
    looked_at:
      - {component: lugs, units: all}
  expect:
    no_fault: {at_least: 20 %}
"""
ABOUT = CASE.replace("for: []", "for: [toe-in-error]").replace("sound", "typical")
OVERLAY = "title: yard rules\nover: shipped\n"


def edited(text: str, old: str, new: str) -> str:
    assert text.count(old) == 1
    return text.replace(old, new)


# code: what lies in the overlay `yard` beside its overlay.yaml, and what is typed
RECIPES: dict[str, tuple[dict[str, str], str]] = {
    "no-cases": ({"../visits/notes.txt": "to do"}, "rules diff yard yard --cases visits"),
    "unknown-entry": ({"cases/a.yaml": edited(ABOUT, "toe-in-error", "toe-in-eror")}, "rules test yard"),
    "unknown-rule": ({"cases/a.yaml": CASE + "    fires: [bearing-has-plai]\n"}, "rules test yard"),
    "untested": ({"cases/a.yaml": ABOUT}, "rules test yard"),
    "contradiction": (
        {"cases/a.yaml": CASE + "    fires: [belt-hangs]\n    silent: [belt-hangs]\n"},
        "rules test yard",
    ),
    "no-comparison": ({}, "rules test yard --changed"),
    "no-such-folder": ({}, "rules diff yard yard --cases visits"),
    "bad-options": ({}, "rules test yard --changed --coverage"),
    "unknown-id": ({}, "rules show toe-in-eror"),
    "near-duplicate-id": ({}, "rules new symptom hot-hub --rules yard"),
    "layout-changes-content": ({"causes/a.yaml": "a:\n  name: b\tc\n  note: |\n    d\te\n"}, "rules format yard"),
    "cannot-write": ({}, "rules table -o signs.doc"),
    "cannot-draw": ({}, "rules draw toe-in-error -o toe-in.bmp"),
}


@pytest.fixture
def said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("LUGWRIGHT_CACHE", "off")
    monkeypatch.setenv("LC_ALL", "C")  # what git says is told on in its words
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))

    def say(code: str) -> str:
        files, typed = RECIPES[code]
        for name, text in {"overlay.yaml": OVERLAY, **files}.items():
            path = tmp_path / "yard" / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        ended, _, err = printed.run(f"lugwright {typed}", tmp_path)
        assert ended == 2
        return err

    return say


def sections() -> dict[str, str]:
    page = (ROOT / "docs" / "rule-errors.md").read_text(encoding="utf-8")
    found = {}
    for part in PARTS:
        (text,) = re.findall(rf"^## {part}\n(.*?)(?=^## |\Z)", page, re.M | re.S)
        found |= dict(re.findall(r"^### `([a-z0-9-]+)`\n(.*?)(?=^### |\Z)", text, re.M | re.S))
    return found


def given() -> set[str]:
    source = ROOT / "src" / "lugwright"
    rooms = (source / "rulecases", source / "rulediff", source / "cli" / "rules")
    files = [source / "cli" / "shared.py", *(path for room in rooms for path in room.glob("*.py"))]
    return set().union(*map(_codes_in, files))


def test_every_code_of_the_bench_has_a_section_and_every_section_a_code() -> None:
    page = (ROOT / "docs" / "rule-errors.md").read_text(encoding="utf-8")
    assert sorted(given() - set(re.findall(r"^### `([a-z0-9-]+)`$", page, re.M))) == []
    assert sorted(set(sections()) - given()) == []
    assert set(RECIPES) == set(sections())
    assert len(given()) > 15


@pytest.mark.parametrize("code", sorted(RECIPES))
def test_the_message_in_a_section_is_the_one_that_is_given(code: str, said) -> None:
    text = sections()[code]
    (shown,) = re.findall(r"```text\n(.*?)```", text, re.S)
    assert f"error[{code}]" in shown
    told = said(code)
    lines = told.split("\n")
    at = next(n for n, line in enumerate(lines) if f"error[{code}]" in line)
    assert printed.differs(shown, "\n".join(lines[at : at + shown.count("\n")])) == "", told
    assert "\nRepair: " in text
