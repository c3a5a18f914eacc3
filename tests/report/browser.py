"""A real browser for the page's tests: the system's Chromium, headless, without network.

Without one the tests are skipped and say so; under CI=true they fail instead, for there it must be installed.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NoReturn

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
AXE = "axe-core@4.10.3"
CACHE = Path(__file__).parents[2] / ".cache" / "browser"


def missing(what: str) -> NoReturn:
    """Skip, or fail where the tests must run."""
    reason = f"{what}; 'make browser' installs it"
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    path = next((found for name in NAMES if (found := shutil.which(name))), None)
    if path is None:
        missing("no Chromium on this machine")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing("playwright is not installed")
    with sync_playwright() as player:
        # No sandbox of its own: tests run as root in a container, and the page opened is this package's.
        browser = player.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-gpu"])
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def axe() -> str:
    """The accessibility engine's script, from the npm registry, once."""
    script = CACHE / "node_modules" / "axe-core" / "axe.min.js"
    if not script.is_file():
        if shutil.which("npm") is None:
            missing("no npm to fetch the accessibility engine with")
        CACHE.mkdir(parents=True, exist_ok=True)
        command = ["npm", "install", "--prefix", str(CACHE), "--no-save", "--no-audit", "--no-fund", "--ignore-scripts", AXE]
        done = subprocess.run(command, capture_output=True, text=True, timeout=180, check=False)
        if done.returncode or not script.is_file():
            missing(f"the accessibility engine could not be fetched: {done.stderr.strip()[-300:]}")
    return script.read_text(encoding="utf-8")


class Watched:
    """A page, and everything about it that should not happen: console errors, uncaught faults, requests."""

    def __init__(self, browser: Any, **options: Any) -> None:
        self.context = browser.new_context(accept_downloads=True, **options)
        self.page = self.context.new_page()
        self.faults: list[str] = []
        self.requests: list[str] = []
        self.page.on("console", lambda m: self.faults.append(f"{m.type}: {m.text}") if m.type in ("error", "warning") else None)
        self.page.on("pageerror", lambda e: self.faults.append(f"uncaught: {e}"))
        self.page.on("request", lambda r: self.requests.append(r.url))

    def open(self, path: Path) -> Any:
        self.page.goto(path.as_uri())
        return self.page

    def quiet(self, path: Path) -> None:
        """No fault, and nothing asked for but the file itself."""
        assert self.faults == []
        assert [r for r in self.requests if not r.startswith(("data:", "blob:")) and r.split("#")[0] != path.as_uri()] == []
