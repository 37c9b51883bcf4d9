"""A diagnosis shows itself as its page in a notebook, once the way from case to answer is loaded."""

from __future__ import annotations

import html
import re
import subprocess
import sys

from report_answers import small

from lugwright.diagnosis import PAGE_VIEW


def test_a_notebook_is_given_the_page_in_a_frame() -> None:
    shown = small()._repr_html_()
    assert shown is not None
    frame = re.fullmatch(r'<iframe title="[^"]*" srcdoc="([^"]*)" sandbox="" style="[^"]*"></iframe>', shown, re.S)
    assert frame
    page = html.unescape(frame[1])
    assert page.startswith("<!DOCTYPE html>")
    assert "small-case" in page
    assert len(PAGE_VIEW) == 1


def test_without_a_page_it_falls_back_to_text() -> None:
    code = "import lugwright.diagnosis as d; print(d.PAGE_VIEW, d.Diagnosis._repr_html_(None))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["[]", "None"]
