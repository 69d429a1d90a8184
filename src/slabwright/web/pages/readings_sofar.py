"""The lie of the slab as far as it was read, worked out anew as readings come."""

from __future__ import annotations

import threading
from collections import OrderedDict
from typing import Annotated

from fastapi import APIRouter, Query
from pydantic import Field

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import FaceName
from slabwright.quantities import format_least, format_length
from slabwright.web.desk import DeskOf
from slabwright.web.models import ERRORS, JobId, Model
from slabwright.web.pages.readings_entries import journals
from slabwright.web.readings_lie import LieSoFar, lie_so_far
from slabwright.web.store import NotThere

router = APIRouter()
_KEPT_LIES = 16


class PlaceHeight(Model):
    """How high a place stands above the finished plane of its face."""

    face: FaceName
    row: int
    column: int
    above: float = Field(description="mm; what would come off there")
    shown: str


class LieView(Model):
    """The best board of the readings so far."""

    begun: str
    read: int
    thickness: float | None = Field(description="of the readings, mm")
    promised: float | None = Field(description="sure 19 times in 20, before what the steps of shims take, mm")
    thickness_shown: str
    promised_shown: str
    waiting: str = Field(description="why it is not known yet; nothing where it is")
    above: list[PlaceHeight]
    deciding: list[str] = Field(description="places that carry the lie, such as A-3-1: face, row, column")


_lies: OrderedDict[tuple[str, str], LieSoFar] = OrderedDict()
_lies_lock = threading.Lock()


@router.get("/api/jobs/{job}/readings/lie", responses=ERRORS, tags=["readings"])
def lie(job: JobId, desk: DeskOf, begun: Annotated[str, Query(max_length=40)] = "") -> LieView:
    """The best board of the readings so far, and what is sure of it."""
    row = desk.store.row(job)
    readings = journals(desk).read(job)
    if readings is None or (begun and readings.begun != begun):
        raise NotThere("no such readings are being taken")
    revision = desk.store.revision(job, row.revision)
    key = f"{readings.begun}:{len(readings.ids)}", f"{job}:{row.revision}"
    with _lies_lock:
        found = _lies.get(key)
    if found is None:
        found = lie_so_far(revision.files, readings)
        with _lies_lock:
            _lies[key] = found
            while len(_lies) > _KEPT_LIES:
                _lies.popitem(last=False)
    planned = desk.store.now(job).planned
    if planned.result is None:
        raise SlabwrightError(planned.refused)
    units = planned.result.job.stated.job.units
    return LieView(
        begun=readings.begun,
        read=found.read,
        thickness=found.thickness,
        promised=found.promised,
        thickness_shown="" if found.thickness is None else format_length(found.thickness, units, 1),
        promised_shown="" if found.promised is None else format_least(found.promised, units),
        waiting=found.waiting,
        above=[
            PlaceHeight(
                face="A" if face == "A" else "B", row=r, column=c, above=above, shown=format_length(above, units, 1)
            )
            for (face, r, c), above in found.above.items()
        ],
        deciding=[f"{face}-{r}-{c}" for face, r, c in found.deciding],
    )
