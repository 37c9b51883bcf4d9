"""The reference page of the case file: every example loads against the shipped rules, every code and key is named."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from lugwright.casefile import faults
from lugwright.casefile.load import case_from_text, load_case
from lugwright.casefile.schema import Case, LookedAt, Machine, Measured, NotSeen, Seen
from lugwright.casefile.signs import COMPONENTS
from lugwright.issues import UnusableInput
from lugwright.rulebase.base import RuleBase
from lugwright.rulebase.load import load

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "case-file.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```yaml\n(.*?)```", PAGE, re.S)
HEAD = "case: from-the-page\nmachine: {name: a, layout: four-track, drive: positive}\n"


@pytest.fixture(scope="module")
def rulebase() -> RuleBase:
    return load()


@pytest.mark.parametrize("block", BLOCKS, ids=lambda block: block.split("\n")[0])
def test_every_example_of_the_page_is_valid(block: str, rulebase: RuleBase) -> None:
    record = case_from_text(block if "machine:" in block else HEAD + block, "page.yaml", rulebase)
    assert record.findings or record.readings or record.context


def test_the_page_names_every_key() -> None:
    for shape in (Case, Machine, Seen, NotSeen, LookedAt, Measured):
        for key in shape.model_fields:
            assert f"`{key}`" in PAGE, key


def test_the_page_names_every_code_and_no_other() -> None:
    table = PAGE.split("| code | what to look at |")[1]
    named = set(re.findall(r"`([a-z]+(?:-[a-z]+)+)`", table))
    shape = {"missing-key", "unknown-key", "wrong-type", "bad-choice", "bad-id"}
    assert named == set(faults.WHY) | shape


def test_the_page_names_every_component_that_can_be_swept(rulebase: RuleBase) -> None:
    for component in COMPONENTS:
        swept = any(one.component == component and one.by in ("look", "touch") for one in rulebase.symptoms.values())
        assert (f"`{component}`" in PAGE) == swept, component


def test_the_message_on_the_page_is_the_message_given(tmp_path: Path, rulebase: RuleBase) -> None:
    path = tmp_path / "case.yaml"
    text = "case: demo\nmachine: {name: a, layout: two-track, drive: friction}\nseen:\n"
    path.write_text(text + "  - {symptom: hub-hot, unit: rear-left}\n", encoding="utf-8")
    with pytest.raises(UnusableInput) as caught:
        load_case(path, rulebase, shown="my-case.yaml")
    assert str(caught.value) in PAGE


@pytest.mark.parametrize("path", sorted((ROOT / "examples").glob("*.yaml")), ids=lambda path: path.stem)
def test_every_shipped_example_loads(path: Path, rulebase: RuleBase) -> None:
    record = load_case(path, rulebase)
    assert record.invented
    assert record.teaches
