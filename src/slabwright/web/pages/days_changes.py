"""What a maker changes on the days: a pinned time, which is tried before it is saved, and the promised day."""

from __future__ import annotations

import datetime
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import Field

from slabwright.findings import SlabwrightError
from slabwright.job.folder import JOB_FILE
from slabwright.web import bench_log, clock
from slabwright.web.desk import Desk, DeskOf, SessionOf, device
from slabwright.web.models import ERRORS, JobId, Model
from slabwright.web.store import changed

router = APIRouter()
_LONGEST = 20.0
"""Seconds that a pinned time is tried at most before it is saved."""
_YEARS = 10


class Pin(Model):
    """When an operation is wanted to start."""

    operation: Annotated[str, Field(min_length=1, max_length=100)]
    at: clock.Moment | None = Field(description="on the shop's own clock; nothing (null) frees it")


class Promised(Model):
    """The day that a job is promised for."""

    day: datetime.date | None = Field(description="nothing (null): no day is promised")


class Changed(Model):
    """What was changed."""

    job: int
    revision: int = Field(description="the newest now")


def _fits(desk: Desk, job: int, operation: str, at: datetime.datetime) -> None:
    """Try a pinned time before it is saved: what fits into no working hours would hold the days and the sheets back.

    Raises:
        SlabwrightError: nothing can be scheduled with it.
    """
    files = desk.store.revision(job).files
    values = bench_log.pinned(bench_log.stated_in(files), operation, at)
    if not values:
        return
    tried = {**files, JOB_FILE: changed(files, JOB_FILE, values)}
    planned = desk.store.planner.whole(tried, wait=_LONGEST)
    if planned is not None and planned.result is None:
        raise SlabwrightError(planned.refused)


@router.post("/api/jobs/{job}/pins", responses=ERRORS)
def set_pin(job: JobId, pin: Pin, desk: DeskOf, session: SessionOf) -> Changed:
    """Pin an operation to a time, or free it."""
    result = desk.store.now(job).planned.result
    known = {one.name: one for one in result.shop.operations} if result is not None and result.shop is not None else {}
    if pin.operation not in known:
        raise SlabwrightError(f"there is no operation {pin.operation!r} in this job; choose one of its days")
    if pin.at is not None:
        if known[pin.operation].state != "planned":
            raise SlabwrightError(f"{pin.operation!r} is {known[pin.operation].state} already; it cannot be pinned")
        if pin.at < clock.now():
            raise SlabwrightError(f"{pin.at:%Y-%m-%d %H:%M} is past; pin it to a time that is still to come")
        if pin.at.year > clock.now().year + _YEARS:
            raise SlabwrightError(f"{pin.at:%Y-%m-%d} is many years away; check the date")
        _fits(desk, job, pin.operation, pin.at)
    number = bench_log.pin(desk.store, job, pin.operation, pin.at, session.name, device(session))
    return Changed(job=job, revision=number)


@router.post("/api/jobs/{job}/promise", responses=ERRORS)
def promise(job: JobId, promised: Promised, desk: DeskOf, session: SessionOf) -> Changed:
    """Promise a day, or none."""
    day = promised.day
    if day is not None and abs(day.year - clock.now().year) > _YEARS:
        raise SlabwrightError(f"{day} is many years away; check the date")

    def values(stated: dict[str, Any]) -> dict[str, Any]:
        old = stated.get("job", {}).get("promised")
        return {} if old == day else {"job.promised": day}

    why = f"promised for {day}" if day is not None else "no day promised"
    edited = bench_log.put_on_newest(desk.store, job, values, session.name, why, device(session))
    return Changed(job=job, revision=edited.revision if edited is not None else desk.store.row(job).revision)
