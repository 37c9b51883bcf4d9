"""The page in a real browser: nothing fetched, nothing said on the console, nothing found by the accessibility audit;
it fits a phone, and it prints. Left out where Chromium, node or the two node packages are not installed.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from report_answers import HOSTILE, crowded, example, poisoned, small

from lugwright.places import UNITS
from lugwright.report import browser
from lugwright.report.browser import page_to_pdf, svg_to_png
from lugwright.report.page.html import page_html
from lugwright.report.page.write import trace_svg, write_map, write_page
from lugwright.report.render import CannotDraw
from lugwright.report.wear_map import wear_map_svg

AUDIT = Path(__file__).parent / "browser" / "audit.js"
CHROMIUM = browser.browser()
needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")


def can_audit() -> bool:
    node = shutil.which("node")
    if CHROMIUM is None or node is None:
        return False
    code = "require.resolve('playwright-core'); require.resolve('axe-core')"
    return subprocess.run([node, "-e", code], cwd=AUDIT.parent, capture_output=True, check=False).returncode == 0


def audited(*pages: Path) -> list[dict[str, Any]]:
    done = subprocess.run(
        ["node", str(AUDIT), str(CHROMIUM), *map(str, pages)],
        cwd=AUDIT.parent,
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    told: list[dict[str, Any]] = json.loads(done.stdout)
    return told


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, Any]]:
    folder = tmp_path_factory.mktemp("pages")
    pages = {
        "one-unit": page_html(example("one-unit-off-line"), trace_svg(example("one-unit-off-line"))),
        "signs-only": page_html(example("signs-only"), trace_svg(example("signs-only"))),
        "healthy": page_html(example("healthy")),
        "crowded": page_html(crowded()),
        "hostile": page_html(poisoned(small(), " ".join(HOSTILE))),
    }
    for name, page in pages.items():
        (folder / f"{name}.html").write_text(page, encoding="utf-8")
    return audited(*(folder / f"{name}.html" for name in pages))


@pytest.mark.skipif(not can_audit(), reason="needs Chromium, node, playwright-core and axe-core")
class TestPages:
    def test_nothing_is_said_and_nothing_is_fetched(self, told: list[dict[str, Any]]) -> None:
        assert len(told) == 20
        assert [one for one in told if one["messages"] or one["requests"]] == []

    # source: axe-core, its rules for WCAG 2.0 to 2.2 A and AA and its best practices
    def test_the_accessibility_audit_finds_nothing(self, told: list[dict[str, Any]]) -> None:
        assert [
            (one["page"], one["width"], one["scheme"], one["violations"]) for one in told if one["violations"]
        ] == []

    def test_no_page_is_wider_than_a_phone(self, told: list[dict[str, Any]]) -> None:
        assert [(one["page"], one["wider"]) for one in told if one["wider"] > 0] == []

    def test_the_keyboard_reaches_the_verdict_first(self, told: list[dict[str, Any]]) -> None:
        for one in told:
            assert one["stops"][0] == "Skip to the verdict"
            assert one["stops"][1:3] == ["Verdict", "Wear map"]


@needs_chromium
def test_the_page_prints_to_pdf_on_the_paper_asked_for_and_to_the_same_bytes(tmp_path: Path) -> None:
    pages = {paper: page_to_pdf(page_html(small(), paper=paper)) for paper in ("A4", "Letter")}
    # source: ISO 216 and ANSI/ASME Y14.1 in points of 1/72 inch
    for paper, (width, height) in {"A4": (595, 842), "Letter": (612, 792)}.items():
        boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pages[paper])
        assert boxes
        assert all(abs(float(w) - width) < 1 and abs(float(h) - height) < 1 for w, h in boxes)
    assert page_to_pdf(page_html(small(), paper="A4")) == pages["A4"]
    write_page(small(), tmp_path / "page.pdf", paper="A4")
    assert (tmp_path / "page.pdf").read_bytes().startswith(b"%PDF")
    assert [path.name for path in tmp_path.iterdir()] == ["page.pdf"]


@needs_chromium
def test_a_map_is_strokes_in_a_pdf_and_not_pictures() -> None:
    """Measured: a page with many cells that nobody looked at came to 2.0 MB while its hatching was a pattern fill."""
    unlooked = tuple(f"{part}@{unit}" for part in ("hubs", "tread", "carcass") for unit in UNITS["four-track"])
    pdf = page_to_pdf(page_html(small().model_copy(update={"not_noted": unlooked}), paper="A4"))
    assert b"/Subtype /Image" not in pdf
    assert len(pdf) < 400_000


@needs_chromium
def test_the_map_is_drawn_as_png_twice_its_size(tmp_path: Path) -> None:
    write_map(small(), tmp_path / "map.png")
    data = (tmp_path / "map.png").read_bytes()
    size = re.search(r'width="([\d.]+)" height="([\d.]+)"', wear_map_svg(small()))
    assert size
    # source: PNG specification, image header
    assert data.startswith(b"\x89PNG")
    width, height = (int.from_bytes(data[at : at + 4], "big") for at in (16, 20))
    assert (width, height) == tuple(2 * (int(float(part)) + 1) for part in size.groups())


def test_without_chromium_it_is_said_what_to_install_and_nothing_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(browser.shutil, "which", lambda *_, **__: None)
    for write in (lambda: write_page(small(), tmp_path / "page.pdf"), lambda: write_map(small(), tmp_path / "map.png")):
        with pytest.raises(CannotDraw, match="apt-get install chromium"):
            write()
    assert list(tmp_path.iterdir()) == []


def test_a_browser_that_fails_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = tmp_path / "chromium"
    broken.write_text("#!/bin/sh\necho no display >&2\nexit 3\n", encoding="utf-8")
    broken.chmod(0o755)
    monkeypatch.setattr(browser, "browser", lambda: str(broken))
    with pytest.raises(CannotDraw, match="no display"):
        svg_to_png(wear_map_svg(small()))
    with pytest.raises(CannotDraw, match="no display"):
        write_page(small(), tmp_path / "page.pdf")
    assert [path.name for path in tmp_path.iterdir()] == ["chromium"]


def test_an_ending_that_is_not_known_is_told_in_words(tmp_path: Path) -> None:
    with pytest.raises(CannotDraw, match=r"\.html, \.md, \.pdf"):
        write_page(small(), tmp_path / "page.doc")
    with pytest.raises(CannotDraw, match=r"\.svg, \.png"):
        write_map(small(), tmp_path / "map.gif")
    assert list(tmp_path.iterdir()) == []
