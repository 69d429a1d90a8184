"""A piece of work done in a second process while the first goes on: for two stages that do not wait for each other."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from typing import Generic, TypeVar

from slabwright.findings import SlabwrightError

Result = TypeVar("Result")
Progress = Callable[[str], None]


def two_at_once() -> bool:
    """Whether a second process can be started here and helps: two cores, a system that forks, no other threads running."""
    return hasattr(os, "fork") and (os.cpu_count() or 1) > 1 and threading.active_count() == 1


class Beside(Generic[Result]):
    """Work that goes on beside the caller's."""

    def __init__(self, work: Callable[[Progress], Result], progress: Progress, *, beside: bool) -> None:
        """Begin.

        Args:
            work: called with where it tells its progress; its result is handed over by pickling
            progress: told what the work tells, at the latest when its result is asked for
            beside: False: the work is done when its result is asked for, in this process
        """
        self._work, self._progress = work, progress
        self._beside = beside and two_at_once()
        if self._beside:
            import multiprocessing

            fork = multiprocessing.get_context("fork")
            self._receive, send = fork.Pipe(duplex=False)
            self._process = fork.Process(target=_do, args=(work, send), daemon=True)
            self._process.start()
            send.close()

    def result(self) -> Result:
        """What came out; waits for it.

        Raises:
            SlabwrightError: as the work raised it.
            RuntimeError: the second process ended without a word.
        """
        if not self._beside:
            return self._work(self._progress)
        try:
            while True:
                kind, said = self._receive.recv()
                if kind == "progress":
                    self._progress(said)
                    continue
                if kind == "result":
                    found: Result = said
                    return found
                raise said
        except EOFError:
            raise RuntimeError("the second process ended before its work was done") from None
        finally:
            self._receive.close()
            self._process.join()


def _do(work: Callable[[Progress], Result], send: object) -> None:
    """Do the work and send what comes out; a fault of the program itself is sent as such."""
    from multiprocessing.connection import Connection

    assert isinstance(send, Connection)
    try:
        send.send(("result", work(lambda text: send.send(("progress", text)))))
    except (SlabwrightError, ArithmeticError, LookupError, TypeError, ValueError, RuntimeError) as error:
        send.send(("error", error))
    finally:
        send.close()
