"""Readers: the log files of a count folder -> records, rejects and sources. One module a format."""

from aftercount.logs.reading import read

__all__ = ["read"]
