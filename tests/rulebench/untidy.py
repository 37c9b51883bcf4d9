"""Untidy YAML with comments in every place they can stand, made by hypothesis. Each comment is numbered."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any

from hypothesis import strategies as st

from lugwright.issues import UnusableInput
from lugwright.plain_yaml import read_plain_text

WORDS = (
    "a", "belt", "the-lug", "it's", "1", "-2.50", "no", "true", "~", "null", "#", "x#y", "a:b", "b:", "-", "?", "µ",
    '"', "{", "}", "[x]", ",", "&a", "*b", "!t", "%", "@", "|", ">", "=", "<<", "sheet:x", "\\n", "…", "😀",
    "2024-05-01", "12:30", "lengthy" * 9,
)  # fmt: skip
IDS = ("because", "name", "basis", "shows", "feeds", "look_alikes", "acts_on", "remedy", "other-key", "beforehand")

texts = st.one_of(
    st.lists(st.sampled_from(WORDS), min_size=1, max_size=30).map(" ".join),
    st.lists(st.sampled_from((*WORDS, "\n", " ", "")), min_size=1, max_size=12).map(" ".join),
    st.sampled_from(("", " ", "\n", "a\n", "\na", "a\n\nb\n", "a  b", "a\tb", "tail ", " head", "x\x85y", "\u2028")),
)
keys = texts.filter(lambda text: text not in ("", "<<"))
data = st.recursive(
    texts,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(st.one_of(st.sampled_from(IDS), keys), inner, max_size=5)
    ),
    max_leaves=12,
)
entries = st.dictionaries(st.sampled_from(IDS), data, min_size=1, max_size=5)
files = st.dictionaries(st.sampled_from(("one", "two", "three-4")), entries, min_size=1, max_size=3)


@dataclass
class Untidy:
    """Writes data in ways that a person might, chosen by `draw`. `comments` is how many comments were written."""

    draw: Any
    comments: int = 0
    lines: list[str] = field(default_factory=list)

    def file(self, content: dict[str, Any]) -> str:
        self.gap(0)
        self.mapping(content, 0)
        self.gap(0)
        return "\n".join(self.lines) + "\n" * self.draw(st.integers(0, 2))

    def comment(self) -> str:
        self.comments += 1
        return f"#{self.draw(st.sampled_from((' ', '', '  - ', ' key: ')))}{self.comments}" + " words" * self.draw(
            st.sampled_from((0, 1, 30))
        )

    def gap(self, indent: int) -> None:
        """Comment lines and empty lines, or mostly nothing."""
        for _ in range(self.draw(st.sampled_from((0, 0, 0, 0, 1, 2)))):
            self.lines.append(" " * indent + self.comment() if self.draw(st.booleans()) else "")

    def eol(self) -> None:
        if self.draw(st.sampled_from((False, False, False, True))):
            self.lines[-1] += " " * self.draw(st.integers(1, 3)) + self.comment()

    def mapping(self, content: dict[str, Any], indent: int, lead: str = "") -> None:
        for key, value in content.items():
            if not lead:
                self.gap(indent)
            self.value(value, (lead or " " * indent) + self.flow_text(key) + ":", indent)
            lead = ""

    def sequence(self, content: list[Any], indent: int, lead: str = "") -> None:
        for value in content:
            if not lead:
                self.gap(indent)
            head = (lead or " " * indent) + "-"
            lead = ""
            if isinstance(value, (dict, list)) and value and self.draw(st.booleans()):
                width = self.draw(st.integers(1, 3))
                write = self.mapping if isinstance(value, dict) else self.sequence
                write(value, len(head) + width, head + " " * width)  # type: ignore[operator]
            else:
                self.value(value, head, indent)

    def value(self, value: Any, head: str, indent: int) -> None:
        if isinstance(value, str):
            self.text(value, head, indent)
        elif not value or self.draw(st.sampled_from((True, False))):
            self.lines.append(head)
            self.flow(value, indent)
            self.eol()
        else:
            self.lines.append(head)
            self.eol()
            deeper = indent + self.draw(st.integers(1, 4))
            self.gap(deeper)
            (self.mapping if isinstance(value, dict) else self.sequence)(value, deeper)  # type: ignore[operator]
            self.gap(deeper)

    def flow(self, value: Any, indent: int) -> None:
        """Write brackets behind the last line, now and then over several lines and with comments inside."""
        mapping = isinstance(value, dict)
        self.lines[-1] += " {" if mapping else " ["
        for n, one in enumerate(value):
            if n:
                self.lines[-1] += ","
            if self.draw(st.sampled_from((False, False, True))):
                self.eol()
                self.lines.append(" " * (indent + 3))
                if self.draw(st.booleans()):
                    self.lines[-1] += self.comment()
                    self.lines.append(" " * (indent + 2))
            if mapping:
                self.lines[-1] += " " + self.flow_text(one) + ":"
            inner = value[one] if mapping else one
            if isinstance(inner, str):
                self.lines[-1] += " " + self.flow_text(inner)
            else:
                self.flow(inner, indent)
        self.lines[-1] += " }" if mapping else " ]"

    def flow_text(self, text: str) -> str:
        ways = [text, "'" + text.replace("'", "''") + "'"]
        way = ways[self.draw(st.integers(0, 1))]
        return way if _reads_as(f"{{{way}: [{way}, {way} ]}}", {text: [text, text]}) else _quoted(text)

    def text(self, text: str, head: str, indent: int) -> None:
        deeper = " " * (indent + self.draw(st.integers(1, 3)))
        words = [deeper + word for word in text.split(" ")]
        ways = [
            [f"{head}   {text}"],
            [head + " '" + text.replace("'", "''") + "'"],
            [f"{head} >-", *words],
            [f"{head} >", *(deeper + line for line in text.split("\n"))],
            [f"{head} |-", *(deeper + line for line in text.split("\n"))],
            [head, *words],
        ]
        way = ways[self.draw(st.integers(0, len(ways) - 1))]
        if not _reads_as("\n".join(["k:" + way[0][len(head) :], *way[1:], "z: z"]), {"k": text, "z": "z"}):
            way = [f"{head} {_quoted(text)}"]
        sign = way[0][len(head) :].strip() in (">-", ">", "|-")
        self.lines.append(way[0])
        if sign or len(way) == 1:
            self.eol()
        self.lines += way[1:]


def _quoted(text: str) -> str:
    made = json.dumps(text, ensure_ascii=False)
    return made.replace("\x85", "\\N").replace("\u2028", "\\L")


def _reads_as(text: str, content: Any) -> bool:
    try:
        return bool(read_plain_text(text, "x").data == content)
    except UnusableInput:
        return False
