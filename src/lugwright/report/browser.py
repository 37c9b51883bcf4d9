"""Chromium without a window, for what only a browser can do: a page as PDF, a drawing as PNG.

The browser gets one local file and writes one local file. It is told not to fetch anything, and it keeps no profile.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from lugwright.report.render import CannotDraw

NAMES = ("chromium", "chromium-browser")
ADVICE = (
    "this needs Chromium, which was not found. Install it (on Debian: apt-get install chromium) so that `chromium` is "
    "on the PATH"
)
#: Pictures are drawn so many times larger than their own measure, so that they print sharp.
SCALE = 2
TIMEOUT = 120
#: What a page may do, as the page itself says it: be read, with its own style. No script, nothing from elsewhere.
POLICY = (
    '<meta http-equiv="Content-Security-Policy" content="default-src &#x27;none&#x27;; '
    'style-src &#x27;unsafe-inline&#x27;; base-uri &#x27;none&#x27;; form-action &#x27;none&#x27;">'
)


def browser() -> str | None:
    """The path of Chromium; None where there is none."""
    return next((found for name in NAMES if (found := shutil.which(name))), None)


def page_to_pdf(page: str) -> bytes:
    """A page as PDF; the same page gives the same bytes. Raises CannotDraw without a browser, or when it fails."""
    return _undated(_run(page, ".html", ".pdf", ["--no-pdf-header-footer", "--print-to-pdf={target}"]))


def svg_to_png(svg: str) -> bytes:
    """A drawing as PNG, twice its own measure. Raises CannotDraw without a browser, or when it fails."""
    size = re.search(r'<svg\b[^>]*?\bwidth="([\d.]+)"[^>]*?\bheight="([\d.]+)"', svg)
    if size is None:
        raise CannotDraw("the drawing does not say how large it is")
    width, height = (int(float(part)) + 1 for part in size.groups())
    page = (
        f"<!DOCTYPE html><meta charset=utf-8>{POLICY}<style>body {{ margin: 0 }} svg {{ display: block }}</style>{svg}"
    )
    words = [f"--window-size={width},{height}", f"--force-device-scale-factor={SCALE}", "--hide-scrollbars"]
    return _run(page, ".html", ".png", [*words, "--screenshot={target}"])


def svg_to_pdf(svg: str) -> bytes:
    """A drawing as a PDF of one page of its own measure; the same drawing gives the same bytes. Raises CannotDraw."""
    size = re.search(r'<svg\b[^>]*?\bwidth="([\d.]+)(pt|px|)"[^>]*?\bheight="([\d.]+)', svg)
    if size is None:
        raise CannotDraw("the drawing does not say how large it is")
    unit = size[2] or "px"
    style = (
        f"@page {{ size: {size[1]}{unit} {float(size[3]) + 1:g}{unit}; margin: 0 }} "
        "body { margin: 0 } svg { display: block }"
    )
    page = f"<!DOCTYPE html><meta charset=utf-8>{POLICY}<style>{style}</style>{svg[svg.index('<svg') :]}"
    return page_to_pdf(page)


def _run(text: str, source_ending: str, target_ending: str, words: list[str]) -> bytes:
    program = browser()
    if program is None:
        raise CannotDraw(ADVICE)
    with tempfile.TemporaryDirectory(prefix="lugwright-") as folder:
        source, target = Path(folder) / f"page{source_ending}", Path(folder) / f"made{target_ending}"
        source.write_text(text, encoding="utf-8")
        command = [
            program, "--headless", "--disable-gpu", "--no-first-run", "--disable-extensions", "--disable-sync",
            "--disable-background-networking", "--host-resolver-rules=MAP * ~NOTFOUND",
            f"--user-data-dir={folder}/profile", *_as_root(),
            *(word.replace("{target}", str(target)) for word in words), source.as_uri(),
        ]  # fmt: skip
        try:
            done = subprocess.run(command, capture_output=True, check=False, timeout=TIMEOUT)
        except subprocess.TimeoutExpired:
            raise CannotDraw(f"the browser did not finish within {TIMEOUT} s") from None
        if done.returncode or not target.exists():
            lines = [line for line in done.stderr.decode(errors="replace").splitlines() if line.strip()]
            raise CannotDraw(f"the browser failed: {lines[-1][:200] if lines else 'no reason given'}")
        return target.read_bytes()


def _as_root() -> list[str]:
    """Chromium refuses to run as root in its sandbox; the page holds no script and loads nothing."""
    return ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []


def _undated(pdf: bytes) -> bytes:
    """The same PDF with its dates set to a fixed one of equal length, so that the same page gives the same bytes."""
    return re.sub(rb"(/(?:CreationDate|ModDate) \(D:)\d{14}", rb"\g<1>20000101000000", pdf)
