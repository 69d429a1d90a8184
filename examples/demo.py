"""`make demo`: plans the example jobs and writes their sheets, then says where to look."""

from __future__ import annotations

import argparse
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
JOBS = ("reading-table", "hall-desk", "window-bench")


def main() -> int:
    """Write each job's sheets to its own folder below --out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=Path("demo-out"))
    out: Path = parser.parse_args().out
    for job in JOBS:
        print(f"\n== {job} ==", flush=True)
        command = [sys.executable, "-m", "slabwright", "sheets", str(HERE / job / "job.toml"), "--out", str(out / job)]
        status = subprocess.run(command).returncode
        if status:
            return status
    book = out / "book.sqlite"
    if not book.exists():
        for job in JOBS:
            command = [sys.executable, "-m", "slabwright", "book", "import", str(HERE / job), "--book", str(book)]
            status = subprocess.run(command).returncode
            if status:
                return status
    print(f"\nThe job sheets: {out / JOBS[0] / 'bench-sheets.pdf'}   (invented jobs and readings)")
    print(f"In a browser:   {Path(sys.executable).parent / 'slabwright'} serve --book {book}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
