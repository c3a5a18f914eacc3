"""Has this count been reviewed already, just as it is?

The fingerprint covers everything a review depends on: the bytes of count.toml, plan, logs, decisions and notes, the
options, and this package's version and source. It lies in the review folder as `fingerprint.json`, together with a digest of the
review itself, so that a folder which was changed since is not taken for the one that was written.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import fields
from functools import lru_cache
from pathlib import Path
from typing import Any

from aftercount import __version__
from aftercount.campaign.places import place
from aftercount.count import CountFolder
from aftercount.report.folder import WriteOptions
from aftercount.report.notes import FILE_NAME as NOTES

FILE = "fingerprint.json"
# What is digested of a review: the two files that everything else in it follows from.
_RESULT = ("summary.json", "steps.parquet")
_CHUNK = 1 << 20


def inputs_digest(count: CountFolder, options: WriteOptions) -> str:
    """The digest of all that a review of this count would depend on."""
    whole = hashlib.sha256(maker().encode())
    files = [count.folder / "count.toml", count.plan_file, *(log.file for log in count.logs)]
    files += [count.decisions_file] if count.decisions_file else []
    files += [count.folder / NOTES] if (count.folder / NOTES).is_file() else []
    for file in files:
        whole.update(f"\n{file.relative_to(count.folder)} {_file_digest(file)}".encode())
    for item in fields(options):
        whole.update(f"\n{item.name} {_option(getattr(options, item.name))}".encode())
    return whole.hexdigest()


def is_reviewed(out: str, digest: str) -> bool:
    """Whether `out` holds the review of exactly these inputs, unchanged since it was written."""
    there = place(out)
    try:
        known = json.loads(there.read(FILE))
        return bool(known == {"inputs": digest, "result": _result_digest([there.read(name) for name in _RESULT])})
    except (OSError, ValueError):
        return False


def stamp(out: Path, digest: str) -> None:
    """Record that `out` is the review of these inputs."""
    content = json.dumps({"inputs": digest, "result": _result_digest([(out / name).read_bytes() for name in _RESULT])}, indent=1, sort_keys=True) + "\n"
    (out / FILE).write_text(content, encoding="utf-8")


def _result_digest(contents: list[bytes]) -> str:
    return hashlib.sha256("".join(hashlib.sha256(content).hexdigest() for content in contents).encode()).hexdigest()


def _file_digest(file: Path) -> str:
    digest = hashlib.sha256()
    with file.open("rb") as stream:
        while chunk := stream.read(_CHUNK):
            digest.update(chunk)
    return digest.hexdigest()


def _option(value: Any) -> str:
    """An option by its content: a file or folder by what is in it."""
    if isinstance(value, Path):
        files = sorted(p for p in value.rglob("*") if p.is_file()) if value.is_dir() else [value] if value.is_file() else []
        return " ".join(_file_digest(f) for f in files) or f"no file {value}"
    return repr(sorted(value.items()) if isinstance(value, dict) else value)


@lru_cache(maxsize=1)
def maker() -> str:
    """This package's version and its own source: an installation in development changes without a new version."""
    root = Path(__file__).resolve().parent.parent
    source = sorted(p for p in root.rglob("*") if p.is_file() and p.suffix in (".py", ".html", ".css", ".js"))
    return f"{__version__} " + hashlib.sha256("".join(_file_digest(p) for p in source).encode()).hexdigest()
