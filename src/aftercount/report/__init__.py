"""How is a review shown and filed: the folder, its charts, its page, its exports, its words.

Every renderer here draws from the review's tables and summary, never from logs or plan, so that what is read back from
a review folder shows exactly what was written to it. Nothing in this package judges a step.
"""

from __future__ import annotations
