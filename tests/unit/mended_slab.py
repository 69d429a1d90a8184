"""A flat slab with defects, planned: faces 60 mm apart, a piece placed in it, so that what is mended is known by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

import numpy as np

from slabwright.findings import Finding
from slabwright.finish.mending import mending_plan
from slabwright.finish.mending_results import Mended, Mending
from slabwright.finish.resin import resin_plan
from slabwright.finish.resin_results import Resin
from slabwright.geometry.faces import Scatter
from slabwright.job.loaded import Job, Readings
from slabwright.job.models import JobFile, ShopFile
from slabwright.plan import Plan, plan

LENGTH, WIDTH, ROUGH, BOARD = 2000.0, 800.0, 60.0, 50.0
SHOP = {
    "epoxy": {"resin_parts": 100, "hardener_parts": 45, "density": 1.1, "greatest_pour": 20.0},
    "prices": {"hour": 60.0, "wood_per_cubic_metre": 2000.0, "insert_per_piece": 90.0},
}


def job(
    defects: Sequence[Mapping[str, object]],
    *,
    mends: Sequence[Mapping[str, object]] = (),
    length: float | None = 1900.0,
    shop: Mapping[str, Mapping[str, object]] | None = None,
    **tables: Any,
) -> Job:
    """A job of the flat slab: x from 0 to 2000, y from -400 to 400, a sawn piece 760 wide of the given length."""
    x, y = np.meshgrid(
        np.arange(0.0, LENGTH + 1.0, 100.0), np.arange(-WIDTH / 2, WIDTH / 2 + 1.0, 100.0), indexing="ij"
    )
    x, y = x.ravel(), y.ravel()
    corners = np.array([[0.0, -1.0], [1.0, -1.0], [1.0, 1.0], [0.0, 1.0]]) * np.array([LENGTH, WIDTH / 2])
    read = Readings(
        Scatter(x, y, np.full(x.size, ROUGH)),
        Scatter(x, y, np.zeros(x.size)),
        corners,
        corners,
        np.empty((0, 3)),
        False,
        False,
    )
    piece: dict[str, object] = {"width": 760.0, "thickness": BOARD, "live_edges": "none"}
    if length is not None:
        piece["length"] = length
    slab = {
        "species": "ash, white",
        "survey": "survey.csv",
        "show_face": "A",
        "end_trim": 0.0,
        "edge_margin": 0.0,
        "reading_error": 0.0,
        "lay": {"full_support": True},
        "defects": list(defects),
    } | tables.pop("slab", {})
    stated = {"job": {"title": "Trial"}, "piece": piece, "slab": slab, "mends": list(mends)} | tables
    own = {key: {**SHOP.get(key, {}), **(shop or {}).get(key, {})} for key in {*SHOP, *(shop or {})}}
    return Job(
        JobFile.model_validate(stated, context={"units": "metric"}),
        ShopFile.model_validate(own, context={"units": "metric"}),
        read,
    )


@cache
def planned(length: float | None = 1900.0, show: str = "A") -> Plan:
    """The plan of the slab without its defects: what is mended rests on it, and does not change it."""
    found = plan(job((), length=length, slab={"show_face": show}))
    assert found.slab is not None and found.board is not None
    return found


def mended(
    defects: Sequence[Mapping[str, object]], *, show: str = "A", length: float | None = 1900.0, **about: Any
) -> tuple[Mending, tuple[Finding, ...], Resin, tuple[Finding, ...]]:
    """Mending and epoxy of the flat slab with some defects."""
    base = planned(length, show)
    assert base.slab is not None and base.board is not None
    tables = {**about, "slab": {**about.get("slab", {}), "show_face": show}}
    trial = job(defects, length=length, **tables)
    mending, said = mending_plan(trial, base.slab, base.board, base.top)
    resin, told = resin_plan(trial, base.slab, mending)
    return mending, said, resin, told


def one(defect: Mapping[str, object], **about: Any) -> Mended:
    """The only defect, mended."""
    (found,) = mended([defect], **about)[0].mends
    return found


def above(show: str = "A") -> float:
    """Wood that comes off above the show face, the same everywhere [mm]."""
    slab = planned(show=show).slab
    assert slab is not None
    stock = slab.stock_a if show == "A" else slab.stock_b
    assert float(np.nanmax(stock.depth) - np.nanmin(stock.depth)) < 1e-6
    return float(np.nanmean(stock.depth))
