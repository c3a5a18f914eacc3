"""What all tests share: property tests judge answers, never how long one took on a busy machine."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
