"""Single mistakes in the shipped rule base, thousands of them, and what becomes of each.

Each mutation is one edit of one file: a key dropped, an id swapped, a place changed, a type broken, and so on. It ends
in one of these ways: `refused` (loading names the fault and its place), `error` or `warning` (a lint flags it),
`equivalent` (the content is the same), or `unnoticed`; the last ones are put into classes that say why nobody can know.

    python tests/tools/mutate_rules.py --count 3000 --seed 1
"""

from __future__ import annotations

import argparse
import random
import re
import sys
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, get_args

import yaml

ROOT = Path(__file__).resolve().parents[2]
if __name__ == "__main__":
    sys.path.insert(0, str(ROOT / "src"))

from lugwright.issues import Issue  # noqa: E402
from lugwright.plain_yaml import examine_plain_bytes  # noqa: E402
from lugwright.rulebase import words  # noqa: E402
from lugwright.rulebase.agree import disagreements  # noqa: E402
from lugwright.rulebase.base import KINDS, Content, RuleBase, fingerprint  # noqa: E402
from lugwright.rulebase.gather import Draft, gather  # noqa: E402
from lugwright.rulebase.listing import listing  # noqa: E402
from lugwright.rulebase.load import shipped_folder  # noqa: E402
from lugwright.rulelint.run import lint  # noqa: E402

Way = tuple[str | int, ...]

#: Fields for people: nothing in the package reads what they say.
PROSE = {
    "name", "because", "recognise", "confused_with", "question", "means", "how", "if_ignored", "remedy", "points",
    "steps", "cautions", "needs", "preconditions", "tools", "before", "do", "prove", "recheck", "limit", "number",
    "note", "title", "caution", "source", "word", "practice_differs",
}  # fmt: skip
#: Fields that name an entry -> its kind.
REFERENCES = {
    "symptom": "symptoms", "seen": "symptoms", "absent": "symptoms", "finding": "symptoms", "decides": "symptoms",
    "cause": "causes", "excludes": "causes", "feeds": "causes", "split_by": "checks", "reading": "checks",
    "voids": "checks", "void": "checks", "needs_first": "checks", "procedure": "procedures", "context": "context",
}  # fmt: skip
#: Fields with a closed choice of words.
CHOICES: dict[str, tuple[str, ...]] = {
    "how_often": get_args(words.HowOften), "sound": get_args(words.SoundRate), "beforehand": get_args(words.Beforehand),
    "becomes": get_args(words.Shift), "by": get_args(words.ObservedBy), "appears": get_args(words.Appears),
    "where": get_args(words.Where), "verdict": get_args(words.Action), "component": get_args(words.Component),
    "risk": ("low", "medium", "high"), "misses": get_args(words.HowOften), "false_alarm": get_args(words.HowOften),
    "acts_on": ("unit", "axle", "machine"), "oriented": ("side", "hand", "none"), "kind": (),
    "layout": ("two-track", "four-track"), "drive": ("friction", "positive", "none"),
    "confidence": ("low", "medium", "high"),
    "grows": ("yes", "no"), "damage": ("yes", "no"), "directed": ("yes", "no"), "derived": ("yes", "no"),
    "invented": ("yes", "no"), "sound_counts": ("unit", "side"),
    "computation": ("side-clearance", "toe", "side-temperature", "gap", "plain"),
    "quantity": ("length", "temperature", "temperature-difference", "pressure", "angle", "hours", "share", "word"),
    "relation": ("partner", "hand", "opposite-side", "axle"), "machine": ("layout", "drive", "hours"),
    "screw_sense": ("inboard-screw-first", "outboard-screw-first", "unknown"),
}  # fmt: skip
CHOICES["kind"] = ("published", "common practice", "judgement")
PLACES = ("side", "units", "unit", "axle", "hand", "other")
PLACE_WORDS = (
    "same", "opposite", "both", "either", "inboard", "outboard", "own", "partner", "all", "front", "rear", "same-hand",
    "opposite-hand", "left", "right", "front-left", "rear-right", "main", "$unit", "$side", "$axle", "$other", "$hand",
)  # fmt: skip
FIGURE = re.compile(r"-?\d+(\.\d+)?")
UNITS = ("mm", "cm", "in", "K", "°C", "bar", "h", "%", "years", "kg", "N·m", "turn", "")


@dataclass(frozen=True)
class Mutation:
    """One edit. field: the nearest key above what was edited; was, now: what stood there, and what stands there."""

    kind: str
    file: str
    way: str
    field: str
    was: str
    now: str
    text: bytes


@dataclass(frozen=True)
class Outcome:
    """What became of a mutation: `result` and, where one was given, the first message."""

    mutation: Mutation
    result: str
    issues: tuple[Issue, ...] = ()

    @property
    def why(self) -> str:
        """Why an unnoticed mutation cannot be known from the files alone, or nothing where there is no such reason."""
        m = self.mutation
        if m.field in PROSE or m.way.split("/")[-2:-1] in (["answers"], ["steps"]) or m.kind == "change-text":
            return "words for people: nothing reads them"
        if m.kind in ("drop-key", "drop-item", "drop-line"):
            return "less is said: what is left is sound by itself"
        if m.kind == "rename-entry":
            return "a name that nothing refers to"
        if m.kind == "swap-id":
            return "another statement: the new id is declared and fits the place"
        if m.kind == "change-place":
            return "another place that fits as well"
        if m.kind == "change-word":
            return "another word that is allowed there"
        if m.kind in ("change-figure", "change-unit"):
            return "another figure of the same kind"
        if m.kind == "swap-answer":
            return "another answer that can be given"
        return ""


class Shop:
    """The shipped rule base taken apart file by file, so that a mutated file can be put in quickly."""

    def __init__(self, folder: Path | None = None) -> None:
        self.home = folder or shipped_folder()
        files, issues = listing(self.home, "rules")
        assert not issues
        self.raw = {name: path.read_bytes() for name, path in files.items()}
        self.parts = {name: gather({name: Path(name)}, {name: raw}, "rules") for name, raw in self.raw.items()}
        self.mark, self.known = "", frozenset[tuple[str, str]]()
        rulebase, issues_ = self.load({})
        assert rulebase is not None, issues_
        self.mark, self.known = rulebase.fingerprint, frozenset((one.code, one.what) for one in lint(rulebase))

    @cached_property
    def data(self) -> dict[str, Any]:
        """Every file as plain data."""
        return {name: examine_plain_bytes(raw, name)[0].data for name, raw in self.raw.items()}  # type: ignore[union-attr]

    def load(self, changed: dict[str, bytes]) -> tuple[RuleBase | None, tuple[Issue, ...]]:
        """The rule base with some files changed, or its faults: what `inspect` gives, from memory."""
        parts = {
            **self.parts,
            **{name: gather({name: Path(name)}, {name: raw}, "rules") for name, raw in changed.items()},
        }
        draft = _joined(parts)
        if draft is None:  # an id stands in two files
            raw = {**self.raw, **changed}
            draft = gather({name: Path(name) for name in raw}, raw, "rules")
        disagreements(draft)
        if draft.issues or draft.about is None or draft.scales is None:
            return None, tuple(sorted(set(draft.issues)))
        entries: dict[str, Any] = {kind: dict(sorted(draft.entries[kind].items())) for kind in KINDS}
        content = Content.model_construct(None, about=draft.about, scales=draft.scales, **entries)
        return RuleBase.of(content, fingerprint(content.plain()), draft.places(), self.home, "rules"), ()

    def examine(self, mutation: Mutation) -> Outcome:
        """What becomes of one mutation."""
        rulebase, issues = self.load({mutation.file: mutation.text})
        if rulebase is None:
            return Outcome(mutation, "refused", issues)
        if rulebase.fingerprint == self.mark:
            return Outcome(mutation, "equivalent")
        new = tuple(one for one in lint(rulebase) if (one.code, one.what) not in self.known)
        if not new:
            return Outcome(mutation, "unnoticed")
        return Outcome(mutation, "error" if any(one.severity == "error" for one in new) else "warning", new)


def _joined(parts: dict[str, Draft]) -> Draft | None:
    """The drafts of single files as one draft; None where two of them declare one id."""
    whole = Draft()
    for name, part in sorted(parts.items()):
        whole.issues += part.issues
        whole.unread |= part.unread
        whole.documents.update(part.documents)
        whole.about = part.about if name == "about.yaml" else whole.about
        whole.scales = part.scales if name == "scales.yaml" else whole.scales
        for kind in KINDS:
            if whole.spots[kind].keys() & part.spots[kind].keys():
                return None
            whole.spots[kind].update(part.spots[kind])
            whole.entries[kind].update(part.entries[kind])
    return whole


class Mutator:
    """Makes mutations of a shop's files from a seed."""

    def __init__(self, shop: Shop, seed: int) -> None:
        self.shop, self.rng = shop, random.Random(seed)
        self.ids = {kind: sorted(i for part in shop.parts.values() for i in part.spots[kind]) for kind in KINDS}
        self.nodes = {name: list(_walk(data, ())) for name, data in shop.data.items() if isinstance(data, dict)}
        self.kinds: dict[str, Callable[[], Mutation | None]] = {
            "drop-key": self.drop_key, "drop-item": self.drop_item, "repeat-item": self.repeat_item,
            "misspell-key": self.misspell_key, "misspell-word": self.misspell_word, "swap-id": self.swap_id,
            "swap-id-of-another-kind": self.swap_kind, "change-word": self.change_word,
            "change-place": self.change_place,
            "wrong-type": self.wrong_type, "change-figure": self.change_figure, "change-unit": self.change_unit,
            "change-text": self.change_text, "rename-entry": self.rename_entry, "swap-answer": self.swap_answer,
            "move-entry": self.move_entry, "repeat-key": self.repeat_key, "drop-line": self.drop_line,
            "indent-line": self.indent_line, "odd-mark": self.odd_mark, "empty-value": self.empty_value,
        }  # fmt: skip

    def make(self, count: int) -> Iterator[Mutation]:
        """Mutations of every kind in turn."""
        order = sorted(self.kinds)
        made = 0
        while made < count:
            one = self.kinds[order[made % len(order)]]()
            if one is not None and one.text != self.shop.raw[one.file]:
                made += 1
                yield one

    def _pick(self, fits: Callable[[Way, Any], bool]) -> tuple[str, Way, Any]:
        while True:
            file = self.rng.choice(sorted(self.nodes))
            way, value = self.rng.choice(self.nodes[file])
            if way and fits(way, value):
                return file, way, value

    def _edited(
        self, kind: str, file: str, way: Way, value: Any, now: Any, *, drop: bool = False, key: str = ""
    ) -> Mutation:
        data = deepcopy(self.shop.data[file])
        owner = data
        for step in way[:-1]:
            owner = owner[step]
        if drop:
            del owner[way[-1]]
        elif key:
            pairs = [(key if k == way[-1] else k, v) for k, v in owner.items()]
            owner.clear()
            owner.update(pairs)
        else:
            owner[way[-1]] = now
        text = yaml.dump(data, Dumper=_DUMPER, sort_keys=False, allow_unicode=True, width=10_000)
        shown = "" if drop else key or str(now)
        return Mutation(kind, file, "/".join(map(str, way)), _field(way), str(value)[:60], shown[:60], text.encode())

    def drop_key(self) -> Mutation:
        file, way, value = self._pick(lambda way, _: isinstance(way[-1], str))
        return self._edited("drop-key", file, way, value, None, drop=True)

    def drop_item(self) -> Mutation:
        file, way, value = self._pick(lambda way, _: isinstance(way[-1], int))
        return self._edited("drop-item", file, way, value, None, drop=True)

    def repeat_item(self) -> Mutation:
        file, way, value = self._pick(lambda way, value: isinstance(value, list) and bool(value))
        return self._edited("repeat-item", file, way, value, [*value, self.rng.choice(value)])

    def misspell_key(self) -> Mutation:
        file, way, value = self._pick(lambda way, _: isinstance(way[-1], str) and len(way) > 1 and len(way[-1]) > 2)
        return self._edited("misspell-key", file, way, value, value, key=self._slip(str(way[-1])))

    def misspell_word(self) -> Mutation:
        file, way, value = self._pick(
            lambda way, value: isinstance(value, str) and _field(way) not in PROSE and _word(value)
        )
        return self._edited("misspell-word", file, way, value, self._slip(value))

    def _slip(self, word: str) -> str:
        at = self.rng.randrange(1, len(word)) if len(word) > 1 else 0
        how = self.rng.choice(("drop", "double", "swap"))
        if how == "drop":
            return word[:at] + word[at + 1 :]
        if how == "double":
            return word[: at + 1] + word[at:]
        return word[: at - 1] + word[at] + word[at - 1] + word[at + 1 :] if at else word + word

    def swap_id(self) -> Mutation:
        file, way, value = self._pick(lambda way, value: self._names(way, value) != "")
        return self._edited("swap-id", file, way, value, self._other(value, self.ids[self._names(way, value)]))

    def swap_kind(self) -> Mutation:
        file, way, value = self._pick(lambda way, value: self._names(way, value) != "")
        kind = self._other(self._names(way, value), sorted(KINDS))
        return self._edited("swap-id-of-another-kind", file, way, value, self.rng.choice(self.ids[kind]))

    def _names(self, way: Way, value: Any) -> str:
        """The kind of entry a value names, or nothing."""
        kind = REFERENCES.get(_field(way), "")
        if _field(way) == "look_alikes":
            kind = "symptoms"
        return kind if isinstance(value, str) and kind and value in self.ids[kind] else ""

    def change_word(self) -> Mutation:
        file, way, value = self._pick(
            lambda way, value: isinstance(value, str) and value in CHOICES.get(_field(way), ())
        )
        return self._edited("change-word", file, way, value, self._other(value, CHOICES[_field(way)]))

    def change_place(self) -> Mutation:
        file, way, value = self._pick(lambda way, value: isinstance(value, str) and way[-1] in PLACES)
        return self._edited("change-place", file, way, value, self._other(value, PLACE_WORDS))

    def wrong_type(self) -> Mutation:
        file, way, value = self._pick(lambda way, _: True)
        odd: list[Any] = [["one", "two"], {"one": "two"}, "some words", "12.5", [], {}]
        return self._edited(
            "wrong-type", file, way, value, self._other(value, [one for one in odd if type(one) is not type(value)])
        )

    def change_figure(self) -> Mutation:
        file, way, value = self._pick(
            lambda way, value: isinstance(value, str) and _field(way) not in PROSE and bool(FIGURE.search(value))
        )
        how = self.rng.choice(("10", "0.1", "-1", "1.5"))
        now = FIGURE.sub(lambda found: f"{float(found[0]) * float(how):g}", value, count=1)
        return self._edited("change-figure", file, way, value, now)

    def change_unit(self) -> Mutation:
        file, way, value = self._pick(
            lambda way, value: (
                isinstance(value, str) and _field(way) not in PROSE and bool(re.search(r"\d \S+$", value))
            )
        )
        return self._edited(
            "change-unit", file, way, value, f"{value.rpartition(' ')[0]} {self.rng.choice(UNITS)}".strip()
        )

    def change_text(self) -> Mutation:
        file, way, value = self._pick(lambda way, value: isinstance(value, str) and len(value.split()) > 3)
        said = value.split()
        del said[self.rng.randrange(len(said))]
        return self._edited("change-text", file, way, value, " ".join(said))

    def rename_entry(self) -> Mutation:
        file, way, value = self._pick(lambda way, _: len(way) == 1)
        return self._edited("rename-entry", file, way, value, value, key=self._slip(str(way[0])))

    def swap_answer(self) -> Mutation | None:
        file, way, value = self._pick(
            lambda way, value: isinstance(value, str) and (way[-1] == "is" or way[-2:-1] in (("given",), ("unless",)))
        )
        answers = sorted({v for ws in self.nodes.values() for w, v in ws if w and w[-1] == "is" and isinstance(v, str)})
        return self._edited("swap-answer", file, way, value, self._other(value, answers))

    def move_entry(self) -> Mutation:
        """An entry in a file of another kind (it is still in its own file too)."""
        file = self.rng.choice(sorted(name for name in self.nodes if "/" in name))
        kind = file.partition("/")[0]
        other = self.rng.choice(sorted(name for name in self.nodes if "/" in name and name.partition("/")[0] != kind))
        name = self.rng.choice(sorted(self.shop.data[file]))
        data = {**self.shop.data[other], name: self.shop.data[file][name]}
        text = yaml.dump(data, Dumper=_DUMPER, sort_keys=False, allow_unicode=True, width=10_000).encode()
        return Mutation("move-entry", other, name, name, kind, other.partition("/")[0], text)

    def _line(self, fits: Callable[[str], bool]) -> tuple[str, list[str], int]:
        while True:
            file = self.rng.choice(sorted(self.shop.raw))
            lines = self.shop.raw[file].decode().split("\n")
            at = self.rng.randrange(len(lines))
            if fits(lines[at]):
                return file, lines, at

    def _relined(self, kind: str, file: str, lines: list[str], at: int, *now: str) -> Mutation:
        found = re.match(r"[\s-]*\{?([\w-]+):", lines[at])
        text = "\n".join([*lines[:at], *now, *lines[at + 1 :]]).encode()
        field = found[1] if found else "steps"
        return Mutation(kind, file, f"line {at + 1}", field, lines[at].strip()[:60], " ".join(now).strip()[:60], text)

    def repeat_key(self) -> Mutation:
        file, lines, at = self._line(lambda line: re.match(r"\s*[\w-]+: \S", line) is not None)
        return self._relined("repeat-key", file, lines, at, lines[at], lines[at])

    def drop_line(self) -> Mutation:
        file, lines, at = self._line(lambda line: bool(line.strip()))
        return self._relined("drop-line", file, lines, at)

    def indent_line(self) -> Mutation:
        file, lines, at = self._line(lambda line: line.startswith("  ") and not line.strip().startswith("#"))
        moved = " " + lines[at] if self.rng.random() < 0.5 else lines[at][1:]
        return self._relined("indent-line", file, lines, at, moved)

    def odd_mark(self) -> Mutation:
        file, lines, at = self._line(lambda line: re.match(r"\s*[\w-]+: \S", line) is not None)
        head, _, rest = lines[at].partition(": ")
        odd = ("&a {}", "*a", "!!str {}", "'{}", "{}: more", "[{}", "\x07{}")
        now = self.rng.choice(
            [f"\t{lines[at]}", f"{head} {rest}", *(f"{head}: {one.replace('{}', rest)}" for one in odd)]
        )
        return self._relined("odd-mark", file, lines, at, now)

    def empty_value(self) -> Mutation:
        file, lines, at = self._line(lambda line: re.match(r"\s*[\w-]+: \S", line) is not None)
        return self._relined("empty-value", file, lines, at, lines[at].partition(": ")[0] + ":")

    def _other(self, value: Any, choices: Any) -> Any:
        return self.rng.choice([one for one in choices if one != value])


_DUMPER: Any = getattr(yaml, "CSafeDumper", yaml.SafeDumper)


def _walk(value: Any, way: Way) -> Iterator[tuple[Way, Any]]:
    yield way, value
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, inner in steps:
        yield from _walk(inner, (*way, step))


def _field(way: Way) -> str:
    return next((str(step) for step in reversed(way) if isinstance(step, str)), "")


def _word(value: str) -> bool:
    return re.fullmatch(r"[a-z][a-z-]{2,}", value) is not None


def table(outcomes: list[Outcome]) -> str:
    """Kinds down, results across."""
    results = ("refused", "error", "warning", "equivalent", "unnoticed", "crash")
    count = Counter((one.mutation.kind, one.result) for one in outcomes)
    rows = [f"{'mutation':<26}" + "".join(f"{result:>12}" for result in results)]
    for kind in [*sorted({one.mutation.kind for one in outcomes}), "all"]:
        row = [sum(n for (k, r), n in count.items() if r == result and kind in (k, "all")) for result in results]
        rows.append(f"{kind:<26}" + "".join(f"{n:>12}" for n in row))
    return "\n".join(rows)


def main() -> None:
    """Make mutations, print the table, the classes of what went unnoticed, and each of those."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--count", type=int, default=3000)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--rules", type=Path, help="another rule base than the shipped one")
    options.add_argument("--list", action="store_true", help="list every unnoticed mutation")
    chosen = options.parse_args()
    shop = Shop(chosen.rules)
    outcomes = []
    for mutation in Mutator(shop, chosen.seed).make(chosen.count):
        try:
            outcomes.append(shop.examine(mutation))
        except Exception as problem:
            outcomes.append(Outcome(mutation, "crash"))
            print(
                f"CRASH {mutation.kind} {mutation.file} {mutation.way}: {mutation.was} -> {mutation.now}: {problem!r}"
            )
    print(table(outcomes))
    classes: dict[str, list[Mutation]] = defaultdict(list)
    for one in outcomes:
        if one.result == "unnoticed":
            classes[one.why or "NO EXPLANATION"].append(one.mutation)
    for why, ones in sorted(classes.items(), key=lambda pair: -len(pair[1])):
        fields = ", ".join(f"{field} {n}" for field, n in Counter(one.field for one in ones).most_common(12))
        print(f"\n{len(ones)} unnoticed, {why}\n  fields: {fields}")
        for one in ones if chosen.list or why == "NO EXPLANATION" else ():
            print(f"  {one.kind} {one.file} {one.way}: {one.was} -> {one.now}")
    flagged = Counter(issue.code for one in outcomes if one.result in ("error", "warning") for issue in one.issues)
    print("\nflagged by: " + ", ".join(f"{code} {n}" for code, n in flagged.most_common()))


if __name__ == "__main__":
    main()
