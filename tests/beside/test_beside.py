"""Work given to a second process comes back as if it had been done here, whatever becomes of that process."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator

import pytest

from aftercount.beside import ALONE, SecondProcess, second
from processes import alive, until


def square(value: int) -> int:
    return value * value


def who() -> int:
    return os.getpid()


def fails(text: str) -> None:
    raise ValueError(text)


def not_to_be_sent() -> object:
    return lambda: None


def dies() -> int:
    """Ends a second process; this one, which is the tests' own, must live."""
    if os.getpid() != int(os.environ["TESTS_OWN"]):
        os.kill(os.getpid(), signal.SIGKILL)
    return os.getpid()


@pytest.fixture
def ready() -> Iterator[SecondProcess]:
    with SecondProcess((__name__,)) as beside:
        wait_for(beside)
        yield beside


def wait_for(beside: SecondProcess) -> None:
    """Until it takes work."""
    until(lambda: beside.begin(who)() != os.getpid())


def test_the_work_is_done_elsewhere_and_its_result_comes_back(ready: SecondProcess) -> None:
    assert ready.begin(who)() != os.getpid()
    assert ready.begin(square, 12)() == 144


def test_a_second_piece_while_the_first_is_not_fetched_is_done_here(ready: SecondProcess) -> None:
    first, other = ready.begin(who), ready.begin(who)
    assert other() == os.getpid()
    assert first() != os.getpid()
    assert ready.begin(who)() != os.getpid()


def test_what_the_work_raises_is_raised_where_it_was_given(ready: SecondProcess) -> None:
    with pytest.raises(ValueError, match="as it was told"):
        ready.begin(fails, "as it was told")()
    assert ready.begin(who)() != os.getpid()


def test_a_result_that_cannot_be_sent_is_worked_out_here(ready: SecondProcess) -> None:
    made = ready.begin(not_to_be_sent)()
    assert callable(made)


def test_the_death_of_the_second_process_costs_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TESTS_OWN", str(os.getpid()))
    with SecondProcess((__name__,)) as beside:
        wait_for(beside)
        assert beside.begin(dies)() == os.getpid()
        assert beside.begin(square, 3)() == 9


def test_a_process_that_is_killed_at_its_start_costs_nothing() -> None:
    with SecondProcess((__name__,)) as beside:
        beside._process.kill()
        beside._process.wait()
        assert beside.begin(square, 4)() == 16


def test_alone_all_is_done_here() -> None:
    assert ALONE.begin(who)() == os.getpid()
    with second(1, ()) as beside:
        assert beside is ALONE


def test_a_system_that_grants_no_process_costs_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise BlockingIOError("no more processes")

    monkeypatch.setattr("aftercount.beside.processors", lambda: 2)
    monkeypatch.setattr("aftercount.beside.subprocess.Popen", refuse)
    with second(None, ("json",)) as beside:
        assert beside is ALONE


STARTS_AND_WAITS = """
import sys, time
from aftercount.beside import SecondProcess
beside = SecondProcess(("json",))
print(beside._process.pid, flush=True)
time.sleep(600)
"""


def test_the_second_process_ends_with_the_first_however_that_ends() -> None:
    first = subprocess.Popen([sys.executable, "-c", STARTS_AND_WAITS], stdout=subprocess.PIPE, text=True)
    assert first.stdout is not None
    child = int(first.stdout.readline())
    first.kill()
    first.wait()
    first.stdout.close()
    until(lambda: not alive(child))
