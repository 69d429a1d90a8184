"""Run the benches: `make bench`, or `python -m bench seat front` for some of them."""

from __future__ import annotations

import importlib
import os
import sys

# One thread for linear algebra, so that a ratio of two timings compares like with like.
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

SUBJECTS = (
    "seat",
    "front",
    "kept",
    "shims",
    "commands",
    "promise",
    "machine_time",
    "machine_programs",
    "placement",
    "layout",
    "registration",
    "feature_programs",
    "cutting_stock",
    "base",
    "route",
    "learning",
    "schedule",
    "book",
    "pages",
)


def main(subjects: list[str]) -> int:
    """Print each row with its ratio; status 1 where a limit is not met."""
    unknown = [subject for subject in subjects if subject not in SUBJECTS]
    if unknown:
        sys.stderr.write(f"bench: no subject {unknown[0]!r}; there are {', '.join(SUBJECTS)}\n")
        return 2
    missed = 0
    for subject in subjects or SUBJECTS:
        print(f"\n{subject}")
        for row in importlib.import_module(f"bench.{subject}").rows():
            verdict = {True: "met", False: "NOT MET", None: "told"}[row.passed]
            ratio = "-" if row.ratio is None else f"{row.ratio:.3g}"
            print(
                f"  {verdict:<8} {row.name}: {row.measured} against {row.reference}; ratio {ratio}; asked: {row.limit}",
                flush=True,
            )
            if row.note:
                print(f"           {row.note}", flush=True)
            missed += row.passed is False
    print(f"\n{missed} limit{'s' if missed != 1 else ''} not met")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
