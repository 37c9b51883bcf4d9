"""What holds for every test: no law is called broken because a busy machine was slow."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("lugwright", deadline=None)
settings.load_profile("lugwright")
