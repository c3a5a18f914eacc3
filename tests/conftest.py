"""What all tests share: property tests judge answers, never how long one took on a busy machine."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


def pytest_make_parametrize_id(val: object, argname: str) -> str | None:
    """Bytes are named by their argument alone: packed data may hold the time of packing, and every worker must collect the same names."""
    return argname if isinstance(val, bytes) else None
