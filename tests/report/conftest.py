from __future__ import annotations

from report.browser import axe, chromium

__all__ = ["axe", "chromium"]
