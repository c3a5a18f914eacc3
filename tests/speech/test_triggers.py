"""A sentence passed over for want of a word is one in which no pattern would have found anything."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from aftercount.speech.triggers import TRIGGERS, Trigger


@pytest.mark.parametrize("trigger", TRIGGERS, ids=[f"{i}-{t.what}-{t.grade}" for i, t in enumerate(TRIGGERS)])
def test_what_a_pattern_finds_is_not_passed_over(trigger: Trigger) -> None:
    @settings(max_examples=40, database=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
    @given(st.from_regex(trigger.pattern, alphabet=st.characters(min_codepoint=32, max_codepoint=126)))
    def found(sentence: str) -> None:
        assert [m.span() for m in trigger.find(sentence)] == [m.span() for m in trigger.pattern.finditer(sentence)]

    found()
