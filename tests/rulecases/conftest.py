from __future__ import annotations

import pytest


@pytest.fixture(autouse=True)
def _no_cache(monkeypatch):
    """Tests read files, not what an earlier run kept."""
    monkeypatch.setenv("LUGWRIGHT_CACHE", "off")
