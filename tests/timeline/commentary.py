"""A commentator's four hours: sixty paragraphs, each with several readings, a forecast and a piece of retold history.

Words are put together from small parts by a seed: three speakers with their own turns of phrase. The true staircase is known. Transcripts
carry a paragraph as one cue; the time of its words is shared out by the reader.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

START_S = -4 * 3600.0 + 300.0  # wall time of the first paragraph, before the scheduled T-0
HOLDS = ((-9600.0, 1200.0, 1200.0), (-2400.0, 600.0, 0.0), (-540.0, 1500.0, 900.0))  # count time, length, planned length
PARAGRAPHS = 60
FALSE_READING = 33  # the paragraph in which the clock is misread once
WORD_S = 0.4
ONES = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
TENS = ["zero", "ten", "twenty", "thirty", "forty", "fifty"]


@dataclass(frozen=True)
class Staircase:
    """Where the count stood."""

    holds: tuple[tuple[float, float, float], ...] = HOLDS

    @property
    def first_t(self) -> float:
        return START_S + sum(planned for _, _, planned in self.holds)

    def at(self, u: float) -> tuple[float, bool]:
        """Count time at wall time u, and whether it is holding."""
        t = self.first_t + (u - START_S)
        for at, length, _ in self.holds:
            if t <= at:
                break
            if t < at + length:
                return at, True
            t -= length
        return t, False

    def edges(self) -> list[float]:
        """Wall times at which the clock stopped and started."""
        out, shift = [], START_S - self.first_t
        for at, length, _ in self.holds:
            out += [at + shift, at + shift + length]
            shift += length
        return out


def number(n: int) -> str:
    return ONES[n] if n < 20 else TENS[n // 10] + ("" if n % 10 == 0 else f" {ONES[n % 10]}")


def spoken(t: float, style: int) -> str:
    """A count time in words, to the second."""
    size = round(abs(t))
    hours, minutes, seconds = size // 3600, size // 60 % 60, size % 60
    parts = [(hours, "hour"), (minutes, "minute"), (seconds, "second")]
    said = [f"{number(n)} {unit}{'' if n == 1 else 's'}" for n, unit in parts if n]
    return (", " if style == 1 else " ").join(said) or "zero"


HELLO = (("This is launch commentary.", "Good morning again from Saltmarsh control.", "Launch control at Saltmarsh."),
         ("Commentary here.", "You are with the launch team.", "Still with you."), ("Control.", "Launch team.", "Saltmarsh."))
COUNTING = ("T minus {t} and counting.", "We are now at T minus {t}, and counting.", "The clock shows T minus {t} and counting.",
            "Mark, T minus {t}.")
HELD = ("T minus {t} and holding.", "We are holding at T minus {t}.", "The clock stands at T minus {t} and holding.")
AHEAD = ("At T minus {f} we will bring the tower down.", "We expect to go to internal power at T minus {f}.",
         "The next milestone comes at T minus {f}, when the crew will close the hatch.", "Coming up on T minus {f} we will poll the team.")
BEHIND = ("Earlier this morning, at T minus {p}, the tanks were full.", "It was at T minus {p} that the wind was last measured.",
          "Since T minus {p} the team has been working on the vent.", "Yesterday the rehearsal was stopped at T minus {p} for a leak.")
FILL = ("The propellant team reports a steady flow and all tanks are in good order.", "Weather is good, with a light wind from the west.",
        "Heron stands ready on the pad, and the last people have left the area.", "All stations report that they are working through their lists.",
        "The range is green and the ships are clear.")


@dataclass(frozen=True)
class Paragraph:
    u: float
    text: str

    @property
    def length_s(self) -> float:
        return WORD_S * len(self.text.split())


def paragraphs(seed: int = 1) -> list[Paragraph]:
    """The commentary in order. Readings are true at the word they begin with, to half a second."""
    rng, stairs = Random(seed), Staircase()
    end = -stairs.first_t + START_S + sum(length for _, length, _ in HOLDS)
    out = []
    for k in range(PARAGRAPHS):
        u = START_S + 20.0 + (end - START_S - 60.0) * k / PARAGRAPHS + rng.uniform(0, 20.0)
        out.append(_paragraph(k, u, rng, stairs))
    return out


def _paragraph(k: int, u: float, rng: Random, stairs: Staircase) -> Paragraph:
    style, words = k % 3, 0
    said = [rng.choice(HELLO[style])]
    plan = ["reading", "fill", rng.choice(["ahead", "behind"]), "reading", rng.choice(["behind", "ahead"]), "fill", "reading"]
    for what in plan[style % 2:]:
        words = sum(len(s.split()) for s in said)
        t, held = stairs.at(u + WORD_S * words)
        if what == "reading":
            if k == FALSE_READING and words > 20:
                t -= 1800.0 if t > -7000 else -1200.0
                k = -1  # once
            said.append(rng.choice(HELD if held else COUNTING).format(t=spoken(t, style)))
        elif what == "ahead":
            said.append(rng.choice(AHEAD).format(f=spoken(min(-5.0, t + rng.choice((300, 420, 600, 900))) // 10 * 10, style)))
        elif what == "behind":
            said.append(rng.choice(BEHIND).format(p=spoken(t - rng.choice((600, 1500, 2400, 3000)), style)))
        else:
            said.append(rng.choice(FILL))
    return Paragraph(u, " ".join(said))


def webvtt(said: list[Paragraph]) -> str:
    """One cue a paragraph, from the first wall time."""
    def stamp(s: float) -> str:
        ms = round(s * 1000)
        return f"{ms // 3600000:02d}:{ms // 60000 % 60:02d}:{ms // 1000 % 60:02d}.{ms % 1000:03d}"

    cues = [f"{stamp(p.u - START_S)} --> {stamp(p.u - START_S + p.length_s)}\n{p.text}\n" for p in said]
    return "WEBVTT\n\n" + "\n".join(cues)
