"""The machine's programs as files: one for each depth, none that did not pass, none of an earlier run left standing."""

from __future__ import annotations

import re
from pathlib import Path

from slabwright.findings import SlabwrightError
from slabwright.plan import Plan
from slabwright.written import written_beside

FOLDER = "programs"
_OURS = re.compile(r"[0-9]{2}-face-[ab]-[a-z]+-[0-9]+\.ngc")


def write_programs(plan: Plan, out: Path) -> list[Path]:
    """Write the job's programs below a folder, and take away those of an earlier run that this plan does not have.

    Old ones go first: at no moment does a stale program lie beside a new one as if it were of the same plan.

    Args:
        plan: of the job
        out: the folder of the sheets

    Returns:
        The files that were written; none where the plan has no programs.

    Raises:
        SlabwrightError: a file cannot be written or taken away.
    """
    folder = out / FOLDER
    programs = plan.machine.programs if plan.machine else ()
    try:
        if folder.is_dir():
            for old in folder.iterdir():
                if _OURS.fullmatch(old.name):
                    old.unlink()
            if not programs and not any(folder.iterdir()):
                folder.rmdir()
        if programs:
            folder.mkdir(exist_ok=True)
    except OSError as error:
        raise SlabwrightError(f"{folder}: cannot be used ({error.strerror}); name another folder with --out") from None
    return [written_beside(folder / program.name, program.text.encode("ascii")) for program in programs]
