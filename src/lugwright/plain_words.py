"""What a YAML parser complains about, in the words of the person who wrote the file."""

from __future__ import annotations

WHY: dict[str, str] = {
    "alias": "a reader must see the value where it is used, not somewhere else in the file",
    "anchor": "an anchor lets one value stand in several places, so a change here would change others unseen",
    "directive": "the file is read as plain YAML, without switches",
    "empty-file": "a file without entries says nothing and may be an unfinished one",
    "empty-value": "nothing could mean none, not known, or forgotten",
    "key-not-text": "only a word can be looked up as a key",
    "merge-key": "merged keys come from another place, so a reader cannot see what holds here",
    "missing-file": "nothing can be read from it",
    "not-a-file": "one file of YAML text is read at a time",
    "not-a-mapping": "without keys nobody can tell what the values are",
    "not-text": "such characters cannot be seen, so they are never meant",
    "not-utf-8": "letters such as ° or é would come out wrong",
    "repeated-key": "only one of the two values could count, and nobody would see which",
    "several-documents": "what stands after the first document would never be read",
    "tab": "a tab has no fixed width, so the indentation could be read in two ways",
    "tag": "a tag changes what a value means; here every value is plain text",
    "too-deep": "no entry is built that deep",
    "too-large": "no rule or case is that long",
    "unreadable-file": "nothing can be read from it",
    "yaml-syntax": "the rest of the file cannot be read until this line is mended",
}

_WORDS: tuple[tuple[str, str, str], ...] = (
    ("mapping values are not allowed", "a second colon stands in this value, or the line is indented wrongly",
     "put a text that holds ': ' in quotes, or line the key up with its neighbours"),
    ("expected ':'", "a key without a colon", "write `key: value`; indent a text that runs on under its key"),
    ("expected '-' indicator", "this line belongs to no list item", "line it up with the item it belongs to"),
    ("expected key", "this line is not indented like its neighbours", "line the key up with the keys above it"),
    ("block end", "this line is not indented like its neighbours", "line the key up with the keys above it"),
    ("unexpected end of stream", "a quotation mark is opened and never closed", "close it, or remove the opening one"),
    ("expected ',' or '}'", "a { is opened and not closed, or a comma is missing", "write {key: value, key: value}"),
    ("expected ',' or ']'", "a [ is opened and not closed, or a comma is missing", "write [one, two]"),
    ("unknown escape", "a backslash inside double quotes", "use single quotes, or write the backslash twice"),
    ("alphabetic or numeric", "a text cannot begin with & or *", "put the text in quotes"),
    ("comment or line break", "text stands behind > or |", "begin it on the next line, indented"),
    ("chomping or indentation", "text stands behind > or |", "begin it on the next line, indented"),
    ("sequence entries are not allowed", "a list cannot begin here", "put the '-' on a new line under the key"),
    ("document start", "text stands where a document would begin", "close the brackets above, or take out the text"),
    ("node content", "a value was expected here", "write the value; a text that begins with a sign needs quotes"),
)  # fmt: skip


def with_article(word: str) -> str:
    """A word with `a` or `an` before it.

    >>> with_article("axle"), with_article("unit"), with_article("side")
    ('an axle', 'a unit', 'a side')
    """
    return f"{'an' if word[:1] in 'aeiou' and not word.startswith('uni') else 'a'} {word}"


def in_plain_words(problem: str, line: str, column: int) -> tuple[str, str, str]:
    """Code, what is wrong and the likely repair, for a parser's complaint at a column of a line.

    >>> in_plain_words("found character that cannot start any token", "\\ta: b", 1)[0]
    'tab'
    >>> in_plain_words("did not find expected key", "  a: b", 3)[1]
    'this line is not indented like its neighbours'
    """
    indent = line[: len(line) - len(line.lstrip())]
    at = line[column - 1 : column]
    if "\t" in indent or at == "\t" or "tab character" in problem:
        return "tab", "a tab stands where spaces belong", "use spaces, two for each level"
    if "nesting depth" in problem:
        return "too-deep", "far too many levels inside one another", "is a bracket left open?"
    if ("expected key" in problem or "block end" in problem) and line[max(0, column - 2) : column - 1] in ("'", '"'):
        hint = "inside single quotes write the quotation mark twice: 'it''s'"
        return "yaml-syntax", "the text goes on behind its closing quotation mark", hint
    if "cannot start any token" in problem:
        return "yaml-syntax", f"a text cannot begin with {at}", "put the text in quotes"
    for part, what, hint in _WORDS:
        if part in problem:
            return "yaml-syntax", what, hint
    return "yaml-syntax", "this cannot be read as YAML", "compare the line with one that works"
