"""Writes a tree of YAML in the house layout.

Two spaces a level, lists indented under their key, at most 120 columns. A text that does not fit on its line is folded
under `>-`. Short mappings and lists in brackets stay in brackets; one that does not fit, or that holds a comment, is
written line by line. Quotes stand only where a text would be read as something else.
"""

from __future__ import annotations

import io
import json
import re
from typing import Any

from ruamel.yaml import YAML

from lugwright.rulebase.yaml_tree import Group, Item, Text

WIDTH = 120
_BREAK = re.compile(r"(?<=[^ ]) (?=[^ ])")  # a text may be folded at a single space
_RUN = re.compile(r"\n+")
_YAML: Any = YAML(typ="rt", pure=True)
_YAML.stream = io.StringIO()  # nothing is written to it: only the library's judgement of a text is asked for
_EMITTER: Any = _YAML.emitter


def write(top: Group, *, spaced: bool = False) -> str:
    """The text of a tree. `spaced` puts one empty line between the entries of the top level.

    >>> from lugwright.rulebase.yaml_tree import tree
    >>> print(write(tree("b:   {x: 'one', y: '1: 2'}\\nc:\\n- 'd'   # why\\n")), end="")
    b: {x: one, y: '1: 2'}
    c:
      - d  # why
    """
    lines: list[str] = []
    for number, item in enumerate(top.items):
        above, body = _item(item, 0)
        if spaced and number and above[:1] != [""]:
            lines.append("")
        lines += (above if number else _no_lead(above)) + body
    lines += top.trailing if lines else _no_lead(top.trailing)
    return "\n".join(line.rstrip() if not line.strip() else line for line in lines) + "\n"


def _no_lead(lines: list[str]) -> list[str]:
    return lines[1:] if lines[:1] == [""] else lines


def _block(group: Group, indent: int) -> tuple[list[str], list[str]]:
    """The lines of a group written line by line; those of its first item's comments apart."""
    first: list[str] = []
    lines: list[str] = []
    for number, item in enumerate(group.items):
        above, body = _item(item, indent)
        if number:
            lines += above
        else:
            first = _no_lead(above)
        lines += body
    return first, lines + [_comment(line, indent) for line in group.trailing]


def _comment(line: str, indent: int) -> str:
    return " " * indent + line.strip() if line else ""


def _item(item: Item, indent: int) -> tuple[list[str], list[str]]:
    """The comment lines above an item, and its own lines."""
    above = [_comment(line, indent) for line in item.before]
    pad = " " * indent
    head = pad + (_inline_text(item.key, flow=True) + ":" if item.key else "-")
    eol = f"  {item.eol}" if item.eol else ""
    value = item.value
    if isinstance(value, Text):
        body = _text(value, head, indent + 2)
    elif (inline := _inline(value, head)) is not None:
        body = [f"{head} {inline}"]
    else:
        first, lines = _block(value, indent + 2)
        if item.key is None:
            moved = [_comment(line, indent) for line in [*first, item.eol] if line]
            return above + moved, [pad + "- " + lines[0][indent + 2 :], *lines[1:]]
        body = [head, *first, *lines]
    if eol and len(body[0] + eol) > WIDTH:
        return [*above, _comment(item.eol, indent)], body
    return above, [body[0] + eol, *body[1:]]


def _inline(group: Group, head: str) -> str | None:
    """A group in brackets; None where it has to be written line by line."""
    if group.items and (not group.flow or _noted(group)):
        return None
    written = _flow(group)
    return written if written is not None and (not group.items or len(head) + 1 + len(written) <= WIDTH) else None


def _noted(group: Group) -> bool:
    """Does a group hold a comment, or something that cannot stand in brackets?"""
    if any(group.trailing) or any(item.eol or any(item.before) for item in group.items):
        return True
    return any(
        _noted(item.value) if isinstance(item.value, Group) else not (item.value.value or item.value.style)
        for item in group.items
    )


def _flow(group: Group) -> str | None:
    parts = []
    for item in group.items:
        if isinstance(item.value, Text):
            if "\n" in item.value.value:
                return None
            written: str | None = _inline_text(item.value, flow=True)
        else:
            written = _flow(item.value)
        if written is None:
            return None
        parts.append(f"{_inline_text(item.key, flow=True)}: {written}" if item.key else written)
    inside = ", ".join(parts)
    return f"{{{inside}}}" if group.mapping else f"[{inside}]"


def _text(text: Text, head: str, indent: int) -> list[str]:
    """A text behind its key or dash: on the line where it fits, else folded below it."""
    if not text.value and not text.style:
        return [head]
    body = text.value.removesuffix("\n")
    block = bool(body) and not body.endswith("\n") and _EMITTER.analyze_scalar(body).allow_block
    sign = "-" if body == text.value else ""
    if block and "\n" in text.value and text.style == "|" and not body.startswith((" ", "\n")):
        return [f"{head} |{sign}", *(" " * indent + line if line else "" for line in body.split("\n"))]
    foldable = block and not body.startswith((" ", "\n")) and "\n " not in body
    inline = f"{head} {_inline_text(text, flow=False)}"
    needed = inline[-1] in "'\"" and text.style in (">", "|") and " " in body
    if foldable and ((len(inline) > WIDTH and " " in body) or needed or "\n" in text.value):
        return [f"{head} >{sign}", *_folded(body, indent)]
    return [inline]


def _folded(text: str, indent: int) -> list[str]:
    """The lines of a folded text; a line break of the text is an empty line more."""
    lines: list[str] = []
    ends = [*(run.end() - run.start() for run in _RUN.finditer(text)), 0]
    for part, blank in zip(_RUN.split(text), ends, strict=True):
        line = ""
        for word in _BREAK.split(part):
            if line and indent + len(line) + 1 + len(word) > WIDTH:
                lines.append(" " * indent + line)
                line = word
            else:
                line = f"{line} {word}" if line else word
        lines += [" " * indent + line, *[""] * blank]
    return lines


def _inline_text(text: Text, *, flow: bool) -> str:
    """A text on one line: plain where that reads back as the same text, else in quotes, of the author's kind."""
    value = text.value
    found = _EMITTER.analyze_scalar(value)
    allowed = found.allow_flow_plain and not set(":?") & set(value) if flow else found.allow_block_plain
    if value and allowed and not text.ambiguous:
        return value
    single = text.style != '"'
    if "'" in value and not any(mark in value for mark in '"\\'):
        single = False
    elif "'" not in value and any(mark in value for mark in '"\\'):
        single = True
    if single and "\n" not in value and found.allow_single_quoted:
        return "'" + value.replace("'", "''") + "'"
    made = json.dumps(value, ensure_ascii=False)
    return re.sub("[\x7f-\xa0\u2028\u2029\ufeff]", lambda odd: f"\\u{ord(odd[0]):04x}", made)
