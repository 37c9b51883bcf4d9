"""Reading and writing the case file of a walk-round: whole or not at all."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.plain_yaml import read_plain, read_plain_text
from lugwright.walkround.draft import Draft, as_text, from_document


def load(path: Path) -> Draft:
    """What stands in a case file, or an empty draft where there is none. Raises UnusableInput for broken YAML."""
    if not path.exists():
        return Draft()
    return from_document(read_plain(path))


def save(draft: Draft, path: Path) -> None:
    """Write a draft beside the file and put it in its place, so that a kill leaves the old file or the new one.

    Raises UnusableInput where the folder cannot be written to.
    """
    text = as_text(draft)
    read_plain_text(text, path.name)
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
            mode = path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask()
            os.chmod(name, mode)
            os.replace(name, path)
        except BaseException:
            with contextlib.suppress(OSError):
                os.unlink(name)
            raise
    except OSError as problem:
        what = f"cannot be written: {problem.strerror or problem}"
        raise UnusableInput(
            [Issue(Spot(str(path)), "cannot-write", what, "an answer that is not saved would be lost")]
        ) from None


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
