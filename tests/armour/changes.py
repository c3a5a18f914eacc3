"""Changes to a count that must not change its review, or must change it in a way that is known."""

from __future__ import annotations

import random
from dataclasses import replace

from armour.scene import Entry, Log, Scene

CHATTER = ("the coffee is cold again", "who has the key to the store", "nice sunrise over the marsh", "phone for you at the gate",
           "radio check", "loud and clear", "lunch is at the mess", "the fog is thinner than yesterday")


def moved(scene: Scene, us: int) -> Scene:
    """The whole count at another time."""
    return replace(scene, t0_us=scene.t0_us + us, logs=tuple(late(log, us) for log in scene.logs))


def late(log: Log, us: int) -> Log:
    """A log whose clock is fast by that much; of a recording only its stated start moves."""
    start = None if log.start_us is None else log.start_us + us
    entries = log.entries if log.elapsed else tuple(replace(e, us=e.us + us) for e in log.entries)
    return replace(log, start_us=start, entries=entries)


def cut(scene: Scene, name: str, share: float = 0.5) -> Scene:
    """One log in two: as when a recorder is started anew or a log is rotated."""
    log = scene.log(name)
    at = int(len(log.entries) * share)
    parts = (replace(log, name=f"{name}-a", entries=log.entries[:at]), replace(log, name=f"{name}-b", entries=log.entries[at:], reference=False))
    return replace(scene, logs=tuple(part for old in scene.logs for part in (parts if old is log else (old,))))


def with_chatter(scene: Scene, name: str, seed: int, every: int = 3) -> Scene:
    """A log with talk about nothing strewn in, in the voices of those who speak in it."""
    log, rng = scene.log(name), random.Random(seed)
    voices = sorted({e.who for e in log.entries if e.who})
    entries: list[Entry] = []
    for entry in log.entries:
        entries.append(entry)
        if rng.randrange(every) == 0:
            entries.append(Entry(entry.us, rng.choice(voices) if voices else None, rng.choice(CHATTER)))
    return scene.with_log(replace(log, entries=tuple(entries)))
