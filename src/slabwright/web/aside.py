"""Long work in a process of its own at low priority, so that it takes no time of the answers that people wait for."""

from __future__ import annotations

import logging
import os
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

from slabwright.findings import SlabwrightError

if TYPE_CHECKING:
    from multiprocessing.connection import Connection
    from multiprocessing.process import BaseProcess

_LOG = logging.getLogger("slabwright.web")
_NICE = 10
"""How far the process stands back for others, of 19."""

Result = TypeVar("Result")


class Aside:
    """Does one piece of work after the other.

    Args:
        beside: whether in a process of its own, which is started when it is needed first; else right where it is asked for
    """

    def __init__(self, *, beside: bool) -> None:
        self._beside = beside
        self._closed = False
        self._lock = threading.Lock()
        self._process: BaseProcess | None = None
        self._link: Connection | None = None

    def do(self, work: Callable[..., Result], *given: Any) -> Result:
        """Do a piece of work, and wait for what comes out.

        Args:
            work: a function that a module holds
            given: to it; it, what is given and what comes out can be pickled

        Raises:
            SlabwrightError: it was closed meanwhile.
            Exception: as the work raised it.
        """
        if not self._beside:
            return work(*given)
        with self._lock:
            try:
                link = self._linked()
                link.send((work, given))
                done, came = link.recv()
            except (EOFError, OSError):
                self._let_go()
                if self._closed:
                    raise SlabwrightError("the pages are being closed; ask again once they are open") from None
                # The process was ended from outside: the next piece gets a new one.
                _LOG.warning("the process aside ended before its work was done; it is done here")
                return work(*given)
        if not done:
            raise came
        result: Result = came
        return result

    def close(self) -> None:
        """End the process, whatever it is at; what it was at is given up."""
        self._closed = True
        process = self._process
        if process is not None:
            process.terminate()

    def _linked(self) -> Connection:
        if self._closed:
            raise EOFError
        if self._link is None:
            import multiprocessing

            # Not forked: other threads hold locks.
            spawn = multiprocessing.get_context("spawn")
            self._link, theirs = spawn.Pipe()
            process = spawn.Process(target=_work, args=(theirs,), name="slabwright aside", daemon=True)
            process.start()
            theirs.close()
            self._process = process
        return self._link

    def _let_go(self) -> None:
        if self._link is not None:
            self._link.close()
        if self._process is not None:
            self._process.join(1.0)
        self._link = self._process = None


def _work(link: Connection) -> None:
    """Work at what comes, until the one who asks is gone."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the server ends it
    if hasattr(os, "nice"):
        os.nice(_NICE)
    while True:
        try:
            work, given = link.recv()
        except (EOFError, OSError):
            return
        try:
            told = True, work(*given)
        except Exception as error:
            told = False, error
        try:
            link.send(told)
        except OSError:
            return
