"""How does a text from a log go into a format that would act on it?

A spreadsheet runs a cell that begins like a formula; Markdown and terminals act on marks and control characters. Log
text is data: it is shown, never run. Numbers of ours are written as numbers and pass unchanged.
"""

from __future__ import annotations

import re

# What spreadsheets take for the start of a formula, also in their full-width forms, after any blanks or controls.
_RUNS = re.compile(r"[\s\x00-\x1f\x7f\ufeff\u200b-\u200f\u2060]*[=+\-@\uff1d\uff0b\uff0d\uff20]|[\t\r\n]")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_TURNS = re.compile(r"[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")
_COUNT_TIME = re.compile(r"-?\d[\d:.]*")
_MARKED = re.compile(r"([\\`*_{}\[\]<>()#+!|~-])")


def visible(text: str) -> str:
    """Control characters and characters that turn the reading direction, made visible as <U+202E>."""
    shown = _CONTROL.sub(lambda m: f"<U+{ord(m[0]):04X}>", text.replace("\r\n", "\n").replace("\r", "\n"))
    return _TURNS.sub(lambda m: f"<U+{ord(m[0]):04X}>", shown)


def cell(text: str) -> str:
    """The text as a cell no spreadsheet runs: an apostrophe in front of what would. Plain negative numbers pass."""
    shown = visible(text)
    return "'" + shown if _RUNS.match(shown) and not _COUNT_TIME.fullmatch(shown) else shown


def marked_down(text: str) -> str:
    """The text as Markdown that shows it on one line, every mark escaped."""
    flat = " ".join(visible(text).split())
    return _MARKED.sub(r"\\\1", flat).replace("&", "&amp;")
