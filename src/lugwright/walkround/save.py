"""Reading and writing the case file of a walk-round: whole or not at all, and never over what another person wrote."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from lugwright.issues import Issue, Spot, UnusableInput
from lugwright.plain_yaml import read_plain, read_plain_text
from lugwright.walkround.draft import Draft, as_text, from_document
from lugwright.walkround.question import NotUnderstood


def load(path: Path) -> Draft:
    """What stands in a case file, or an empty draft where there is none. Raises UnusableInput for broken YAML."""
    if not path.exists():
        return Draft()
    return from_document(read_plain(path))


def foresee_saving(path: Path) -> None:
    """Refuse a file that could not be saved before anything is asked. Raises UnusableInput."""
    real = Path(os.path.realpath(path))
    why = "every answer is saved at once, so there must be a place for it"
    if not real.parent.is_dir():
        raise UnusableInput([Issue(Spot(str(path)), "no-folder", "its folder does not exist", why)])
    if real.is_file() and not (real.stat().st_mode & 0o222 and os.access(real, os.W_OK)):
        hint = "allow writing to it, or walk round with a copy of it"
        raise UnusableInput([Issue(Spot(str(path)), "cannot-write", "it is protected against writing", why, hint)])
    if not os.access(real.parent, os.W_OK | os.X_OK):
        raise UnusableInput([Issue(Spot(str(path)), "cannot-write", "its folder cannot be written to", why)])


def kept(path: Path) -> bytes | None:
    """The bytes of a file as they stand now; None where there is none."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as problem:
        raise _cannot_write(path, problem) from None


def still(path: Path, before: bytes | None) -> None:
    """Refuse a file that does not hold any more what it held when it was last read or written. Raises UnusableInput."""
    if kept(path) != before:
        what = "it was changed by somebody else while this walk-round was open"
        why = "saving over it would lose what the other wrote"
        hint = "start the walk-round again: it goes on from what the file says now; only the last answer is missing"
        raise UnusableInput([Issue(Spot(str(path)), "changed-meanwhile", what, why, hint)])


def save(draft: Draft, path: Path) -> None:
    """Write a draft beside the file and put it in its place, so that a kill leaves the old file or the new one.

    A link to a file stays a link. Raises NotUnderstood for an answer that no file of text can hold, and UnusableInput
    where the file cannot be written.
    """
    text = as_text(draft)
    try:
        read_plain_text(text, path.name)
    except UnusableInput as problem:
        first = problem.issues[0]
        raise NotUnderstood(first.what + (f"; {first.hint}" if first.hint else "")) from None
    real = Path(os.path.realpath(path))
    try:
        handle, name = tempfile.mkstemp(prefix=f".{real.name}.", suffix=".part", dir=real.parent)
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
            mode = real.stat().st_mode & 0o777 if real.exists() else 0o666 & ~_umask()
            os.chmod(name, mode)
            os.replace(name, real)
        except BaseException:
            with contextlib.suppress(OSError):
                os.unlink(name)
            raise
    except OSError as problem:
        raise _cannot_write(path, problem) from None


def _cannot_write(path: Path, problem: OSError) -> UnusableInput:
    what = f"cannot be written: {problem.strerror or problem}"
    why = "an answer that is not saved would be lost"
    hint = "the answers before the last one are in the file"
    return UnusableInput([Issue(Spot(str(path)), "cannot-write", what, why, hint)])


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
