"""What text is in this file?

Conventions: lines end at LF, CRLF or a lone CR, and at nothing else. gzip and zstd are opened, also one in the other,
as long as the whole stays within bounds. UTF-8 is expected; a byte-order mark, UTF-16, and older one-byte encodings
are recognised. A fault is a text in `Content.faults`, never an exception: what could be read is kept.

It does not decide the format (`sniff`).
"""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

# The most that one log may unfold to (bytes): ten million typed lines.
LARGEST_FILE = 1 << 30
# Text shrinks by 3 to 30 under gzip or zstd. Past this size, more than this ratio is a bomb.
RATIO_ALLOWED, RATIO_FROM = 300, 64 << 20
# gzip in zstd happens when an archive is packed twice; deeper is a trick.
DEEPEST_NESTING = 3
_CHUNK = 1 << 20
_PROBE = 1 << 16
# Share of control bytes above which a file is not text (tabs, line ends, form feeds and escapes are not counted).
_CONTROL_SHARE = 0.05
_CONTROLS = bytes(set(range(32)) - {9, 10, 11, 12, 13, 27}) + b"\x7f"
_BOMS = ((b"\xff\xfe\x00\x00", "utf-32-le"), (b"\x00\x00\xfe\xff", "utf-32-be"), (b"\xef\xbb\xbf", "utf-8"),
         (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
# Share of non-ASCII among letters up to which a text that is not UTF-8 is taken as Western.
_WESTERN_SHARE = 0.3
_GZIP, _ZSTD = b"\x1f\x8b", b"\x28\xb5\x2f\xfd"
_LONE_SURROGATE = re.compile("[\ud800-\udfff]")


@dataclass
class Content:
    """The bytes of a log, unpacked, and what was wrong with them. `unusable` means: there is nothing to read."""

    data: bytes = b""
    faults: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    unusable: bool = False

    @classmethod
    def bad(cls, fault: str) -> Content:
        return cls(faults=[fault], unusable=True)


def load(file: Path) -> Content:
    """Read and unpack a file."""
    try:
        if file.is_dir():
            return Content.bad("this is a folder; a log file was expected")
        if not file.is_file():
            return Content.bad("not found" if not file.exists() else "not a plain file")
        if file.stat().st_size > LARGEST_FILE:
            return Content.bad(f"larger than {LARGEST_FILE >> 20} MiB; split it")
        data = file.read_bytes()
    except OSError as error:
        return Content.bad(f"cannot be read: {error.strerror or 'input/output error'}")
    return unpack(data)


def unpack(data: bytes) -> Content:
    """Undo gzip and zstd, as often as they were applied."""
    content = Content(data)
    for _ in range(DEEPEST_NESTING):
        if content.data.startswith(_GZIP):
            content = _unpack_once(content, "gzip")
        elif content.data.startswith(_ZSTD):
            content = _unpack_once(content, "zstd")
        else:
            return content
        if content.unusable:
            return content
    packed = content.data.startswith((_GZIP, _ZSTD))
    return Content.bad(f"packed more than {DEEPEST_NESTING} times over") if packed else content


def _unpack_once(content: Content, codec: str) -> Content:
    packed = len(content.data)
    parts: list[bytes] = []
    size = 0
    try:
        for part in _gunzip(content.data) if codec == "gzip" else _unzstd(content.data):
            parts.append(part)
            size += len(part)
            if size > LARGEST_FILE or (size > RATIO_FROM and size > RATIO_ALLOWED * packed):
                return Content.bad(f"unpacks to more than is allowed ({size >> 20} MiB from {packed} bytes)")
    except (OSError, EOFError, zlib.error) as error:
        content.faults.append(f"{codec} data is damaged or cut short: {str(error) or 'unexpected end'}")
    return Content(b"".join(parts), content.faults, [*content.notes, codec], unusable=not parts and bool(content.faults))


def _gunzip(data: bytes) -> Any:
    """Every member of a gzip file, a chunk at a time, so that what precedes a fault is kept."""
    view = memoryview(data)
    while len(view):
        if bytes(view[:2]) != _GZIP:
            if bytes(view).strip(b"\0"):
                raise EOFError("bytes after the end")
            return
        engine, rest = zlib.decompressobj(31), bytes(view)
        while not engine.eof:
            part = engine.decompress(rest, _CHUNK)
            if part:
                yield part
            rest = engine.unconsumed_tail
            if not part and not rest and not engine.eof:
                raise EOFError("unexpected end")
        view = memoryview(engine.unused_data)


def _unzstd(data: bytes) -> Any:
    """A zstd file a chunk at a time; before a fault in ever smaller pieces, so that what precedes it is kept."""
    import pyarrow as pa

    done = 0
    for piece in (_CHUNK, 4096, 1):
        try:
            with pa.CompressedInputStream(pa.BufferReader(data), "zstd") as stream:
                _skip(stream, done)
                while part := stream.read(piece):
                    done += len(part)
                    yield part
            return
        except OSError as error:
            fault = error
    raise fault


def _skip(stream: Any, size: int) -> None:
    while size > 0 and (part := stream.read(min(size, _CHUNK))):
        size -= len(part)


def is_binary(data: bytes) -> bool:
    """Is this no text in any encoding that we read?"""
    probe = data[:_PROBE]
    if not probe or any(probe.startswith(bom) for bom, _ in _BOMS) or _wide(probe):
        return False
    controls = len(probe) - len(probe.translate(None, _CONTROLS))
    return controls > _CONTROL_SHARE * len(probe)


def _wide(probe: bytes) -> str | None:
    """UTF-16 without a mark: nearly every other byte is zero."""
    pairs = len(probe) // 2
    if pairs < 4:
        return None
    even, odd = probe[0:2 * pairs:2].count(0), probe[1:2 * pairs:2].count(0)
    if odd > 0.7 * pairs and even < 0.1 * pairs:
        return "utf-16-le"
    return "utf-16-be" if even > 0.7 * pairs and odd < 0.1 * pairs else None


def decode(content: Content) -> str:
    """The text, with a note on the encoding when it is not UTF-8. Nothing is lost: bytes that fit nothing show as U+FFFD."""
    data = content.data
    for bom, encoding in _BOMS:
        if data.startswith(bom):
            if encoding != "utf-8":
                content.notes.append(encoding)
            return clean(data[len(bom):].decode(encoding, errors="replace"))
    if wide := _wide(data[:_PROBE]):
        content.notes.append(wide)
        return clean(data.decode(wide, errors="replace"))
    try:
        return clean(data.decode("utf-8"))
    except UnicodeDecodeError:
        return clean(_decode_other(content))


def _decode_other(content: Content) -> str:
    """Mostly UTF-8 with some lines of another encoding, or another encoding throughout."""
    lines = re.split(rb"(?<=[\r\n])", content.data)
    high = [line for line in lines if not line.isascii()]
    other = [line for line in high if not _is_utf8(line)]
    good = len(high) - len(other)
    encoding = _guess(b"".join(other)[:_PROBE])
    if 2 * good < len(high) or not good:
        content.notes.append(encoding)
        return content.data.decode(encoding, errors="replace")
    content.notes.append(f"utf-8, {len(other)} lines {encoding}")
    return "".join(x.decode("utf-8" if x.isascii() or _is_utf8(x) else encoding, errors="replace") for x in lines)


def _is_utf8(line: bytes) -> bool:
    try:
        line.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _guess(sample: bytes) -> str:
    """The encoding of lines that are not UTF-8: Windows Western unless the letters say otherwise."""
    from charset_normalizer import from_bytes

    high = sum(1 for b in sample if b > 127)
    letters = sum(1 for b in sample if chr(b).isalpha() or b > 127)
    if high <= _WESTERN_SHARE * letters:
        # Few accented letters among many plain ones: too little for a guess by frequency, and what Western text looks like.
        return "cp1252"
    best = from_bytes(sample).best()
    return best.encoding if best is not None else "cp1252"


def clean(text: str) -> str:
    """NUL and lone surrogates, which no later table or file can hold, become U+FFFD; one kind of line end."""
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    if "\0" in text:
        text = text.replace("\0", "\ufffd")
    return _LONE_SURROGATE.sub("\ufffd", text) if not text.isascii() else text
