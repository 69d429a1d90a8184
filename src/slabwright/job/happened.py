"""What happened, apart from what is stated: going back to an earlier revision takes back what was stated alone."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

from slabwright.findings import SlabwrightError
from slabwright.job.folder import JOB_FILE
from slabwright.job.load import job_from, toml_from
from slabwright.job.write import with_values

HAPPENED = {
    "log": "the log",
    "received": "what has come of the orders",
    "checks": "what was found after a cut",
    "rereadings": "the slab read again after a rest",
    "as_made": "what came out",
    "top.plates_as_made": "the welded plates as they were measured",
    "base.leg_as_made": "the welded leg as it was measured",
    "base.plate_as_made": "the painted plates as they were measured",
}
"""Keys of the job file that tell of the workshop, each in words: an hour that was worked, a plate that came out thin.

The slab's first readings and its moisture are not among them: they describe the slab that the job is stated for, are put right
or taken from another slab, and go back with the rest. Nor are places touched off on the machine: they hold for one clamping.
"""


def going_back(newest: Mapping[str, bytes], old: Mapping[str, bytes]) -> dict[str, bytes]:
    """The files of an earlier revision with what happened as the newest tells it.

    Where the newest cannot be read as a job, nothing can be taken over: the earlier files are told as they were.

    Args:
        newest: files of the newest revision
        old: files of the earlier one

    Raises:
        SlabwrightError: what happened cannot be put into the earlier file.
    """
    files = dict(old)
    try:
        job_from(toml_from(newest[JOB_FILE], JOB_FILE))
        before = _stated(old[JOB_FILE])
    except (SlabwrightError, ValueError, RecursionError):
        return files
    now = _stated(newest[JOB_FILE])
    values: dict[str, Any] = {}
    for key in HAPPENED:
        is_, was = _at(now, key), _at(before, key)
        if is_ == was or ("." in key and _at(before, key.partition(".")[0]) is None):
            continue
        if isinstance(is_, list) and not was:
            values |= {f"{key}[{number}]": entry for number, entry in enumerate(is_)}
        else:
            values[key] = is_
    if values:
        files[JOB_FILE] = with_values(old[JOB_FILE].decode("utf-8-sig"), values).encode()
    for reread in now.get("rereadings", []):
        name = reread["survey"]
        if name in newest:
            files[name] = newest[name]
    return files


def what_happened(files: Mapping[str, bytes]) -> dict[str, int]:
    """How many entries a job file tells of each thing that happened, by its key."""
    try:
        stated = _stated(files[JOB_FILE])
    except (ValueError, RecursionError):
        return {}
    found = {key: _at(stated, key) for key in HAPPENED}
    return {key: len(value) if isinstance(value, list) else 1 for key, value in found.items() if value}


def _stated(data: bytes) -> dict[str, Any]:
    return tomllib.loads(data.decode("utf-8-sig").replace("\r\n", "\n"))


def _at(stated: Mapping[str, Any], key: str) -> Any:
    here: Any = stated
    for part in key.split("."):
        here = here.get(part) if isinstance(here, Mapping) else None
    return here
