"""How often one address may do a thing within a while."""

from __future__ import annotations

import threading
import time
from collections import OrderedDict, deque
from collections.abc import Callable
from dataclasses import dataclass

_MOST_ADDRESSES = 10_000


@dataclass(frozen=True)
class Rate:
    """So many times within so many seconds."""

    times: int
    seconds: float


LOGIN = Rate(6, 60.0)
UPLOAD = Rate(60, 60.0)
CLIENT = Rate(240, 60.0)


class Limits:
    """Counts by address and kind, the oldest address forgotten first.

    Args:
        clock: seconds that only go forward
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._seen: OrderedDict[tuple[str, str], deque[float]] = OrderedDict()

    def wait(self, kind: str, address: str, rate: Rate) -> float:
        """Count one more, and say how long it has to wait: 0 where it may go on [s]."""
        now = self._clock()
        with self._lock:
            times = self._seen.setdefault((kind, address), deque())
            self._seen.move_to_end((kind, address))
            while times and times[0] <= now - rate.seconds:
                times.popleft()
            if len(times) >= rate.times:
                return max(times[0] + rate.seconds - now, 0.001)
            times.append(now)
            while len(self._seen) > _MOST_ADDRESSES:
                self._seen.popitem(last=False)
        return 0.0
