"""report.pdf: the page as a Chromium-family browser on this machine prints it.

The page's own print style does the work, so the file looks as it does when a person prints it. A browser is used, not
a library, because the charts are SVG styled by the page's style sheet, which the PDF libraries of the registries do not
apply. The browser gets a profile of its own, thrown away after, and the page's policy keeps it off the network. Dates
of printing are blanked: the same page printed by the same browser gives the same bytes, but for a line that a browser on
a busy machine now and then puts a fraction of a pixel lower.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from aftercount.errors import InputError, Problem

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "microsoft-edge", "chrome", "msedge")
_LONGEST_S = 120.0  # a large page prints in a few seconds; a browser that hangs is given up on
_DATE = re.compile(rb"(/(?:CreationDate|ModDate) \(D:)\d{14}([^)]*\))")


def pdf_bytes(page: str) -> bytes:
    """Raises InputError when there is no browser, or it cannot print."""
    browser = next((found for name in BROWSERS if (found := shutil.which(name))), None)
    if browser is None:
        raise _problem("pdf-no-browser", "no Chromium, Chrome or Edge was found", "install one, or print report.html from any browser")
    with tempfile.TemporaryDirectory(prefix="aftercount-pdf-", ignore_cleanup_errors=True) as scratch:
        source, target = Path(scratch) / "report.html", Path(scratch) / "report.pdf"
        source.write_text(page, encoding="utf-8")
        _print(browser, source, target, Path(scratch) / "profile")
        if not target.is_file():
            raise _problem("pdf-failed", f"{browser} wrote no PDF", "print report.html by hand")
        return _DATE.sub(rb"\g<1>20000101000000\g<2>", target.read_bytes())


def _print(browser: str, source: Path, target: Path, profile: Path) -> None:
    command = [browser, "--headless", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-extensions",
               f"--user-data-dir={profile}", "--no-pdf-header-footer", f"--print-to-pdf={target}", source.as_uri()]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.insert(1, "--no-sandbox")  # Chromium refuses to start as root otherwise; it opens only our own page
    try:
        subprocess.run(command, capture_output=True, timeout=_LONGEST_S, check=False, stdin=subprocess.DEVNULL)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise _problem("pdf-failed", f"{browser} could not print: {error}", "print report.html by hand") from error


def _problem(code: str, text: str, hint: str) -> InputError:
    return InputError([Problem("report.pdf", 0, code, text, hint)])
