"""Long work in a process of its own: it comes back as it would here, faults too, and the process may be ended at any time."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator

import pytest

from slabwright.findings import SlabwrightError
from slabwright.web.aside import Aside


@pytest.fixture
def aside() -> Iterator[Aside]:
    made = Aside(beside=True)
    yield made
    made.close()


def test_work_is_done_in_another_process_that_stands_back(aside: Aside) -> None:
    other = aside.do(os.getpid)
    assert other not in {os.getpid(), 0}
    assert aside.do(os.getpid) == other
    assert aside.do(os.nice, 0) == min(os.nice(0) + 10, 19)


def test_a_fault_is_raised_where_the_work_was_asked_for(aside: Aside) -> None:
    with pytest.raises(ValueError, match="invalid literal"):
        aside.do(int, "no number")
    assert aside.do(int, "7") == 7


def test_a_process_that_was_ended_is_stood_in_for(aside: Aside) -> None:
    first = aside.do(os.getpid)
    os.kill(first, signal.SIGKILL)
    assert aside.do(int, "7") == 7
    assert aside.do(os.getpid) not in {first, os.getpid()}


def test_nothing_is_begun_once_it_is_closed(aside: Aside) -> None:
    aside.do(os.getpid)
    aside.close()
    with pytest.raises(SlabwrightError, match="closed"):
        aside.do(os.getpid)


def test_without_a_process_it_is_done_here() -> None:
    here = Aside(beside=False)
    assert here.do(os.getpid) == os.getpid()
    here.close()
