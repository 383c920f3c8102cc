"""No test here is timed: a busy machine is no fault of the geometry."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
