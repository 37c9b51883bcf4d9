"""What holds for every test: no law is called broken because a busy machine was slow, and every run tries the same
examples, so that a run tells of the change and not of luck. `--hypothesis-profile=search` tries new ones."""

from __future__ import annotations

import pytest
from hypothesis import settings

settings.register_profile("lugwright", deadline=None, derandomize=True)
settings.register_profile("search", deadline=None, derandomize=False)
settings.load_profile("lugwright")

#: Begun first, so that no process waits for them alone at the end.
LONGEST = ("test_the_tutorial_can_be_followed_and_prints_what_it_shows",)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest tests first; all others stay in their order."""
    items.sort(key=lambda one: one.name not in LONGEST)
