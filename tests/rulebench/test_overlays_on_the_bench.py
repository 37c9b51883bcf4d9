"""Every command of the bench takes overlays: one over the shipped rules, or several over one another."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from bench_calls import Bench

SIGN = """\
sand-in-hub:
  name: Sand in the hub
  component: hubs
  where: unit
  by: look
  sound: never
  recognise: Sand trickles out.
  because: It got in.
  basis: judgement
"""
CAUSE = """\
sandy-oil:
  name: Sandy oil
  acts_on: unit
  beforehand: rare
  because: Sand grinds.
  basis: judgement
  if_ignored: The bearing seizes.
  remedy: Wash it out.
  procedure: rebuild-hub
  shows:
    - {symptom: sand-in-hub, how_often: almost-always}
    - {symptom: hub-hot, how_often: often}
"""
CASE = """\
sandy-hub:
  sentence: Sand in a hub comes out as sandy oil.
  for: [sandy-oil]
  kind: typical
  case:
    machine: {layout: two-track, drive: friction}
    context: {visit: complaint}
    seen:
      - {symptom: sand-in-hub, unit: left}
      - {symptom: hub-hot, unit: left}
  expect:
    first: sandy-oil@left
"""


@pytest.fixture
def bench(tmp_path, capsys, monkeypatch):
    """The overlay `yard` with a sign, and `bay` over it with the cause that shows it and its case."""
    monkeypatch.setenv("LUGWRIGHT_CACHE", "off")
    bench = Bench(tmp_path, capsys, monkeypatch)
    files = {
        "yard/symptoms/sand.yaml": SIGN,
        "bay/overlay.yaml": "title: bay rules\nover: yard rules\n",
        "bay/causes/sand.yaml": CAUSE,
        "bay/cases/sand.yaml": CASE,
    }
    for name, text in files.items():
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return bench


BOTH = ("--rules", "yard", "--rules", "bay")


def test_check_reads_several_folders_as_one(bench):
    code, out, _ = bench("check", "yard", "bay")
    assert code == 0
    assert "+ yard rules + bay rules: " in out
    code, out, _ = bench("check", "yard")
    assert code == 1
    assert "error[unread-symptom]" in out
    assert bench("check", "bay")[0] == 1  # what it lies over is missing


def test_check_of_an_overlay_does_not_list_what_the_shipped_rules_warn_of_by_themselves(bench):
    own = {row["code"] for row in json.loads(bench("check", "yard", "bay", "--json")[1])}
    assert own == set()
    shipped = json.loads(bench("check", "--json")[1])
    _, out, _ = bench("check", "yard", "bay")
    told = [line for line in out.splitlines() if "of the rule base below not listed: lugwright rules check" in line]
    assert len(told) == bool(shipped)
    assert all(line.startswith(f"{len(shipped)} warning") for line in told)
    assert bench("check", "yard", "bay", "--strict")[0] == 0


def test_check_lists_what_an_overlay_does_to_the_shipped_rules(bench):
    overlay = bench.folder / "bay" / "overlay.yaml"
    retired = "retires:\n  - chaining/pull-to-left\n"
    overlay.write_text(overlay.read_text(encoding="utf-8") + retired, encoding="utf-8")
    rows = json.loads(bench("check", "yard", "bay", "--json")[1])
    assert [row["code"] for row in rows] == ["no-mirror-image"]
    assert "'pull-to-right'" in rows[0]["what"]
    assert rows[0]["file"].startswith("rules/chaining/")


def test_the_cases_of_every_layer_are_run(bench):
    base = bench.folder / "rules"
    shutil.copytree(Path(__file__).parents[2] / "rules", base)
    for cases in sorted((base / "cases").iterdir())[2:]:
        cases.unlink()
    code, out, _ = bench("test", "rules", "yard", "bay", "--json")
    assert code == 0
    files = {Path(one["file"]).parts[0] for one in json.loads(out)["cases"]}
    assert files == {"rules", "bay"}


def test_a_new_entry_goes_into_the_folder_named_last_and_knows_those_below(bench):
    code, out, _ = bench("new", "procedure", "wash-hub", *BOTH)
    assert code == 0
    assert (bench.folder / "bay" / "procedures" / "wash-hub.yaml").is_file()
    assert not (bench.folder / "yard" / "procedures").exists()
    assert "lugwright rules check yard bay\n" in out
    assert "lugwright rules schema -o bay/.schema --rules yard --rules bay\n" in out
    code, _, err = bench("new", "symptom", "sand-in-hub", *BOTH)
    assert code == 2
    assert "yard/symptoms/sand.yaml:1:1" in err


def test_an_entry_of_an_upper_layer_is_drawn_and_stands_in_the_table(bench):
    code, out, _ = bench("draw", "sand-in-hub", *BOTH)
    assert code == 0
    assert "Sandy oil  (sandy-oil)" in out
    code, _, _ = bench("table", "-o", "signs.csv", *BOTH)
    assert code == 0
    head, *rows = (bench.folder / "signs.csv").read_text(encoding="utf-8").splitlines()
    (row,) = [row for row in rows if row.startswith("sand-in-hub,")]
    assert row.split(",")[head.split(",").index("sandy-oil")] == "almost always"


@pytest.mark.parametrize("words", [("draw",), ("table",), ("new", "context", "sand"), ("schema", "causes")])
def test_a_wrong_order_of_folders_is_refused(bench, words):
    code, _, err = bench(*words, "--rules", "bay", "--rules", "bay")
    assert code == 2
    assert "error[wrong-layers]" in err
