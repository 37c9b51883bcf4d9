"""One small broken file for each mistake, and the whole message a trainer reads for it."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
from overlay import BROKEN, SOUND, lay, look, told

ROOT = Path(__file__).parent.parent.parent
SYMPTOM = (BROKEN / "symptoms" / "missing-key.yaml").read_text(encoding="utf-8")
SYMPTOM = SYMPTOM.replace("  by:", "  sound: rarely\n  by:")
OVERLAYS = BROKEN.parent / "overlays"  # each with its message beside it; laid by test_overlays.py
EXAMPLES = sorted(BROKEN.glob("*/*.yaml"))

# What cannot be kept as a text file: name in the rule base, content, whole message.
MADE = {
    "not-text": (
        "symptoms/new.yaml", SYMPTOM.encode() + b"\0\1\2",
        """rules/symptoms/new.yaml: error[not-text]: this is not a text file (it holds zero bytes)
  why:  such characters cannot be seen, so they are never meant
  hint: save the file as UTF-8 text
1 error
""",
    ),
    "not-text.control": (
        "symptoms/new.yaml", SYMPTOM.replace("It looks", "It\x07looks"),
        """rules/symptoms/new.yaml:7:16: error[not-text]: the character U+0007 is not text
   7 |   recognise: It looks odd.
     |                ^
  why:  such characters cannot be seen, so they are never meant
  hint: delete it
1 error
""",
    ),
    "not-utf-8": (
        "symptoms/new.yaml", SYMPTOM.replace("It looks", "68 °C, and it looks").encode("latin-1"),
        """rules/symptoms/new.yaml:7:17: error[not-utf-8]: byte 0xb0 is not UTF-8
   7 |   recognise: 68 �C, and it looks odd.
     |                 ^
  why:  letters such as ° or é would come out wrong
  hint: save the file as UTF-8 text
1 error
""",
    ),
    "not-utf-8.utf-16": (
        "symptoms/new.yaml", SYMPTOM.encode("utf-16"),
        """rules/symptoms/new.yaml: error[not-utf-8]: this file is written in UTF-16
  why:  letters such as ° or é would come out wrong
  hint: save the file as UTF-8 text
1 error
""",
    ),
    "empty-file.no-bytes": (
        "symptoms/new.yaml", b"",
        """rules/symptoms/new.yaml: error[empty-file]: nothing is written in this file
  why:  a file without entries says nothing and may be an unfinished one
  hint: write an entry, or delete the file
1 error
""",
    ),
    "unknown-file.ending": (
        "symptoms/new.yml", SYMPTOM,
        """rules/symptoms/new.yml: error[unknown-file]: this file has no place in a rule base
  why:  a file nobody reads is a mistake that stays hidden
  hint: call it .yaml
1 error
""",
    ),
    "unknown-file.folder": (
        "symptomes/new.yaml", SYMPTOM,
        """rules/symptomes: error[unknown-file]: this folder has no place in a rule base
  why:  nothing in it would be read
  hint: did you mean 'symptoms'?
1 error
""",
    ),
    "unknown-file.deeper": (
        "symptoms/lugs/new.yaml", SYMPTOM,
        """rules/symptoms/lugs: error[unknown-file]: this folder has no place in a rule base
  why:  nothing in it would be read
  hint: move it elsewhere
1 error
""",
    ),
}  # fmt: skip


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_a_broken_file_gives_the_whole_message(example, tmp_path, monkeypatch):
    home = lay(tmp_path, {f"{example.parent.name}/{example.name}": example.read_bytes()})
    rulebase, issues = look(home, monkeypatch)
    assert rulebase is None
    assert told(issues) == example.with_suffix(".txt").read_text(encoding="utf-8")
    assert example.name.split(".")[0] in {issue.code for issue in issues}


@pytest.mark.parametrize("case", sorted(MADE))
def test_a_made_file_gives_the_whole_message(case, tmp_path, monkeypatch):
    name, content, message = MADE[case]
    rulebase, issues = look(lay(tmp_path, {name: content}), monkeypatch)
    assert rulebase is None
    assert told(issues) == message


def test_the_rule_base_the_examples_are_laid_over_is_sound(tmp_path, monkeypatch):
    rulebase, issues = look(lay(tmp_path, {}), monkeypatch)
    assert issues == ()
    assert rulebase is not None
    assert rulebase.about.version == "1.2.3"


def test_a_file_of_fifty_megabytes_is_refused_before_it_is_read(tmp_path, monkeypatch):
    home = lay(tmp_path, {})
    with (home / "symptoms" / "new.yaml").open("wb") as stream:
        stream.truncate(50_000_000)
    _, issues = look(home, monkeypatch)
    assert told(issues) == (
        "rules/symptoms/new.yaml: error[too-large]: this file is 50.0 MB; at most 2 MB is read\n"
        "  why:  no rule or case is that long\n"
        "  hint: is it the right file? split a long one into several\n"
        "1 error\n"
    )


def test_a_missing_scale_file_a_missing_folder_and_a_wrong_folder_are_told_apart(tmp_path, monkeypatch):
    home = lay(tmp_path, {})
    (home / "scales.yaml").unlink()
    _, issues = look(home, monkeypatch)
    assert told(issues) == (
        "rules: error[missing-part]: scales.yaml is missing\n"
        "  why:  it gives every word its number\n"
        "  hint: write rules/scales.yaml\n"
        "1 error\n"
    )
    (tmp_path / "empty").mkdir()
    _, issues = look(tmp_path / "empty", monkeypatch)
    assert [(issue.code, issue.what) for issue in issues] == [("not-a-rule-base", "this folder holds no rule base")]
    _, issues = look(tmp_path / "nowhere", monkeypatch)
    assert [(issue.code, issue.what) for issue in issues] == [("not-a-rule-base", "there is no such folder")]


def test_a_dangling_link_and_a_link_to_a_folder_are_faults_and_no_crash(tmp_path, monkeypatch):
    home = lay(tmp_path, {})
    (home / "symptoms" / "gone.yaml").symlink_to(home / "nowhere.yaml")
    (home / "about.yaml").unlink()
    (home / "about.yaml").symlink_to(home / "symptoms")
    _, issues = look(home, monkeypatch)
    assert [(issue.code, issue.spot.file) for issue in issues] == [
        ("not-a-file", "rules/about.yaml"),
        ("missing-file", "rules/symptoms/gone.yaml"),
    ]


def test_all_faults_of_all_files_are_shown_at_once_and_none_is_the_echo_of_another(tmp_path, monkeypatch):
    files = {
        "symptoms/new.yaml": SYMPTOM.replace("by: look", "by: looking"),
        "symptoms/torn.yaml": SYMPTOM.replace("new-symptom", "torn-symptom").replace("name: New", "name: 'New"),
        "causes/new.yaml": (BROKEN / "causes" / "unknown-symptom.yaml").read_bytes(),
        "chaining/new.yaml": (BROKEN / "chaining" / "unbound-variable.yaml").read_bytes(),
        "chaining/other.yaml": (BROKEN / "chaining" / "unbound-variable.yaml")
        .read_text(encoding="utf-8")
        .replace("new-rule", "other-rule")
        .replace("$unti", "$unit")
        .replace("seen: even-polish", "seen: torn-symptom")
        .replace("finding: face-scuff, unit: $unit, side: inboard", "excludes: new-cause, unit: $unit"),
        "notes.txt": "to do",
    }
    _, issues = look(lay(tmp_path, files), monkeypatch)
    assert [(issue.spot.file, issue.code) for issue in issues] == [
        ("rules/causes/new.yaml", "unknown-symptom"),
        ("rules/chaining/new.yaml", "unbound-variable"),
        ("rules/notes.txt", "unknown-file"),
        ("rules/symptoms/new.yaml", "bad-choice"),
        ("rules/symptoms/torn.yaml", "yaml-syntax"),
    ]


def test_a_flood_of_faults_is_counted_and_not_listed(tmp_path, monkeypatch):
    _, issues = look(lay(tmp_path, {"symptoms/new.yaml": "".join(f"k{n}: v\n" for n in range(5000))}), monkeypatch)
    assert len(issues) == 102
    assert [issue.what for issue in issues if issue.code == "too-many-faults"] == [
        "more than 1000 faults; from here on the file was not checked"
    ]
    assert issues[0].what == "901 more faults like the 100 shown for this file"


def test_no_rule_base_names_the_same_fault_at_two_spots(tmp_path, monkeypatch):
    for example in EXAMPLES[:10]:
        home = lay(tmp_path / example.stem, {f"{example.parent.name}/{example.name}": example.read_bytes()})
        _, issues = look(home, monkeypatch)
        assert len({(issue.spot, issue.code, issue.what) for issue in issues}) == len(issues)


def _codes_in(path: Path) -> set[str]:
    """Every string that is handed on as a code: in a call that makes an issue, in WHY, or first in a told triple."""
    found: set[str] = set()
    makers = {"add", "add_at", "fault", "issue", "Issue", "_whole", "_refuse", "_unknown"}
    kinds = {"symptoms", "causes", "context", "chaining", "checks", "procedures", "machines"}
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            for argument in node.args[:4] if name in makers else []:
                word = argument.value if isinstance(argument, ast.Constant) else None
                if isinstance(word, str) and re.fullmatch(r"[a-z]+(-[a-z0-9]+)*", word) and word not in kinds:
                    found.add(word)
                    break
        elif isinstance(node, ast.AnnAssign) and getattr(node.target, "id", "") == "WHY":
            found |= {key.value for key in node.value.keys}
    return found


def _all_codes() -> set[str]:
    source = ROOT / "src" / "lugwright"
    files = [*source.glob("plain_*.py"), source / "validation.py", *(source / "rulebase").glob("*.py")]
    one = {f"unknown-{kind}" for kind in ("symptom", "cause", "context", "check", "procedure")}
    return set().union(*map(_codes_in, files)) | one


def test_every_code_has_a_broken_example():
    messages = [path.read_text(encoding="utf-8") for path in (*BROKEN.glob("*/*.txt"), *OVERLAYS.glob("*.txt"))]
    shown = {code for message in messages for code in re.findall(r"error\[(.+?)\]", message)}
    shown |= {case.split(".")[0] for case in MADE}
    # asserted by tests of their own, here and in test_plain_yaml.py
    shown |= {"too-large", "missing-part", "not-a-rule-base", "too-many-faults"}
    shown |= {"missing-file", "not-a-file", "unreadable-file"}
    assert sorted(_all_codes() - shown) == []
    assert len(_all_codes()) > 40


def _page() -> str:
    """The page on errors without the parts that tests/rulelint and tests/rulebench hold to what is really given."""
    page = (ROOT / "docs" / "rule-errors.md").read_text(encoding="utf-8")
    others = "The knowledge as a whole|The cases beside the rules|What a command of the bench says"
    return re.sub(rf"^## ({others})\n.*?(?=^## |\Z)", "", page, flags=re.M | re.S)


def test_every_code_has_a_section_in_the_page_on_errors():
    page = _page()
    headed = set(re.findall(r"^### `([a-z0-9-]+)`$", page, re.M))
    assert sorted(_all_codes() - headed) == []
    assert sorted(headed - _all_codes()) == []


def test_every_message_in_the_page_on_errors_is_one_that_is_really_given():
    page = _page()
    given = [path.read_text(encoding="utf-8") for path in (*BROKEN.glob("*/*.txt"), *OVERLAYS.glob("*.txt"))]
    given += [made[2] for made in MADE.values()]
    shown = re.findall(r"```text\n(.*?)```", page, re.S)
    assert [block for block in shown if not any(block in message for message in given)] == []
    assert len(shown) > 40


def test_the_sound_rule_base_uses_every_kind():
    assert {path.name for path in SOUND.iterdir() if path.is_dir()} == {
        "symptoms", "causes", "context", "chaining", "checks", "procedures", "machines",
    }  # fmt: skip
