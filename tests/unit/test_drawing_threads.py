"""Drawings that are asked for at the same moment, as a client's page does, come out whole and the same."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

_DRAWN = """
import sys
from concurrent.futures import ThreadPoolExecutor
from slabwright import load_job, plan
from slabwright.web.drawings import DRAWINGS

made = plan(load_job(sys.argv[1]), scheduled=False)
names = [name for name, drawing in DRAWINGS.items() if drawing.there(made)]
assert len(names) >= 4, names
sys.setswitchinterval(1e-6)
with ThreadPoolExecutor(8) as pool:
    drawn = list(pool.map(lambda name: (name, DRAWINGS[name].draw(made)), names * 3))
print(len(set(drawn)) == len(names))
"""


def test_drawings_at_the_same_moment_are_whole_and_the_same() -> None:
    # A process of its own: the fonts are read bit by bit, once, by whoever comes first.
    job = Path(__file__).parents[2] / "examples" / "reading-table" / "job.toml"
    ran = subprocess.run([sys.executable, "-c", _DRAWN, str(job)], capture_output=True, text=True, check=False)
    assert (ran.stdout.strip(), ran.stderr) == ("True", "")
