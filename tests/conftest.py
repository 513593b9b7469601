"""Settings of all property tests: that a machine is busy is no failure."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("without deadline", deadline=None)
settings.load_profile("without deadline")
