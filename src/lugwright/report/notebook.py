"""A diagnosis shows itself as its page in a notebook.

A shape may not import its views, so it asks a list which view there is; importing this module puts the page there.
"""

from __future__ import annotations

from lugwright.diagnosis import PAGE_VIEW, Diagnosis


def show(answer: Diagnosis) -> str:
    """The page in a frame of its own. The trace is drawn where this machine can draw."""
    from lugwright.report.page.html import notebook_html
    from lugwright.report.page.write import trace_svg

    return notebook_html(answer, trace_svg(answer))


if show not in PAGE_VIEW:
    PAGE_VIEW.append(show)
