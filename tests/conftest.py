"""For all tests."""

from __future__ import annotations

from hypothesis import settings

# A machine that is busy with something else is slow, and nothing is wrong.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
