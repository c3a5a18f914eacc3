"""By which words is a thing told to be switched, started or stopped?

A plan words what is to be done, a report often how the thing then is: 'power on the heater' is told as 'heater is on'. Conventions: texts as written; states
are single lower-case words. It does not weigh them: `lexicon` makes wordings of them.
"""

from __future__ import annotations

import re

# 'Power on the heater', 'turn the heater on', 'heater power on': what is done is told as 'heater is on' or 'heater is up'.
_SWITCHED = re.compile(
    r"(?:power|switch|turn|bring)(?:ing)? (?:(?P<how>on|up|off|down) (?:the )?(?P<what>.+)|(?:the )?(?P<what_2>.+) (?P<how_2>on|up|off|down))"
    r"|(?P<what_3>.+) power(?:ed)? (?P<how_3>on|up|off|down)|(?P<what_4>.+) on", re.IGNORECASE)
# 'Start the purge', 'stop topping': done, the purge is running, flowing or under way, topping is off.
_STARTED = re.compile(r"(?:(?P<start>start|begin|commence|initiate)|stop|end|terminate|cease) (?:the )?(?P<what>.+)", re.IGNORECASE)
_STATE_WORDS = {"on": ("on", "up"), "up": ("on", "up"), "off": ("off", "down"), "down": ("off", "down")}


def switched(text: str) -> tuple[str, tuple[str, ...]]:
    """What is switched, and the words for the state it is then in; nothing for a wording that switches nothing."""
    found = _SWITCHED.fullmatch(" ".join(text.split()))
    if found is None:
        return "", ()
    things = found["what"] or found["what_2"] or found["what_3"] or found["what_4"]
    return things, _STATE_WORDS[(found["how"] or found["how_2"] or found["how_3"] or "on").lower()]


def started(text: str) -> tuple[str, tuple[str, ...]]:
    """What is started or stopped, and the words for the state it is then in; nothing for a wording that does neither. 'On' is not among them: it is said of
    anything ('pump two on the pad is leaking')."""
    found = _STARTED.fullmatch(" ".join(text.split()))
    if found is None:
        return "", ()
    return found["what"], ("running", "flowing", "underway") if found["start"] else ("off",)
