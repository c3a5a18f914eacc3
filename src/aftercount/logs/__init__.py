"""Readers: the log files of a count folder -> records, rejects and sources. One module a format."""

from aftercount.logs.reading import read
from aftercount.logs.sniff import known_file

__all__ = ["known_file", "read"]
