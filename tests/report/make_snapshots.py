"""Writes the snapshots anew, after a view was changed on purpose. Then read them.

Run from anywhere:  python tests/report/make_snapshots.py
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from report_answers import small

from lugwright.diagnosis import Diagnosis
from lugwright.report.compared import compared
from lugwright.report.compared_text import compared_lines
from lugwright.report.graph_collapsed import collapsed_graph
from lugwright.report.lines import laid_out
from lugwright.report.page.html import page_html
from lugwright.report.page.markdown import page_markdown
from lugwright.report.wear_map import wear_map_svg

FOLDER = Path(__file__).parent / "snapshots"


def changed(answer: Diagnosis) -> Diagnosis:
    """The small answer as it might stand after an adjustment."""
    return answer.model_copy(
        update={
            "case": "small-case-after",
            "no_fault": 0.8,
            "no_fault_word": "very likely",
            "ranked": tuple(one.model_copy(update={"probability": 0.1, "word": "unlikely"}) for one in answer.ranked),
            "findings": tuple(
                one.model_copy(update={"state": "absent", "extent": None}) if one.component == "lugs" else one
                for one in answer.findings
            ),
            "readings": answer.readings[:1],
        }
    )


def snapshots() -> dict[str, bytes]:
    """Name -> bytes of every snapshot."""
    answer = small()
    both = compared(answer, changed(answer))
    texts = {
        "page.html": page_html(answer),
        "page.md": page_markdown(answer),
        "map.svg": wear_map_svg(answer),
        "stages.dot": collapsed_graph(answer).source,
        "compared-wide.txt": "".join(f"{text.rstrip()}\n" for text, _ in laid_out(compared_lines(both, 100), 100)),
        "compared-narrow.txt": "".join(f"{text.rstrip()}\n" for text, _ in laid_out(compared_lines(both, 60), 60)),
    }
    return {name: text.encode() for name, text in texts.items()}


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, data in snapshots().items():
        (FOLDER / name).write_bytes(data)
