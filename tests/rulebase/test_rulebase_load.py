"""Loading: what comes out, what is kept for the next time, and that nothing but faults comes out of a mangled base."""

from __future__ import annotations

import dataclasses
import json
import math
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from overlay import SOUND, lay, look
from test_plain_yaml import PIECES

from lugwright.issues import Spot, UnusableInput, render
from lugwright.rulebase import cache
from lugwright.rulebase.agree import disagreements, sound_at
from lugwright.rulebase.base import KINDS, Content
from lugwright.rulebase.gather import gather
from lugwright.rulebase.load import inspect, load, shipped_folder

ROOT = Path(__file__).parent.parent.parent
RAW = {path.relative_to(SOUND).as_posix(): path.read_bytes() for path in sorted(SOUND.rglob("*.yaml"))}


@pytest.fixture
def kept(tmp_path, monkeypatch):
    """The cache, turned on, in a folder of its own."""
    monkeypatch.delenv("LUGWRIGHT_CACHE", raising=False)
    folder = tmp_path / "kept" / "lugwright"
    monkeypatch.setattr(cache, "folder", lambda: folder)
    return folder


def test_the_rule_base_that_comes_with_the_package_has_no_fault():
    rulebase, issues = inspect()
    assert [render(issue) for issue in issues] == []
    assert rulebase is not None
    assert rulebase.label == f"rule base {rulebase.about.version} ({rulebase.fingerprint})"


def test_the_shipped_folder_of_a_checkout_is_its_rules_folder():
    assert shipped_folder() == ROOT / "rules"


def test_entries_stand_in_the_order_of_their_ids():
    rulebase = load(SOUND)
    for kind in KINDS:
        assert list(rulebase.entries(kind)) == sorted(rulebase.entries(kind))
        assert rulebase.entries(kind)
    assert rulebase.aliases == {"scuffed-face": "face-scuff"}


def test_words_of_the_rule_base_stay_words_and_numbers_become_numbers():
    rulebase = load(SOUND)
    assert rulebase.context["slope"].answers == {"no": "flat land", "yes": "along a slope"}
    assert rulebase.context["belt-life"].derived is True
    assert rulebase.checks["clearance"].minutes == 10.0
    assert rulebase.causes["side-slope"].shows[1].given == {"slope": "yes"}


def test_spots_lead_to_entries_and_to_the_items_of_their_lists(tmp_path, monkeypatch):
    rulebase, _ = look(lay(tmp_path, {}), monkeypatch)
    assert rulebase is not None
    assert rulebase.spots["causes/splayed-axle"] == Spot("rules/causes/all.yaml", 20, 1)
    assert rulebase.spots["causes/splayed-axle/shows/1"] == Spot("rules/causes/all.yaml", 28, 7)
    assert rulebase.spots["chaining/young-belt/then/0"] == Spot("rules/chaining/all.yaml", 19, 7)
    issue = rulebase.issue("causes/splayed-axle/shows/1", "demo", "a fault")
    assert render(issue).splitlines()[1] == "  28 |     - {symptom: face-scuff, how_often: often, side: inboard}"
    above = rulebase.issue("causes/splayed-axle/remedy", "demo", "a fault")
    assert above.spot == rulebase.spots["causes/splayed-axle"]


def test_the_shipped_rule_base_is_named_without_the_path_of_this_computer():
    rulebase, _ = inspect()
    if rulebase is not None:
        assert all(spot.file.startswith("rules/") for spot in rulebase.spots.values())


def test_a_folder_with_faults_cannot_be_loaded(tmp_path):
    with pytest.raises(UnusableInput, match="not-a-rule-base"):
        load(tmp_path / "nowhere")


def test_the_fingerprint_ignores_layout_comments_files_and_the_order_of_keys(tmp_path):
    before = load(SOUND)
    home = lay(tmp_path, {})
    symptoms = (home / "symptoms" / "all.yaml").read_text(encoding="utf-8")
    first, rest = symptoms.split("side-hot:", 1)
    (home / "symptoms" / "zebra.yaml").write_text("# moved\n" + first, encoding="utf-8")
    (home / "symptoms" / "all.yaml").write_text("side-hot:" + rest.replace("  by: look\n", "  by:   'look'  # seen\n"))
    about = (home / "about.yaml").read_text(encoding="utf-8").splitlines()
    (home / "about.yaml").write_text("\n".join(reversed(about)), encoding="utf-8")
    after = load(home)
    assert after == before
    assert after.fingerprint == before.fingerprint


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("about.yaml", "1.2.3", "1.2.4"),
        ("scales.yaml", "usually: 0.75", "usually: 0.74"),
        ("causes/all.yaml", "how_often: often, side: inboard", "how_often: usually, side: inboard"),
        ("symptoms/all.yaml", "also_called: [scuffed-face]", "also_called: [scuffed-side]"),
        ("machines/all.yaml", "1/2 turn", "1/4 turn"),
    ],
)
def test_the_fingerprint_changes_with_the_content(tmp_path, file, old, new):
    text = (SOUND / file).read_text(encoding="utf-8")
    assert old in text
    assert load(lay(tmp_path, {file: text.replace(old, new)})).fingerprint != load(SOUND).fingerprint


def test_content_survives_being_written_as_json_and_read_again():
    rulebase = load(SOUND)
    content = Content(
        about=rulebase.about, scales=rulebase.scales, **{kind: dict(rulebase.entries(kind)) for kind in KINDS}
    )
    assert Content.model_validate(json.loads(json.dumps(content.plain()))) == content


def test_a_kept_rule_base_equals_the_one_that_was_read(kept, tmp_path):
    home = lay(tmp_path, {})
    first = load(home)
    assert len(list(kept.glob("rulebase-*.json"))) == 1
    second = load(home)
    assert second == first
    assert dict(second.spots) == dict(first.spots)
    assert list(second.context["slope"].answers) == list(first.context["slope"].answers)


def test_reading_a_kept_rule_base_needs_no_yaml(tmp_path):
    home = lay(tmp_path, {})
    code = (
        "import sys; from pathlib import Path; from lugwright.rulebase import cache, load\n"
        "cache.folder = lambda: Path(sys.argv[2])\n"
        "print(load.load(Path(sys.argv[1])).fingerprint, 'yaml' in sys.modules, 'numpy' in sys.modules)"
    )
    environment = {"PYTHONPATH": str(ROOT / "src"), "PATH": ""}

    def run() -> str:
        words = [sys.executable, "-c", code, str(home), str(tmp_path / "kept")]
        return subprocess.run(words, env=environment, capture_output=True, text=True, check=True).stdout.strip()

    mark = load(home).fingerprint
    assert run() == f"{mark} True False"
    assert run() == f"{mark} False False"


def test_any_change_of_a_file_is_seen(kept, tmp_path):
    home = lay(tmp_path, {})
    first = load(home)
    (home / "about.yaml").write_text("title: Another\nversion: 1.2.3\n", encoding="utf-8")
    assert load(home).fingerprint != first.fingerprint
    (home / "symptoms" / "new.yml").write_text("x", encoding="utf-8")
    rulebase, issues = inspect(home)
    assert rulebase is None
    assert [issue.code for issue in issues] == ["unknown-file"]


def test_a_kept_file_that_was_spoilt_is_not_used(kept, tmp_path):
    home = lay(tmp_path, {})
    first = load(home)
    (path,) = kept.glob("rulebase-*.json")
    sound = path.read_bytes()
    other = sound.replace(b"Scuffed face", b"Smooth faces")
    for spoilt in (b"", b"{}", sound[:-40], other, sound.replace(b"\n", b"\n\n", 1), b"\xff\xfe" * 40):
        path.write_bytes(spoilt)
        assert load(home) == first
        assert path.read_bytes() == sound


def test_kept_json_of_another_shape_is_not_used(kept, tmp_path):
    home = lay(tmp_path, {})
    first = load(home)
    (path,) = kept.glob("rulebase-*.json")
    key = path.stem.removeprefix("rulebase-")
    for data in ({}, {"content": {}, "spots": {}, "fingerprint": "x"}, {"content": [], "spots": 3}):
        cache.keep(key, data)
        assert load(home) == first


def test_a_cache_that_cannot_be_written_is_passed_over(kept, tmp_path):
    kept.parent.mkdir(parents=True)
    kept.write_text("a file where the folder should be", encoding="utf-8")
    assert load(lay(tmp_path, {})) == load(SOUND)


def test_the_cache_can_be_turned_off(kept, tmp_path, monkeypatch):
    monkeypatch.setenv("LUGWRIGHT_CACHE", "off")
    load(lay(tmp_path, {}))
    assert not kept.exists()


def test_a_rule_base_with_faults_is_not_kept(kept, tmp_path):
    inspect(lay(tmp_path, {"symptoms/new.yaml": "a: b\n"}))
    assert not kept.exists()


def test_only_a_few_rule_bases_are_kept(kept, tmp_path):
    home = lay(tmp_path, {})
    for n in range(cache.KEPT + 3):
        (home / "about.yaml").write_text(f"title: Number {n}\nversion: 1.2.3\n", encoding="utf-8")
        load(home)
    assert len(list(kept.iterdir())) == cache.KEPT


def test_the_cases_folder_and_readme_and_hidden_files_are_passed_over(tmp_path):
    extra = ("cases/one.yaml", "README.md", "causes/README.md", ".hidden", "causes/.all.yaml.swp")
    assert load(lay(tmp_path, dict.fromkeys(extra, "["))) == load(SOUND)


def test_the_sound_rate_at_a_place_is_the_one_belief_reasons_with():
    ground = pytest.importorskip("lugwright.belief.ground")
    rulebase = load(SOUND)
    for symptom in rulebase.symptoms.values():
        for counts in ("unit", "side"):
            changed = symptom.model_copy(update={"sound_counts": counts})
            wanted = ground.sound_rate(changed, rulebase.scales.sound)
            assert math.isclose(sound_at(changed, rulebase.scales), wanted, abs_tol=2**-50)


def test_a_loaded_rule_base_cannot_be_changed():
    rulebase = load(SOUND)
    with pytest.raises(dataclasses.FrozenInstanceError):
        rulebase.fingerprint = "x"  # type: ignore[misc]


NAMES = ["$unit", "front-left", "inboard", "both", "never", "face-scuff", "splayed-axle", "toe", "slope", "yes"]
ODD = ["6 mm", "sheet:x", "[]", "{}", "[a]", "{a: b}", "''", "-1", "1e999", "nan", "inf", "{x}", "%s", "{0}", "9" * 400]
WORDS = st.sampled_from(NAMES + ODD)


@st.composite
def mangled_base(draw: st.DrawFn) -> dict[str, bytes]:
    """The sound rule base with words of one file replaced by others, or pieces put in."""
    name = draw(st.sampled_from(sorted(RAW)))
    text = RAW[name].decode("utf-8")
    for _ in range(draw(st.integers(1, 4))):
        if draw(st.booleans()):
            words = text.split(" ")
            at = draw(st.integers(0, len(words) - 1))
            ending = "\n" if words[at].endswith("\n") else words[at][-1:] if words[at][-1:] in ",}]" else ""
            words[at] = draw(WORDS) + ending
            text = " ".join(words)
        else:
            lines = text.split("\n")
            at = draw(st.integers(0, len(lines) - 1))
            lines[at] = draw(st.one_of(st.just(""), st.just(f"{lines[at]}\n{lines[at]}"), PIECES, st.text(max_size=8)))
            text = "\n".join(lines)
    return {**RAW, name: text.encode("utf-8", "surrogatepass")}


@settings(max_examples=600, deadline=None)
@given(mangled_base())
def test_a_mangled_rule_base_gives_faults_and_never_a_crash(raw):
    draft = gather({name: Path(name) for name in raw}, raw, "rules")
    disagreements(draft)
    for issue in draft.issues:
        assert issue.code
        assert issue.what
        assert issue.spot.file.startswith("rules/")
        assert len(render(issue)) < 2000
