"""The commands as whole processes: how soon help answers, how long plan and sheets of the demo take."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from bench.row import Row

_DEMO = Path(__file__).parent.parent / "examples" / "reading-table" / "job.toml"


def _seconds(command: Sequence[str], repeats: int) -> float:
    """Median wall-clock of a process that must succeed; the first run, which warms the disk, does not count."""
    times = []
    for _ in range(repeats + 1):
        start = time.perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        times.append(time.perf_counter() - start)
    return statistics.median(times[1:])


def rows() -> Iterator[Row]:
    """Help against `python -c pass`; plan and sheets of the demo against their limits."""
    slabwright = [sys.executable, "-m", "slabwright"]
    bare = _seconds([sys.executable, "-c", "pass"], 9)
    asked = _seconds([*slabwright, "--help"], 9)
    more = (asked - bare) * 1000.0
    yield Row(
        "slabwright --help",
        f"{more:.0f} ms more",
        f"python -c pass ({bare * 1000:.0f} ms)",
        asked / bare,
        "at most 150 ms more",
        more <= 150.0,
    )
    with tempfile.TemporaryDirectory() as out:
        for command, limit in (("plan", 2.0), ("sheets", 6.0)):
            took = _seconds([*slabwright, command, str(_DEMO), "--out", out], 5)
            yield Row(
                f"slabwright {command} of the demo, whole process",
                f"{took:.2f} s",
                f"{limit:.0f} s",
                took / limit,
                f"under {limit:.0f} s",
                took < limit,
            )
