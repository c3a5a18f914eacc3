"""The count clock and the time base: utterances and plan in, clock, holds and one time for every entry out."""

from aftercount.timeline import clock as clock
from aftercount.timeline.rebuild import rebuild as rebuild
from aftercount.timeline.refining import Found as Found
from aftercount.timeline.refining import moved as moved
from aftercount.timeline.refining import refine as refine
from aftercount.timeline.relative import against_clock as against_clock
from aftercount.timeline.result import Timeline as Timeline

__all__ = ["Found", "Timeline", "against_clock", "clock", "moved", "rebuild", "refine"]
