"""The page a debrief is run from: one file, no network, drawn from the tables."""

from __future__ import annotations

from aftercount.report.page.render import render_page

__all__ = ["render_page"]
