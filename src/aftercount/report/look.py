"""What do the charts and the page look like, and why?

One sign system for charts, page and slides; nothing in it comes from another program.

Signs. Shape follows meaning, so that colour is never the only sign and a black-and-white print loses nothing:
    on time      a filled dot: nothing to see
    late         a triangle pointing up: the mark lies above the tolerance, and points there
    early        a triangle pointing down: below the tolerance
    missed       a saltire (x) on a rail of its own under the chart: it has no deviation to be drawn at
    not reached  a short dash on the same rail: not a fault, but not silence either
    skipped      a small hollow square on the same rail
    untimed      a small diamond on the same rail: done, but there is nothing to measure it against
and five additions that combine with any of them:
    displaced    a square frame round the sign: out of its place in the order
    unanswered   a hollow sign: the call went out, nothing came back to fill it
    look         a dotted ring: a person should settle this one
    not clean    a bar over the sign: a poll in which a station was not heard or not go
    called only  a dotted stroke under the sign, in the tables: no report of completion was heard
A count mark is a small dot on the profile, one that was not believed a small upright cross: never the saltire of a missed step.

Colour. The ground is the colour of paper in the light and of deep water in the dark; the five sign colours are a slate
blue, a burnt orange, a violet, a crimson and a grey. They differ in lightness as well as hue, stay apart under the
three kinds of colour blindness (a test simulates them), and have at least 3:1 contrast with the ground, text 4.5:1.
Holds are sand: built-in ones plain, unplanned ones hatched, because a hold is ground the count stands on, not a fault.
Red and green never stand against each other anywhere. The schedule is a broad violet band under the thin line of the count.
"""

from __future__ import annotations

from dataclasses import dataclass

SIGN_WORDS = {
    "on_time": "on time", "late": "late", "early": "early", "missed": "missed", "not_reached": "not reached",
    "skipped": "optional, not seen", "untimed": "done, not measured",
}


@dataclass(frozen=True)
class Palette:
    """Colours as #rrggbb. ground: page; panel: chart area; ink: text; soft: secondary text; line: rules and axes."""

    ground: str
    panel: str
    ink: str
    soft: str
    line: str
    band: str
    hold: str
    hold_edge: str
    count: str
    on_time: str
    late: str
    early: str
    missed: str
    not_reached: str
    skipped: str
    untimed: str
    link: str
    focus: str

    def sign(self, name: str) -> str:
        colour: str = getattr(self, name)
        return colour


LIGHT = Palette(
    ground="#faf8f3", panel="#ffffff", ink="#1b2730", soft="#55626c", line="#c9c5b8", band="#e3ebee",
    hold="#f0e4c4", hold_edge="#8a6d1f", count="#1b2730", on_time="#2f6690", late="#c75708", early="#8a2fc8",
    missed="#6f0a30", not_reached="#6d767d", skipped="#6d767d", untimed="#2f6690", link="#1f5a8a", focus="#d08700",
)
DARK = Palette(
    ground="#10202b", panel="#162a37", ink="#ecebe4", soft="#a9b6be", line="#3c5161", band="#21394a",
    hold="#4a4124", hold_edge="#d8b75a", count="#ecebe4", on_time="#b4d2fa", late="#d99a55", early="#a97ceb",
    missed="#fb6099", not_reached="#93a1aa", skipped="#93a1aa", untimed="#b4d2fa", link="#9cc9f0", focus="#ffc24d",
)

# Matplotlib markers for the signs; the page draws the same outlines as SVG paths in a box of -5..5.
MARKERS = {"on_time": "o", "late": "^", "early": "v", "missed": "x", "not_reached": "_", "skipped": "s", "untimed": "D"}
PATHS = {
    "on_time": "M-4,0a4,4 0 1,0 8,0a4,4 0 1,0 -8,0z",
    "late": "M0,-5.2L5,4H-5z",
    "early": "M0,5.2L5,-4H-5z",
    "missed": "M-4,-4L4,4M4,-4L-4,4",
    "not_reached": "M-5,0H5",
    "skipped": "M-3,-3H3V3H-3z",
    "untimed": "M0,-4L4,0L0,4L-4,0z",
}
STROKED = frozenset({"missed", "not_reached", "skipped"})  # drawn as lines, never filled

SLIDE_INCHES = (13.333, 7.5)  # a 16:9 slide
SLIDE_DPI = 120  # 1600 x 900 pixels: sharp on a projector, small as a file


def css_variables(palette: Palette) -> str:
    return "".join(f"--{name.replace('_', '-')}:{value};" for name, value in sorted(vars(palette).items()))
