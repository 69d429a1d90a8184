"""The base takes bolts, plates and their distance from the top's layout."""

from __future__ import annotations

from pathlib import Path

import pytest

from slabwright.base.from_top import bolts_of, plate_pockets, top_on, with_layout
from slabwright.base.stability import base_structure
from slabwright.findings import SlabwrightError
from slabwright.job.base_models import Base
from slabwright.job.top_models import Top
from slabwright.top.layout_results import Layout, TopFeature


def feature(name: str, kind: str, along: float, across: float, depth: float) -> TopFeature:
    return TopFeature(name, kind, "underside", along, across, None, None, depth, 0.0, depth, None, None, None)


def layout_of(places: list[tuple[str, float]]) -> Layout:
    features = []
    placed = []
    for name, along in places:
        features.append(
            {"kind": "pocket", "name": name, "length": 90, "width": 560, "depth": 10, "along": along - 1100}
        )
        placed.append(feature(name, "pocket", along, 0.0, 10.0))
        for side, across in (("near", -230.0), ("middle", 0.0), ("far", 230.0)):
            bolt = f"{name} {side}"
            features.append(
                {
                    "kind": "insert",
                    "name": bolt,
                    "drill": 12,
                    "depth": 24,
                    "engagement": 14,
                    "plate": name,
                    "plate_thickness": 8,
                    "fixed": name == places[0][0] and side == "middle",
                }
            )
            placed.append(feature(bolt, "insert", along, across, 34.0))
    top = Top.model_validate({"features": features}, context={"units": "metric"})
    return Layout(tuple(placed), 2200.0, 900.0, 45.0, top=top)


def test_plates_and_bolts_come_from_the_layout() -> None:
    layout = layout_of([("left plate", 420.0), ("right plate", 1780.0)])
    bolts = bolts_of(layout)
    assert bolts is not None
    assert {(bolt.x, bolt.y) for bolt in bolts} == {(x, y) for x in (-680.0, 680.0) for y in (-230.0, 0.0, 230.0)}
    # The middle one of the other plate lies as far across as the fixed one: the wood does not move between them.
    assert {bolt.name for bolt in bolts if not bolt.slides} == {"left plate middle", "right plate middle"}
    base = with_layout(Base(), layout)
    assert (base.spread, base.plate.width, base.plate.length, base.plate.thickness) == (1360.0, 90.0, 560.0, 8.0)
    assert base.across == 560.0


def test_what_the_job_states_stays() -> None:
    layout = layout_of([("left plate", 420.0), ("right plate", 1780.0)])
    stated = Base.model_validate({"across": 700, "plate": {"width": 88}}, context={"units": "metric"})
    base = with_layout(stated, layout)
    assert (base.across, base.plate.width) == (700.0, 88.0)


def test_three_plates_want_a_free_frame() -> None:
    layout = layout_of([("left plate", 420.0), ("middle plate", 900.0), ("right plate", 1780.0)])
    with pytest.raises(SlabwrightError, match="free frame"):
        with_layout(Base(), layout)


def test_a_top_without_inserts_settles_nothing() -> None:
    layout = Layout((), 2200.0, 900.0, 45.0, top=Top())
    assert bolts_of(layout) is None
    assert not plate_pockets(layout)
    assert with_layout(Base(), layout) == Base()


def test_a_whole_job_gets_a_base() -> None:
    import slabwright

    job = slabwright.load_job(Path(__file__).parents[2] / "examples" / "reading-table" / "job.toml")
    plan = slabwright.plan(job)
    assert plan.top is not None
    assert plan.board is not None
    top = top_on(plan.top, plan.board, 670.0, 12_000.0, 0.6)
    base = with_layout(Base(), plan.top.layout)
    height = job.stated.piece.height
    assert height is not None
    found = base_structure(base, job.stated.piece.base, height, top, bolts_of(plan.top.layout))
    assert found.kind == "U legs"
    assert found.height.even == pytest.approx(height)
    assert found.stack is not None
    assert found.stack.pocket == 10.0
    assert found.tip_load is not None
