"""What a page tries or fills in: figures as they are typed in the job's units, and a job with keys stated otherwise."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from slabwright.findings import SlabwrightError
from slabwright.job.folder import JOB_FILE
from slabwright.job.load import job_from, toml_from
from slabwright.job.loaded import Job
from slabwright.job.write import with_plain_values
from slabwright.quantities import INCH, Units, nearest_fraction
from slabwright.web.models import GREATEST

if TYPE_CHECKING:
    from slabwright.plan import Plan
    from slabwright.web.desk import Desk

_SAME = 1e-4
"""An inch fraction this near to a length is that length [mm]."""


def typed(mm: float, units: Units) -> float | int | str:
    """A length as it is typed into the job file: millimetres, or inches with a fraction where it is one.

    Args:
        mm: the length [mm]
        units: of the job file
    """
    if units == "metric":
        told = round(mm, 3)
        return int(told) if told == int(told) else told
    for parts in (16, 64):
        text, off = nearest_fraction(mm, parts)
        if abs(off) < _SAME:
            return text
    return round(mm / INCH, 5)


def plan_of(desk: Desk, job: int, revision: int) -> Plan:
    """The plan of a revision, to try changes on.

    Raises:
        NotThere: the book has no such job or revision.
        SlabwrightError: nothing could be worked out of it.
    """
    planned = desk.store.planned(job, revision)
    if planned.result is None:
        raise SlabwrightError(f"nothing is worked out: {planned.refused}")
    return planned.result


def retold(job: Job, files: Mapping[str, bytes], values: Mapping[str, Any], rooms: tuple[str, ...]) -> Job:
    """The job with keys stated otherwise, and everything else as it was loaded; nothing is saved.

    Args:
        job: as it was loaded from the files
        files: of the revision
        values: by key, as an edit takes them
        rooms: first parts of the keys that may be tried, such as `top`

    Raises:
        SlabwrightError: a key is not one of the rooms', or a value cannot be used.
    """
    for key, value in values.items():
        if key.partition(".")[0].partition("[")[0] not in rooms:
            raise SlabwrightError(f"{key[:80]}: only keys of {' and '.join(rooms)} can be tried here")
        if isinstance(value, int) and abs(value) > GREATEST:
            raise SlabwrightError(f"{key[:80]}: this is not a number of anything in a shop")
    if not values:
        return job
    source = toml_from(files[JOB_FILE], JOB_FILE)
    stated = job_from(dataclasses.replace(source, stated=with_plain_values(source.stated, values, JOB_FILE)))
    return dataclasses.replace(job, stated=stated)
