from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from slabwright.geometry.faces import Scatter
from slabwright.job import Job, JobFile, Place, Readings, ShopFile
from slabwright.job.check import missing
from slabwright.job.models import (
    Fill,
    JobHead,
    Lay,
    Moisture,
    Piece,
    PlannedSlab,
    Prices,
    Room,
    Slab,
    Top,
)
from slabwright.job.top_models import Insert
from slabwright.job.work_models import Check

HEAD = JobHead(title="x")
BOLT = Insert.model_validate(
    {"kind": "insert", "name": "bolt", "drill": 12, "depth": 24, "thread": 8, "engagement": 14}
)


def keys(stated: JobFile, **more: object) -> list[str]:
    found = missing(Job(stated, ShopFile(), **more))  # type: ignore[arg-type]
    assert all(item.why and item.how for item in found)
    return [item.key for item in found]


def test_an_empty_job_is_asked_in_the_order_of_the_work() -> None:
    found = keys(JobFile(job=HEAD))
    assert found[:6] == ["piece.length", "piece.height", "piece.base", "piece.finish", "room.kind", "slab.species"]
    assert found.index("slab.species") < found.index("fill.price_per_litre") < found.index("shop:machine")


def test_a_width_is_asked_for_only_where_no_edge_stays_live() -> None:
    assert "piece.width" in keys(JobFile(job=HEAD, piece=Piece(live_edges="none")))
    assert "piece.width" not in keys(JobFile(job=HEAD, piece=Piece(live_edges="both")))


def test_readings_are_asked_for_until_they_are_there() -> None:
    bare = JobFile(job=HEAD, slab=Slab(species="ash, white"))
    planned = JobFile(
        job=HEAD, slab=Slab(species="ash, white", planned=PlannedSlab(length=2400, width=900, thickness=54))
    )
    assert [key for key in keys(bare) if key in ("slab.planned", "slab.survey")] == ["slab.planned", "slab.survey"]
    assert [key for key in keys(planned) if key in ("slab.planned", "slab.survey")] == ["slab.survey"]
    corner = np.array([0.0, 1.0, 0.0])
    face = Scatter(corner, corner, corner)
    read = Readings(face, face, None, None, np.empty((0, 3)), False, False)
    assert [key for key in keys(bare, readings=read) if key.startswith("slab.") and "moisture" not in key] == [
        "slab.lay.supports",
        "slab.outline",
    ]


def test_a_full_job_lacks_nothing() -> None:
    stated = JobFile(
        job=HEAD,
        piece=Piece(length=2000, height=740, base="U legs", finish="oil"),
        room=Room(kind="church"),
        slab=Slab(
            species="ash, white",
            lay=Lay(full_support=True),
            moisture=Moisture(shell=[8], core=[9], days_in_shop=3),
        ),
        fill=Fill(price_per_litre=90, client_agrees=False),
        checks=[],
        top=Top(features=[BOLT]),
    )
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]])
    face = Scatter(square[:, 0], square[:, 1], square[:, 0])
    read = Readings(face, face, square, None, np.empty((0, 3)), False, False)
    shop = ShopFile(prices=Prices(insert_per_piece=50, wood_per_cubic_metre=2000))
    where = {"shop:prices.hour": Place("shop.toml", 1)}
    assert missing(Job(stated, shop, read, (), where, Path())) == []


@pytest.mark.parametrize(("agrees", "asked"), [(None, True), (True, False), (False, False)])
def test_the_client_is_asked_once_there_is_a_price(agrees: bool | None, asked: bool) -> None:
    fill = Fill(price_per_visible_area=400, client_agrees=agrees)
    assert ("fill.client_agrees" in keys(JobFile(job=HEAD, fill=fill))) is asked


def test_what_came_out_is_asked_once_work_has_begun() -> None:
    checked = JobFile(job=HEAD, checks=[Check(face="A", kind="straightedge", value=0.2)])
    assert keys(checked)[-1] == "as_made.thickness"
