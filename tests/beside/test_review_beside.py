"""A review shared with a second process is the review that one process makes, to the byte."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from aftercount.beside import ALONE, Beside, SecondProcess
from aftercount.campaign.work import review_to
from aftercount.report.folder import WriteOptions
from armour.scenes import own
from beside.test_beside import wait_for


class Watched(Beside):
    """Tells what was given to another."""

    def __init__(self, other: SecondProcess) -> None:
        self.other, self.given = other, list[str]()

    def begin(self, work: Callable[..., Any], *args: Any, **kwargs: Any) -> Callable[[], Any]:
        before = self.other._busy
        result = self.other.begin(work, *args, **kwargs)
        if self.other._busy and not before:
            self.given.append(work.__name__)
        return result


def files(folder: Path, out: Path, beside: Beside) -> dict[str, bytes]:
    review_to(str(folder), str(out), WriteOptions(csv=True), beside=beside)
    return {p.name: p.read_bytes() for p in out.iterdir()}


def test_the_same_bytes(tmp_path: Path) -> None:
    folder = own().write(tmp_path / "count")
    with SecondProcess(("aftercount.review", "aftercount.report.charts.deviation")) as second:
        wait_for(second)
        shared = Watched(second)
        assert files(folder, tmp_path / "two", shared) == files(folder, tmp_path / "one", ALONE)
    assert shared.given == ["stems", "rebuild", "_charts"]
