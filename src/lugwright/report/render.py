"""Drawing a graph: `dot` where there is one, else a renderer installed with pip, else how to get one."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

FORMATS = ("svg", "png", "pdf", "dot")

ADVICE = (
    "no program that can draw it was found. Either: pip install 'lugwright[draw]' (SVG and PNG, no system package "
    "needed), or install Graphviz so that `dot` is on the PATH (also PDF)"
)
NO_PDF = (
    "no program that can make a PDF of it was found. Either install Graphviz so that `dot` is on the PATH, or: "
    "pip install 'lugwright[draw]' and install Chromium so that `chromium` is on the PATH. A name that ends in .svg "
    "asks for a picture without either"
)


class CannotDraw(Exception):
    """There is no renderer for this format. The message says how to get one."""


def renderer(kind: str) -> Callable[[str], bytes] | None:
    """A function from DOT text to picture bytes for svg, png or pdf; None where nothing on this machine can do it.

    A PDF is made by `dot`; where there is none but the picture can be drawn, Chromium prints it.
    """
    dot = shutil.which("dot")
    if dot:
        return lambda text: _run([dot, f"-T{kind}"], text)
    own = shutil.which(
        "graphviz-pure", path=os.pathsep.join([str(Path(sys.executable).parent), os.environ.get("PATH", "")])
    )
    if own and kind in ("svg", "png"):
        return lambda text: _run([own, f"-T{kind}"], text)
    if own and kind == "pdf":
        from lugwright.report.browser import browser, svg_to_pdf

        if browser():
            return lambda text: svg_to_pdf(_run([own, "-Tsvg"], text).decode())
    return None


def _run(command: list[str], text: str) -> bytes:
    done = subprocess.run(command, input=text.encode(), capture_output=True, check=False, timeout=120)
    if done.returncode or not done.stdout:
        reason = done.stderr.decode(errors="replace").strip().splitlines()
        raise CannotDraw(f"the drawing program failed: {reason[0] if reason else 'no reason given'}")
    return done.stdout


def kind_of(target: Path) -> str:
    """The kind of picture that the ending of a name asks for. Raises CannotDraw for an unknown ending.

    >>> kind_of(Path("trace.SVG"))
    'svg'
    """
    kind = target.suffix.lower().lstrip(".")
    if kind not in FORMATS:
        raise CannotDraw(f"'{target.name}' does not end in one of: {', '.join('.' + name for name in FORMATS)}")
    return kind


def foresee(target: Path) -> None:
    """Find out what will stand in the way of a picture before any work is done for it.

    Raises  CannotDraw for an unknown ending or a PDF that nothing here can make, OSError when its folder is missing or
            cannot be written to.
    """
    if kind_of(target) == "pdf" and renderer("pdf") is None:
        raise CannotDraw(NO_PDF)
    for wrong, code in (
        (not target.parent.is_dir(), errno.ENOENT),
        (target.is_dir(), errno.EISDIR),
        (not os.access(target.parent, os.W_OK), errno.EACCES),
    ):
        if wrong:
            raise OSError(code, os.strerror(code))


def draw(source: str, target: Path) -> str:
    """Write DOT text as a picture; the ending of the name chooses svg, png, pdf or dot.

    Returns a note for the person, empty when all went well. Where nothing can draw, the DOT text is written beside the
    wanted file with the ending `.dot`, and the note says how to get a renderer; a file that is there already is not
    touched.
    Raises  CannotDraw for an unknown ending, for a PDF that nothing here can make and where that text would take the
            place of another file; OSError when the file cannot be written.
    """
    kind = kind_of(target)
    if kind == "dot":
        write_whole(target, source.encode())
        return ""
    run = renderer(kind)
    if run is None:
        if kind == "pdf":
            raise CannotDraw(NO_PDF)
        fallback = target.with_suffix(".dot")
        if fallback.exists():
            raise CannotDraw(f"{ADVICE}. {fallback.name} is there already and was left as it is")
        write_whole(fallback, source.encode())
        return f"{target.name} was not drawn: {ADVICE}. The graph was written as text to {fallback}"
    write_whole(target, run(source))
    return ""


def write_whole(target: Path, data: bytes) -> None:
    """Write a file in one go: a temporary file beside it, then a rename, so nothing half-written stays behind."""
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(name, 0o666 & ~mask)
        os.replace(name, target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
