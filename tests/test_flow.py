"""The shape of the package: imports point one way, help loads nothing heavy, nothing private is left in."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "src" / "lugwright"

#: Every module and room of the package. Each may import only what stands before it.
FLOW = (
    "issues", "plain_words", "units", "quantities", "places", "plain_build", "plain_yaml", "shapes", "validation",
    "rulebase", "casefile", "readings", "chaining", "belief", "diagnosis", "prospects", "plan", "summing_up", "report",
    "triage", "looking", "walkround", "rulecases", "rulediff", "rulelint", "cli", "__main__",
)  # fmt: skip
#: May be imported by all, and imports nothing of ours.
ABOVE = ("__init__",)
#: Rooms that must not know each other although the order would allow it.
STRANGERS = {
    "belief": {"chaining", "casefile", "readings"},
    "report": {"chaining", "belief", "casefile", "readings", "plan", "summing_up"},
    "diagnosis": {"rulebase", "casefile", "readings", "chaining", "belief"},
}
#: What only some rooms may load, and where it stands.
ONLY_IN = {
    "experta": {"chaining/experta_door.py"},
    "frozendict": {"chaining/experta_door.py"},
    "numpy": {"belief", "plan", "rulecases"},
    "graphviz": {"report"},
    "rich": {"report", "cli"},
    "typer": {"cli"},
    "yaml": {"plain_build.py", "plain_words.py", "plain_yaml.py"},
}
MODULES = sorted(path for path in SOURCE.rglob("*.py"))


def room(path: Path) -> str:
    return path.relative_to(SOURCE).parts[0].removesuffix(".py")


def imports(path: Path) -> set[str]:
    """Dotted names that a module imports when it runs, wherever in it; what only a type checker reads is left out."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for_types = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING")
        for statement in node.body
        for inner in ast.walk(statement)
    }
    found: set[str] = set()
    for node in ast.walk(tree):
        if id(node) in for_types:
            continue
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: imports are written in full"
            deeper = node.module == "lugwright"
            found.update(f"lugwright.{alias.name}" if deeper else str(node.module) for alias in node.names)
    return found


def own(path: Path) -> set[str]:
    """The rooms of this package that a module imports, its own left out."""
    rooms = {[*name.split("."), "__init__"][1] for name in imports(path) if name.split(".")[0] == "lugwright"}
    return {one if one in FLOW else "__init__" for one in rooms} - {room(path)}


def test_every_room_of_the_package_has_its_place_in_the_flow() -> None:
    there = {path.name.removesuffix(".py") for path in SOURCE.iterdir() if path.name not in ("__pycache__", "py.typed")}
    assert there - set(FLOW) - set(ABOVE) == set(), "give it a place in FLOW, in DEVELOPERS.md and in the flow itself"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(SOURCE)))
def test_imports_point_one_way(path: Path) -> None:
    if room(path) in ABOVE:
        assert own(path) == set()
        return
    before = set(FLOW[: FLOW.index(room(path))]) | set(ABOVE)
    assert own(path) <= before
    assert not own(path) & STRANGERS.get(room(path), set())


@pytest.mark.parametrize("library", sorted(ONLY_IN))
def test_a_library_is_loaded_only_where_it_belongs(library: str) -> None:
    users = {path for path in MODULES if any(name.split(".")[0] == library for name in imports(path))}
    places = {str(path.relative_to(SOURCE)) for path in users} | {room(path) for path in users}
    assert all(str(p.relative_to(SOURCE)) in ONLY_IN[library] or room(p) in ONLY_IN[library] for p in users), places
    assert users, f"nothing uses {library} any more; take it out of this list and out of pyproject.toml"


@pytest.mark.parametrize("command", ["--help", "--version", "triage --help", "rules --help"])
def test_help_is_printed_without_loading_anything_heavy(command: str) -> None:
    # pydantic is not in the list: typer loads it by itself where it is installed
    code = (
        "import sys\nfrom lugwright.cli import main\n"
        f"sys.argv = ['lugwright', *{command.split()!r}]\n"
        "try:\n    main()\nexcept SystemExit as done:\n    assert not done.code\n"
        "heavy = {'experta', 'numpy', 'graphviz', 'yaml', 'lugwright.triage', 'lugwright.rulebase.load'}\n"
        "print('LOADED', *sorted(heavy & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.splitlines()[-1].split() == ["LOADED"]


def kept_files() -> list[Path]:
    """Every text file that people write, found without git so that it works in a source archive too."""
    tops = ["src", "rules", "tests", "docs", "examples", ".ci"]
    found = [
        path for top in tops for path in (ROOT / top).rglob("*") if path.is_file() and "__pycache__" not in path.parts
    ]
    found += [path for name in ("README.md", "DEVELOPERS.md", "pyproject.toml") if (path := ROOT / name).is_file()]
    return sorted(path for path in found if path.suffix not in (".pyc", ".png") and ".egg-info" not in str(path))


#: An absolute path of somebody's machine. `/usr/bin/env` and paths inside an address or a word are not meant.
MACHINE_PATH = re.compile(
    r"(?<![\w.<>/~*)}\]-])/(?:home|root|tmp|opt|mnt|srv|var|work|Users|Volumes|etc|usr)(?!/bin/env)/\w|(?i:\b[a-z]:\\users\\)"
)
#: The only hosts that may be named: where the picture's format is defined, and names that are reserved for examples.
HOST = re.compile(r"(?:https?|ftp|git|ssh)://([\w.-]+)")
ALLOWED_HOSTS = {"www.w3.org", "example.org", "example.com"}


def test_no_file_names_a_machine_or_a_registry() -> None:
    found = []
    for path in kept_files():
        text = path.read_bytes().decode("utf-8", "replace")
        for number, line in enumerate(text.splitlines(), 1):
            hosts = [host for host in HOST.findall(line) if host not in ALLOWED_HOSTS]
            if hosts or MACHINE_PATH.search(line):
                found.append(f"{path.relative_to(ROOT)}:{number}: {line.strip()[:100]}")
    assert found == []


@pytest.mark.parametrize(
    ("line", "caught"),
    [
        ("see " + "/" + "home/me/x", True),
        ("open('" + "/" + "tmp/x')", True),
        ("C:" + "\\" + "Users\\me", True),
        ("#!/usr/bin/env bash", False),
        ("tests/tools/x.py and lug/tmp/x", False),
        ("inboard/outboard", False),
    ],
)
def test_a_machine_path_is_recognised(line: str, caught: bool) -> None:
    assert bool(MACHINE_PATH.search(line)) is caught


@pytest.mark.skipif(not (ROOT / ".git").exists(), reason="not a checkout")
def test_nothing_unexpected_lies_at_the_top_of_the_repository() -> None:
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    tops = {name.split("/")[0] for name in listed}
    assert tops <= {
        ".ci", ".gitignore", "DEVELOPERS.md", "LICENSE", "README.md", "docs", "examples", "pyproject.toml", "rules",
        "src", "tests",
    }  # fmt: skip
