"""Was an answer a no: 'negative', 'unable', 'the latch did not open'?

Conventions: the words alone, of any trade. It does not decide whether an answer was due, nor whether the step was begun: a call
that was refused was called.
"""

from __future__ import annotations

import re

_NO = re.compile(
    r"\b(?:negative(?! (?:pressure|gauge|pitch|slope|sign|terminal|bus|charge|g\b))|unable|cannot|can't|couldn't|no joy|(?:did|does|has|have|is|was|will|would) not\b"
    r"|(?:did|does|has|have|is|was|wo|would)n't\b)", re.IGNORECASE)
# 'negative on any leaks, good to go', 'did not see any fault': a no to something wrong is a yes.
_NO_FAULT = re.compile(r"\b(?:leak|fault|alarm|issue|problem|anomal|error|constraint|violation|concern|red\b|exceed)", re.IGNORECASE)


def refuses(text: str) -> bool:
    """Whether the words say that it was not, or cannot be, done."""
    return bool(_NO.search(text)) and not _NO_FAULT.search(text)
