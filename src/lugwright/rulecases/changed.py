"""Which cases a change of the rule base touches, compared with what git remembers."""

from __future__ import annotations

import io
import subprocess
import tarfile
import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lugwright.chaining.base_facts import base_facts
from lugwright.chaining.conclude import conclude
from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.rulebase.base import KINDS
from lugwright.rulebase.load import inspect_layers
from lugwright.rulecases.agree import cause_of, expected_causes

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulebase.rules import ChainingRule
    from lugwright.rulebase.schema import Cause
    from lugwright.rulecases.bench import Bench
    from lugwright.rulecases.book import LoadedCase


@dataclass(frozen=True)
class Change:
    """What changed since a revision.

    files:   changed cases files, as messages name them. entries: kind -> ids that are new, gone or mean something else.
    before:  the causes and rules as they were, for those that changed or went.
    all:     why every case is touched; empty where only some are.
    """

    files: frozenset[str] = frozenset()
    entries: dict[str, frozenset[str]] = field(default_factory=dict)
    before: dict[str, Any] = field(default_factory=dict)
    all: str = ""

    def of(self, kind: str) -> frozenset[str]:
        """Changed ids of one kind."""
        return self.entries.get(kind, frozenset())


def change_since(rulebase: RuleBase, revision: str = "HEAD") -> Change:
    """What differs between a rule base and its folder at a git revision, uncommitted and new files included.

    Of several layers the topmost is compared. Raises UnusableInput where its folder is in no git work tree, or git does
    not know the revision.
    """
    *below, layer = rulebase.layers
    folder = layer.folder.resolve()
    top = Path(_git(folder, "rev-parse", "--show-toplevel").strip()).resolve()
    inside = folder.relative_to(top).as_posix()
    _git(folder, "rev-parse", "--verify", "--quiet", f"{revision}^{{commit}}")
    listed = _git(folder, "diff", "--name-only", "--no-renames", "-z", revision, "--", ".")
    fresh = _git(folder, "ls-files", "--others", "--exclude-standard", "--full-name", "-z", "--", ".")
    prefix = "" if inside == "." else f"{inside}/"
    names = {name.removeprefix(prefix) for name in (*listed.split("\0"), *fresh.split("\0")) if name}
    files = frozenset(f"{layer.shown}/{name}" for name in names if name.startswith("cases/"))
    if not any(not name.startswith("cases/") for name in names):
        return Change(files)
    with tempfile.TemporaryDirectory(prefix="lugwright-") as aside:
        if not _old_version(top, inside, revision, Path(aside)):
            return Change(files, all=f"the rule base is not in {revision}")
        old, _ = inspect_layers([*(one.folder for one in below), Path(aside) / inside])
    if old is None:
        return Change(files, all=f"the rule base of {revision} cannot be loaded, so nothing can be compared")
    if old.scales != rulebase.scales:
        return Change(files, all="the scales have changed, and every answer rests on them")
    entries: dict[str, frozenset[str]] = {}
    before: dict[str, Any] = {}
    for kind in KINDS:
        new_ones, old_ones = rulebase.entries(kind), old.entries(kind)
        differing = [name for name in {**new_ones, **old_ones} if new_ones.get(name) != old_ones.get(name)]
        entries[kind] = frozenset(differing)
        if kind in ("causes", "chaining"):
            before |= {f"{kind}/{name}": old_ones[name] for name in differing if name in old_ones}
    return Change(files, entries, before)


def touched(cases: Iterable[LoadedCase], change: Change, bench: Bench) -> tuple[LoadedCase, ...]:
    """The cases a change touches: those of a changed cases file, those that are for a changed entry, and those whose
    reasoning meets one. Where that cannot be ruled out, a case counts as touched.
    """
    return tuple(case for case in cases if change.all or _touches(case, change, bench))


def _touches(case: LoadedCase, change: Change, bench: Bench) -> bool:
    record, written = case.record, case.written
    if case.spot.file in change.files:
        return True
    if not any(change.entries.values()):
        return False
    expect = written.expect
    named = {*written.for_, *expected_causes(expect), *expect.fires, *expect.silent}
    named |= {cause_of(one) for one in (*expect.not_first, *expect.at_most, *expect.excluded)}
    if named & (change.of("causes") | change.of("chaining")):
        return True
    if record.sheet_id in change.of("machines") or set(record.context) & change.of("context"):
        return True
    checks = {reading.check for reading in record.readings}
    if checks & change.of("checks") or (expect.next_check and change.of("checks")):
        return True
    concluded = conclude(record, bench.rulebase, bench.engine(record))
    signs = {one.symptom for one in record.findings} | {one.symptom for one in concluded.findings}
    seen = {one.symptom for one in concluded.findings if one.state == "seen"}
    if signs & change.of("symptoms"):
        return True
    facts = [*base_facts(record, bench.rulebase), *(new for step in concluded.steps for new in step.concluded)]
    words = {f"{one.kind} {one.get('symptom') or one.get('check') or one.get('name') or ''}" for one in facts}
    return any(_shows_any(cause, seen) for cause in _versions("causes", change, bench.rulebase.causes)) or any(
        _reads_any(rule, words) for rule in _versions("chaining", change, bench.rulebase.rules)
    )


def _versions(kind: str, change: Change, now: Any) -> Iterator[Any]:
    """Both versions of every changed entry of a kind."""
    for name in sorted(change.of(kind)):
        yield from (one for one in (now.get(name), change.before.get(f"{kind}/{name}")) if one is not None)


def _shows_any(cause: Cause, seen: set[str]) -> bool:
    return any(show.symptom in seen for show in (*cause.shows, *cause.never_shows))


def _reads_any(rule: ChainingRule, words: set[str]) -> bool:
    """Whether every condition of a rule has something of its kind and name in a case, so that it could fire there."""
    for one in rule.when:
        kind, name = next(iter(one.model_dump(by_alias=True, exclude_none=True).items()))
        if kind in ("seen", "absent") and f"finding {name}" not in words:
            return False
        if kind in ("context", "reading", "void") and f"{kind} {name}" not in words:
            return False
    return True


def _old_version(top: Path, inside: str, revision: str, aside: Path) -> bool:
    """Write the folder as it was into a temporary one; false where it was not there."""
    found = _run(top, "archive", "--format=tar", revision, "--", inside)
    if found.returncode:
        return False
    with tarfile.open(fileobj=io.BytesIO(found.stdout)) as archive:
        for member in archive.getmembers():
            target = (aside / member.name).resolve()
            if not member.isfile() or aside.resolve() not in target.parents:
                continue
            target.parent.mkdir(parents=True, exist_ok=True)
            stream = archive.extractfile(member)
            target.write_bytes(stream.read() if stream else b"")
    return (aside / inside).is_dir()


def _run(folder: Path, *words: str) -> subprocess.CompletedProcess[bytes]:
    try:
        return subprocess.run(["git", "-C", str(folder), *words], capture_output=True, check=False)
    except OSError:
        raise UnusableInput([_no_git("git is not installed here")]) from None


def _git(folder: Path, *words: str) -> str:
    done = _run(folder, *words)
    if done.returncode:
        said = done.stderr.decode("utf-8", "replace").strip().splitlines() or ["git failed"]
        what = f"git does not know '{words[-1].partition('^')[0]}'" if "--verify" in words else said[-1]
        raise UnusableInput([_no_git(what)])
    return done.stdout.decode("utf-8", "replace")


def _no_git(what: str) -> Issue:
    why = "'changed' is told by comparing the folder with a revision git remembers"
    return Issue(Spot("--changed"), "no-comparison", what, why, "run all cases, or name a revision with --base")
