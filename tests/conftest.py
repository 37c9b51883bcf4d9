"""What holds for every test: no law is called broken because a busy machine was slow, and every run tries the same
examples, so that a run tells of the change and not of luck. `--hypothesis-profile=search` tries new ones."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("lugwright", deadline=None, derandomize=True)
settings.register_profile("search", deadline=None, derandomize=False)
settings.load_profile("lugwright")
