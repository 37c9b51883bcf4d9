"""Overlays: a workshop's own folder over the rule base adds, replaces and retires, and every page says so."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from overlay import BROKEN, SOUND, lay, told

from lugwright.casefile.load import case_from_text, load_case
from lugwright.issues import Spot, UnusableInput
from lugwright.report.graph import reasoning_graph
from lugwright.report.lines import laid_out
from lugwright.report.rule_pages import entry_lines, list_lines
from lugwright.report.text import diagnosis_lines
from lugwright.report.trace_text import trace_lines
from lugwright.rulebase import cache
from lugwright.rulebase.base import KINDS, RuleBase
from lugwright.rulebase.load import inspect, inspect_layers, load, load_layers, shipped_folder
from lugwright.triage import triage

ROOT = Path(__file__).parent.parent.parent
OVERLAYS = BROKEN.parent / "overlays"
MISTAKES = sorted(path.stem for path in OVERLAYS.glob("*.txt"))
YARD = ROOT / "examples" / "yard-rules"
HEAD = "title: yard rules\nover: shipped\n"
KERB = """kerb-paint:
  name: Kerb paint
  component: carcass
  where: side
  by: look
  sound: never
  recognise: Yellow streaks.
  because: Invented for tests.
  basis: judgement
"""
LOOK = """look-over:
  name: Look it over twice
  where: unit
  minutes: {minutes}
  risk: low
  decides: [even-polish]
  steps: [Look.]
  because: Invented for tests.
  basis: judgement
"""

Lay = Callable[..., Path]


@pytest.fixture
def overlay(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Lay:
    """Writes overlays beside the sound rule base `rules`, in the current folder."""
    lay(tmp_path, {})
    monkeypatch.chdir(tmp_path)

    def write(name: str = "yard", over: str = HEAD, files: Mapping[str, str] | None = None) -> Path:
        for file, text in {"overlay.yaml": over, **(files or {})}.items():
            path = tmp_path / name / file
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return Path(name)

    return write


def over_sound(*overlays: Path) -> RuleBase:
    return load_layers([Path("rules"), *overlays])


def printed(lines: object, width: int = 100) -> str:
    return "\n".join(text for text, _ in laid_out(lines, width))  # type: ignore[arg-type]


# --- add, replace, retire ------------------------------------------------------------------------------------------


def test_a_new_id_is_added_and_leads_to_its_own_file(overlay):
    below, rulebase = load(SOUND), over_sound(overlay(files={"symptoms/ours.yaml": KERB}))
    assert set(rulebase.symptoms) - set(below.symptoms) == {"kerb-paint"}
    assert list(rulebase.symptoms) == sorted(rulebase.symptoms)
    assert rulebase.spots["symptoms/kerb-paint"] == Spot("yard/symptoms/ours.yaml", 1, 1)
    assert rulebase.layer_of["symptoms/kerb-paint"] == "yard rules"
    assert rulebase.layer_of["symptoms/face-scuff"] == "A small sound rule base for tests"
    assert rulebase.layers[1].adds == ("symptoms/kerb-paint",)
    line = rulebase.issue("symptoms/kerb-paint", "demo", "a fault").text
    assert line == "kerb-paint:"


def test_a_listed_id_is_replaced_whole(overlay):
    files = {"checks/ours.yaml": LOOK.format(minutes=7)}
    rulebase = over_sound(overlay(over=HEAD + "replaces: [checks/look-over]\n", files=files))
    assert rulebase.checks["look-over"].minutes == 7
    assert rulebase.checks["look-over"].name == "Look it over twice"
    assert rulebase.spots["checks/look-over"].file == "yard/checks/ours.yaml"
    assert rulebase.spots["checks/toe"].file == "rules/checks/all.yaml"
    assert rulebase.layers[1].replaces == ("checks/look-over",)
    assert rulebase.overlay_of("checks/look-over") == "yard rules"
    assert rulebase.overlay_of("checks/toe") == ""


def test_an_item_of_a_replaced_entry_leaves_no_spot_behind(overlay):
    text = (SOUND / "causes" / "all.yaml").read_text(encoding="utf-8")
    cause = text[text.index("side-slope:") :].replace(
        "    - {symptom: pulls-aside, how_often: sometimes, given: {slope: yes}}\n", ""
    )
    rulebase = over_sound(overlay(over=HEAD + "replaces: [causes/side-slope]\n", files={"causes/a.yaml": cause}))
    assert "causes/side-slope/shows/1" not in rulebase.spots
    assert rulebase.spots["causes/side-slope/shows/0"].file == "yard/causes/a.yaml"


def test_a_retired_entry_is_gone(overlay):
    rulebase = over_sound(overlay(over=HEAD + "retires: [chaining/young-belt]\n"))
    assert list(rulebase.rules) == ["tight-inboard"]
    assert not any(key.startswith("chaining/young-belt") for key in (*rulebase.spots, *rulebase.layer_of))
    assert rulebase.layers[1].retires == ("chaining/young-belt",)


def test_a_retired_symptom_may_be_replaced_wherever_it_was_named(overlay):
    """What still names a retired entry is mended by replacing or retiring that too."""
    texts = {kind: (SOUND / kind / "all.yaml").read_text(encoding="utf-8") for kind in ("causes", "symptoms")}
    cause = texts["causes"][: texts["causes"].index("splayed-axle:\n")]
    scuff = texts["symptoms"][: texts["symptoms"].index("side-hot:\n")].replace("  look_alikes: [even-polish]\n", "")
    cause = cause.replace("  never_shows:\n    - {symptom: even-polish, how_often: never}\n", "")
    listed = "replaces: [causes/out-of-line, symptoms/face-scuff]\nretires: [symptoms/even-polish, checks/look-over]\n"
    files = {"causes/a.yaml": cause, "symptoms/a.yaml": scuff}
    rulebase = over_sound(overlay(over=HEAD + listed, files=files))
    assert "even-polish" not in rulebase.symptoms
    assert rulebase.aliases == {"scuffed-face": "face-scuff"}


def test_an_alias_that_clashes_with_an_entry_below_is_a_fault_in_the_overlay(overlay):
    home = overlay(files={"symptoms/ours.yaml": KERB + "  also_called: [side-hot]\n"})
    _, issues = inspect_layers([Path("rules"), home])
    assert [(issue.spot, issue.code) for issue in issues] == [(Spot("yard/symptoms/ours.yaml", 10, 17), "alias-clash")]


# --- scales --------------------------------------------------------------------------------------------------------

REASON = "because: Counted in our yard.\nbasis: judgement\n"


def test_an_overlay_gives_words_other_numbers_and_leaves_the_rest(overlay):
    scales = REASON + "sound:\n  often: 0.4\nhow_often:\n  rarely: {value: 0.06, low: 0.03, high: 0.1}\n"
    below, rulebase = load(SOUND), over_sound(overlay(files={"scales.yaml": scales}))
    assert rulebase.scales.sound == {**below.scales.sound, "often": 0.4}
    assert list(rulebase.scales.how_often) == list(below.scales.how_often)
    assert rulebase.scales.how_often["rarely"].high == 0.1
    assert rulebase.scales.shifts == below.scales.shifts
    assert rulebase.scales.because == "Invented for tests. In yard rules (judgement): Counted in our yard."
    assert rulebase.layer_of["scales/sound/often"] == "yard rules"
    assert rulebase.layers[1].replaces == ("scales/sound/often", "scales/how_often/rarely")


def test_probability_words_are_replaced_whole(overlay):
    scales = REASON + "probability_words:\n  - {word: yes, at_least: 0.5}\n  - {word: no, at_least: 0}\n"
    rulebase = over_sound(overlay(files={"scales.yaml": scales}))
    assert [rulebase.scales.word_for(at) for at in (0.9, 0.1)] == ["yes", "no"]


def test_numbers_of_several_overlays_add_up(overlay):
    first = overlay("first", "title: first\nover: shipped\n", {"scales.yaml": REASON + "sound: {often: 0.4}\n"})
    scales = REASON + "sound: {rarely: 0.04}\n"
    second = overlay("second", "title: second\nover: first\n", {"scales.yaml": scales})
    sound = over_sound(first, second).scales.sound
    assert (sound["often"], sound["rarely"]) == (0.4, 0.04)


# --- every mistake, with its whole message --------------------------------------------------------------------------


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_gives_the_whole_message(mistake, overlay, tmp_path):
    shutil.copytree(OVERLAYS / mistake, tmp_path / "yard")
    rulebase, issues = inspect_layers([Path("rules"), Path("yard")])
    assert rulebase is None
    assert told(issues) == (OVERLAYS / f"{mistake}.txt").read_text(encoding="utf-8")


BOTTOM = "  why:  one whole rule base lies at the bottom, and each overlay lies over what was named before it\n"
NO_FOLDER = (
    "nowhere: error[not-a-rule-base]: there is no such folder\n"
    "  why:  a rule base is a folder of YAML files\n"
    "  hint: name the folder\n"
    "1 error\n"
)
SECOND = (
    "other: error[wrong-layers]: this is a second whole rule base; rules is the first\n"
    + BOTTOM
    + "  hint: to lay it over the other, give it an overlay.yaml instead of about.yaml and scales.yaml\n"
    "1 error\n"
)
TWICE = (
    "yard: error[wrong-layers]: this folder is named twice\n"
    "  why:  a layer can lie in one place only\n"
    "  hint: name it once\n"
    "1 error\n"
)
ORDERS = {
    "rules other": SECOND,
    "rules yard other": SECOND,
    "yard other": (
        "other: error[wrong-layers]: this whole rule base is named after an overlay\n"
        + BOTTOM
        + "  hint: name it first: --rules other --rules yard\n"
        "1 error\n"
    ),
    "rules nowhere": NO_FOLDER,
    "nowhere yard": NO_FOLDER,
    "yard nowhere": NO_FOLDER,
    "rules yard yard": TWICE,
    "rules other/../yard yard": TWICE,
    "rules empty": (
        "empty: error[not-a-rule-base]: this folder holds no rule base\n"
        "  why:  it has neither about.yaml and scales.yaml nor any of the folders symptoms, causes, context, chaining, "
        "checks, procedures, machines\n"
        "  hint: name the folder that holds about.yaml or overlay.yaml\n"
        "1 error\n"
    ),
    "rules night yard": (
        "night/overlay.yaml:2:7: error[wrong-layers]: this overlay was written over 'yard rules', which does not lie "
        "below it\n"
        "   2 | over: yard rules\n"
        "     |       ^\n"
        "  why:  what it replaces or builds on may not be there\n"
        "  hint: name yard first: --rules yard --rules night\n"
        "1 error\n"
    ),
    "rules yard twin": (
        "twin/overlay.yaml:1:8: error[wrong-layers]: 'yard rules' is already the title of yard\n"
        "   1 | title: yard rules\n"
        "     |        ^\n"
        "  why:  every page names the layer an entry comes from\n"
        "  hint: give it a title of its own\n"
        "1 error\n"
    ),
}


@pytest.mark.parametrize("order", sorted(ORDERS))
def test_folders_that_do_not_lie_over_one_another_are_refused(order, overlay, tmp_path):
    overlay()
    overlay("night", "title: night shift\nover: yard rules\n")
    overlay("twin")
    (tmp_path / "empty").mkdir()
    shutil.copytree(SOUND, tmp_path / "other")
    rulebase, issues = inspect_layers([Path(name) for name in order.split()])
    assert rulebase is None
    assert told(issues) == ORDERS[order]


def test_the_shipped_rule_base_named_after_an_overlay_is_told_to_go_first(overlay):
    with pytest.raises(UnusableInput, match="named after an overlay"):
        load_layers([overlay(), shipped_folder()])


def test_a_faulty_overlay_yaml_is_not_echoed_as_clashes(overlay):
    _, issues = inspect_layers(
        [Path("rules"), overlay(over="title: yard\n", files={"checks/a.yaml": LOOK.format(minutes=7)})]
    )
    assert [issue.code for issue in issues] == ["missing-key"]


def test_a_list_is_not_checked_against_a_file_below_that_could_not_be_read(overlay, tmp_path):
    (tmp_path / "rules" / "checks" / "odd.yaml").write_bytes(b"\0")
    _, issues = inspect_layers([Path("rules"), overlay(over=HEAD + "retires: [checks/maybe-there]\n")])
    assert [issue.code for issue in issues] == ["not-text"]


# --- order ----------------------------------------------------------------------------------------------------------


def test_what_is_named_later_wins(overlay):
    listed = "replaces: [checks/look-over]\n"
    first = overlay("a", "title: first\nover: shipped\n" + listed, {"checks/a.yaml": LOOK.format(minutes=6)})
    second = overlay("b", "title: second\nover: shipped\n" + listed, {"checks/b.yaml": LOOK.format(minutes=8)})
    one, other = over_sound(first, second), over_sound(second, first)
    assert (one.checks["look-over"].minutes, other.checks["look-over"].minutes) == (8, 6)
    assert (one.layer_of["checks/look-over"], other.layer_of["checks/look-over"]) == ("second", "first")
    assert one.label == f"rule base 1.2.3 ({one.fingerprint}) + first + second"
    assert one.fingerprint != other.fingerprint
    page = printed(entry_lines(one, "checks", "look-over"))
    assert "from second, in place of the entry of first" in page


def test_an_id_that_one_overlay_adds_must_be_replaced_by_the_next_one_aloud(overlay):
    first = overlay("a", "title: first\nover: shipped\n", {"symptoms/a.yaml": KERB})
    second = overlay("b", "title: second\nover: first\n", {"symptoms/b.yaml": KERB})
    _, issues = inspect_layers([Path("rules"), first, second])
    assert [(issue.code, issue.spot.file) for issue in issues] == [("clash-below", "b/symptoms/b.yaml")]


def test_a_retired_id_may_be_written_again_above_and_is_then_new(overlay):
    text = (SOUND / "chaining" / "all.yaml").read_text(encoding="utf-8")
    first = overlay("a", "title: first\nover: shipped\nretires: [chaining/young-belt]\n")
    again = {"chaining/b.yaml": text[text.index("young-belt:") :]}
    rulebase = over_sound(first, overlay("b", "title: second\nover: first\n", again))
    assert rulebase.layer_of["chaining/young-belt"] == "second"
    assert rulebase.layers[2].adds == ("chaining/young-belt",)
    replaced = overlay("c", "title: third\nover: first\nreplaces: [chaining/young-belt]\n", again)
    _, issues = inspect_layers([Path("rules"), first, replaced])
    assert [(issue.what, issue.hint) for issue in issues] == [
        (
            "'chaining/young-belt' is already retired below (a/overlay.yaml:3:11), so it replaces nothing",
            "take it off this list: a retired id is brought back by writing it",
        )
    ]


def test_a_folder_of_the_workshop_called_rules_is_told_apart_from_the_shipped_one(tmp_path, monkeypatch):
    (tmp_path / "rules" / "symptoms").mkdir(parents=True)
    (tmp_path / "rules" / "overlay.yaml").write_text(HEAD, encoding="utf-8")
    (tmp_path / "rules" / "symptoms" / "lugs.yaml").write_text("kerb-paint:\n  nme: x\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    _, issues = inspect(Path("rules"))
    assert {issue.spot.file for issue in issues} == {"./rules/symptoms/lugs.yaml"}


# --- an overlay that changes nothing --------------------------------------------------------------------------------


def test_an_empty_overlay_changes_the_label_and_nothing_else(overlay):
    below, rulebase = load(SOUND), over_sound(overlay())
    assert rulebase == below
    assert rulebase.label == f"{below.label} + yard rules"
    assert set(rulebase.layer_of.values()) == {"A small sound rule base for tests"}


@pytest.mark.parametrize("case", ["one-unit-off-line", "packed-dirt"])
def test_an_empty_overlay_gives_the_same_triage_but_for_the_label(case, overlay):
    answers = []
    for rulebase in (load(), load(overlay())):
        answer = triage(load_case(ROOT / "examples" / f"{case}.yaml", rulebase), rulebase)
        plain = answer.model_copy(update={"rulebase": answer.rulebase.model_copy(update={"overlays": ()})})
        answers.append((plain.model_dump_json(indent=2), printed(diagnosis_lines(answer)), answer.rulebase.words))
    (json_below, text_below, label_below), (json_over, text_over, label_over) = answers
    assert json_over == json_below
    assert label_over == f"{label_below} + yard rules"
    assert text_over == text_below.replace(label_below, label_over)


ENTRIES = sorted(f"{kind}/{name}" for kind in KINDS for name in load(SOUND).entries(kind))


def _text_of(key: str) -> str:
    """An entry of the sound rule base as its author wrote it."""
    kind, _, name = key.partition("/")
    lines = (SOUND / kind / "all.yaml").read_text(encoding="utf-8").splitlines(keepends=True)
    start = lines.index(f"{name}:\n")
    end = next((n for n in range(start + 1, len(lines)) if not lines[n].startswith(" ")), len(lines))
    return "".join(lines[start:end])


@settings(max_examples=40, deadline=None)
@given(st.sets(st.sampled_from(ENTRIES)), st.integers(0, 3))
def test_replacing_entries_by_themselves_over_any_number_of_layers_keeps_the_fingerprint(tmp_path_factory, keys, count):
    folder = tmp_path_factory.mktemp("same")
    homes = [SOUND]
    for n in range(count):
        home = folder / f"layer-{n}"
        home.mkdir()
        listed = "".join(f"  - {key}\n" for key in sorted(keys))
        over = f"title: layer {n}\nover: shipped\n" + (f"replaces:\n{listed}" if keys else "")
        (home / "overlay.yaml").write_text(over, encoding="utf-8")
        for key in sorted(keys):
            path = home / f"{key}.yaml"
            path.parent.mkdir(exist_ok=True)
            path.write_text(_text_of(key), encoding="utf-8")
        homes.append(home)
    below, rulebase = load(SOUND), load_layers(homes)
    assert rulebase == below
    assert rulebase.fingerprint == below.fingerprint
    assert {key for key in ENTRIES if rulebase.overlay_of(key)} == (keys if count else set())
    assert all(rulebase.layer_of[key] == f"layer {count - 1}" for key in keys if count)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(ENTRIES))
def test_retiring_one_entry_leaves_it_out_or_tells_where_it_is_still_named(tmp_path_factory, key):
    home = tmp_path_factory.mktemp("one") / "yard"
    home.mkdir()
    (home / "overlay.yaml").write_text(f"{HEAD}retires: [{key}]\n", encoding="utf-8")
    rulebase, issues = inspect_layers([SOUND, home])
    kind, _, name = key.partition("/")
    if rulebase is not None:
        assert name not in rulebase.entries(kind)
    for issue in issues:
        assert issue.spot.line
        assert f"is retired by an overlay ({home.as_posix()}/overlay.yaml:3:11)" in issue.what + issue.hint


# --- pages ----------------------------------------------------------------------------------------------------------


def test_pages_name_the_layer_only_where_there_is_more_than_one():
    alone, layered = load(), load(YARD)
    assert "layers" not in printed(list_lines(alone, ["checks"]))
    assert "from " not in printed(entry_lines(alone, "checks", "weighing")).splitlines()[2]
    listed = printed(list_lines(layered, ["checks"])).splitlines()
    assert listed[0] == "layers (2), from the bottom up"
    assert "    replaces  checks/weighing" in listed
    assert [line.split()[0] for line in listed if line.endswith("[yard rules]")] == ["weighing"]
    page = printed(entry_lines(layered, "checks", "weighing")).splitlines()
    assert page[2] == "from yard rules, in place of the entry of Rubber-belt undercarriage wear"
    assert printed(entry_lines(layered, "causes", "wash-bay-kerb")).splitlines()[2] == "from yard rules"
    assert "(wash-bay-kerb) same side [yard" in printed(entry_lines(layered, "symptoms", "belt-edge-damage"))
    assert printed(entry_lines(layered, "checks", "toe")).splitlines()[2] == "from Rubber-belt undercarriage wear"


def _lugwright(*words: str) -> subprocess.CompletedProcess[str]:
    code = "from lugwright.cli import main; main()"
    environment = {"PYTHONPATH": str(ROOT / "src"), "PATH": "", "LUGWRIGHT_CACHE": "off", "PYTHONUTF8": "1"}
    command = [sys.executable, "-c", code, *words]
    return subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, encoding="utf-8")


def test_the_command_takes_rules_more_than_once_and_tells_a_wrong_order():
    case = "examples/wide-scraper.yaml"
    right = _lugwright("triage", case, "--rules", "rules", "--rules", "examples/yard-rules", "--json")
    alone = _lugwright("triage", case, "--rules", "examples/yard-rules", "--json")
    assert (right.returncode, right.stderr) == (0, "")
    assert right.stdout == alone.stdout
    assert json.loads(right.stdout)["rulebase"]["overlays"] == ["yard rules"]
    wrong = _lugwright("trace", case, "--rules", "examples/yard-rules", "--rules", "rules")
    assert wrong.returncode == 2
    assert wrong.stderr.startswith("./rules: error[wrong-layers]: this whole rule base is named after an overlay\n")


def test_a_retired_entry_is_told_as_retired_and_not_as_unknown():
    shown = _lugwright("rules", "show", "sticky-soil", "--rules", "examples/yard-rules")
    assert shown.returncode == 2
    assert shown.stderr.splitlines()[:3] == [
        "examples/yard-rules/overlay.yaml: error[unknown-id]: 'sticky-soil' is retired by yard rules",
        "  why:  it no longer takes part in any answer",
        "  hint: leave examples/yard-rules out to see it",
    ]


def test_an_overlay_alone_is_checked_over_the_shipped_rule_base():
    checked = _lugwright("rules", "check", "examples/yard-rules")
    assert checked.returncode == 0, checked.stderr
    assert "+ yard rules" in checked.stdout


# --- the cache ------------------------------------------------------------------------------------------------------


def test_kept_layers_equal_those_that_were_read(overlay, tmp_path, monkeypatch):
    monkeypatch.delenv("LUGWRIGHT_CACHE")
    monkeypatch.setattr(cache, "folder", lambda: tmp_path / "kept")
    listed = HEAD + "replaces: [checks/look-over]\nretires: [chaining/young-belt]\n"
    home = overlay(over=listed, files={"checks/a.yaml": LOOK.format(minutes=7), "symptoms/a.yaml": KERB})
    first, second = over_sound(home), over_sound(home)
    assert second == first
    assert (dict(second.spots), second.layers) == (dict(first.spots), first.layers)
    assert dict(second.layer_of) == dict(first.layer_of)
    assert second.label.endswith("+ yard rules")
    assert len(list((tmp_path / "kept").iterdir())) == 1
    assert over_sound().label.endswith(")")
    assert len(list((tmp_path / "kept").iterdir())) == 2


def test_a_change_of_any_layer_and_of_their_order_is_seen(overlay, tmp_path, monkeypatch):
    monkeypatch.delenv("LUGWRIGHT_CACHE")
    monkeypatch.setattr(cache, "folder", lambda: tmp_path / "kept")
    home = overlay(over=HEAD + "replaces: [checks/look-over]\n", files={"checks/a.yaml": LOOK.format(minutes=7)})
    assert over_sound(home).checks["look-over"].minutes == 7
    (home / "checks" / "a.yaml").write_text(LOOK.format(minutes=9), encoding="utf-8")
    assert over_sound(home).checks["look-over"].minutes == 9
    other = overlay(
        "b", "title: b\nover: shipped\nreplaces: [checks/look-over]\n", {"checks/a.yaml": LOOK.format(minutes=3)}
    )
    assert over_sound(home, other).checks["look-over"].minutes == 3
    assert over_sound(other, home).checks["look-over"].minutes == 9


def test_reading_kept_layers_needs_no_yaml(overlay, tmp_path):
    overlay(files={"symptoms/a.yaml": KERB})
    code = (
        "import sys; from pathlib import Path; from lugwright.rulebase import cache, load\n"
        "cache.folder = lambda: Path('kept')\n"
        "print(load.load_layers([Path('rules'), Path('yard')]).label, 'yaml' in sys.modules)"
    )
    environment = {"PYTHONPATH": str(ROOT / "src"), "PATH": ""}
    command = [sys.executable, "-c", code]
    said = [subprocess.check_output(command, cwd=tmp_path, env=environment, text=True).split()[-1] for _ in range(2)]
    assert said == ["True", "False"]


# --- the example that is shipped with the documentation -------------------------------------------------------------


def test_the_example_makes_weighing_the_first_check_of_a_case_and_silences_the_soil():
    text = (
        "case: deep-paths\ninvented: true\nmachine: {name: Tractor 9, layout: two-track, drive: friction}\n"
        "context: {visit: complaint}\nseen:\n  - {symptom: tread-wheel-path-deep, unit: all}\n"
    )
    before, after = (triage(case_from_text(text, "deep.yaml", one), one) for one in (load(), load(YARD)))
    assert before.next_checks[0].check != "weighing"
    assert (after.next_checks[0].check, after.next_checks[0].minutes) == ("weighing", 10)
    assert "Weigh axles on the yard weighbridge: whole machine [yard rules]" in printed(diagnosis_lines(after))
    case = ROOT / "examples" / "wide-scraper.yaml"
    before, after = (triage(load_case(case, one), one) for one in (load(), load(YARD)))
    assert ["sticky-soil" in {step.rule for step in answer.steps} for answer in (before, after)] == [True, False]


def test_the_example_names_its_own_cause_with_its_layer_in_text_trace_and_graph(tmp_path):
    case = tmp_path / "kerb.yaml"
    case.write_text(
        "case: wash-bay\ninvented: true\nmachine: {name: Tractor 9, layout: two-track, drive: friction}\n"
        "seen:\n  - {symptom: kerb-paint-on-edge, unit: left, side: outboard}\n"
        "  - {symptom: belt-edge-damage, unit: left, side: outboard}\n",
        encoding="utf-8",
    )
    rulebase = load(YARD)
    answer = triage(load_case(case, rulebase), rulebase)
    assert answer.ranked[0].cause == "wash-bay-kerb"
    assert (answer.ranked[0].unit, answer.ranked[0].side) == ("left", "outboard")
    named = "Belt edge run along the kerb of the wash bay: left, outboard [yard rules]"
    assert named in printed(diagnosis_lines(answer))
    trace = printed(trace_lines(answer), 160)  # so wide that no name is broken
    assert named in trace
    assert "Yellow kerb paint on the belt edge, left, outboard [yard rules]" in trace
    graph = reasoning_graph(answer).source
    (sign,) = [one.key for one in answer.findings if one.symptom == "kerb-paint-on-edge"]
    assert f'tooltip="{sign} [yard rules]"' in graph
    assert answer.rulebase.words in graph


def test_a_rule_of_an_overlay_has_its_own_file_in_the_steps_and_its_layer_beside_it(overlay):
    text = (ROOT / "rules" / "chaining" / "context.yaml").read_text(encoding="utf-8")
    rule = text[text.index("sticky-soil:") : text.index("loose-soil:")]
    home = overlay(over=HEAD + "replaces: [chaining/sticky-soil]\n", files={"chaining/soil.yaml": rule})
    rulebase = load(home)
    answer = triage(load_case(ROOT / "examples" / "wide-scraper.yaml", rulebase), rulebase)
    (step,) = [step for step in answer.steps if step.rule == "sticky-soil"]
    assert (step.file, step.line) == ("yard/chaining/soil.yaml", 1)
    assert "sticky-soil  (yard/chaining/soil.yaml:1) [yard rules]" in printed(trace_lines(answer))
    assert not any(step.file.startswith("yard") for step in answer.steps if step.rule != "sticky-soil")


def test_the_page_on_overlays_shows_what_the_example_says():
    page = (ROOT / "docs" / "overlays.md").read_text(encoding="utf-8")
    rulebase = load(YARD)
    for key in (*rulebase.layers[1].replaces, *rulebase.layers[1].retires):
        assert f"  - {key}\n" in page
    for path in YARD.rglob("*.yaml"):
        assert path.relative_to(YARD).as_posix() in page
