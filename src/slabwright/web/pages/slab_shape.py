"""The slab in space: both faces as grids of heights over the planes that are cut."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from pydantic import Field

from slabwright.quantities import INCH
from slabwright.sheets.colours import ramp
from slabwright.slab.stock import StockMap
from slabwright.web.desk import DeskOf
from slabwright.web.models import ERRORS, JobId, Model
from slabwright.web.store import NotThere

router = APIRouter()
_ACROSS = 90
"""Points of the picture in space along either axis, at the most."""


class Sheet3D(Model):
    """A face as a grid of heights."""

    x: list[float]
    y: list[float]
    height: list[list[float | None]] = Field(description="rows along y; above the lower finished plane")
    above: list[list[float | None]] = Field(description="rows along y; wood above the finished plane of its face")


class ShapeView(Model):
    """The slab in space, in the frame of the lie; lengths in the job's unit."""

    unit: str
    thickness: float = Field(description="of the board as cut: the distance of the two finished planes")
    a: Sheet3D
    b: Sheet3D
    deciding: list[tuple[float, float, float]] = Field(description="readings that carry the lie: x, y, height")
    ramp: list[str] = Field(description="colours from nothing to the most that comes off")
    most: float = Field(description="the most that comes off a face")


def _sheet(stock: StockMap, unit: float, plane: float, up: float) -> Sheet3D:
    import numpy as np

    i, j = (max(1, -(-axis.size // _ACROSS)) for axis in (stock.x, stock.y))
    depth = stock.depth[::i, ::j].T / unit

    def rows(grid: Any) -> list[list[float | None]]:
        return [[None if np.isnan(value) else round(float(value), 4) for value in row] for row in grid]

    return Sheet3D(
        x=[round(float(v) / unit, 3) for v in stock.x[::i]],
        y=[round(float(v) / unit, 3) for v in stock.y[::j]],
        height=rows(plane / unit + up * depth),
        above=rows(depth),
    )


@router.get("/api/jobs/{job}/slab/shape", responses=ERRORS, tags=["slab"])
def shape(job: JobId, desk: DeskOf) -> ShapeView:
    """Both faces over the planes that are cut, for a picture in space."""
    import numpy as np

    plan = desk.store.now(job).planned.result
    slab = plan.slab if plan is not None else None
    if plan is None or slab is None:
        raise NotThere(f"job {job} has no board yet: read the slab first")
    metric = plan.job.stated.job.units == "metric"
    unit, planes = 1.0 if metric else INCH, slab.seat.planes
    turn = planes.rotation()
    contacts = [turn @ np.array([one.x, one.y, one.z]) for one in slab.seat.contacts]
    low = planes.d / planes.slant
    most = max(float(np.nanmax(stock.depth, initial=0.0)) for stock in (slab.stock_a, slab.stock_b))
    return ShapeView(
        unit="mm" if metric else "in",
        thickness=round(planes.thickness / unit, 4),
        a=_sheet(slab.stock_a, unit, planes.thickness, 1.0),
        b=_sheet(slab.stock_b, unit, 0.0, -1.0),
        deciding=[
            (round(float(x) / unit, 3), round(float(y) / unit, 3), round((float(z) - low) / unit, 4))
            for x, y, z in contacts
        ],
        ramp=ramp(9),
        most=round(most / unit, 4),
    )
