"""The demo's programs, read by the second reader, leave both faces on their planes.

The second reader follows NISTIR 6556 (The NIST RS274NGC Interpreter, Version 3, 17 August 2000) and shares nothing with the
project's own reader or its simulator.
"""

from __future__ import annotations

from itertools import groupby
from pathlib import Path

import numpy as np
import pytest
import shapely
from tests.published.second_reader import read, surface

from slabwright.job import load_job
from slabwright.machine.setting import Clamping
from slabwright.plan import Plan, plan

DEMO = Path(__file__).parents[2] / "examples" / "reading-table" / "job.toml"


@pytest.fixture(scope="module")
def demo() -> Plan:
    return plan(load_job(DEMO))


def test_both_faces_come_out_on_their_planes_and_parallel(demo: Plan) -> None:
    assert demo.machine is not None and demo.slab is not None
    machine = demo.job.shop.machine
    clampings = {clamping.number: clamping for clamping in demo.machine.settings}
    faces = {}
    for number, programs in groupby(demo.machine.programs, key=lambda program: program.clamping):
        clamping = clampings[number]
        top = clamping.stock.top
        for program in programs:
            top = surface(
                read(program.text),
                clamping.stock.x,
                clamping.stock.y,
                top,
                block=clamping.block,
                diameter=machine.cutter_diameter,
                corner=machine.corner_radius,
            )
        faces[clamping.face] = (clamping, top[finished(clamping)])
    for clamping, heights in faces.values():
        assert heights.max() - clamping.plane <= 0.02
    underside, heights = faces["B"]
    assert np.abs(heights - underside.plane).max() <= 0.02
    # On the show face only the dip that is filled lies lower than the plane.
    show, heights = faces["A"]
    assert demo.slab.patches
    assert (heights < show.plane - 0.02).mean() <= 1.5 * sum(
        patch.area for patch in demo.slab.patches
    ) / show.region.area
    # The second face was cut lying on the first: its height above the bed is the board.
    assert faces["B"][0].lies_on == "face A"
    assert faces["B"][0].plane == pytest.approx(demo.slab.seat.milled, abs=1e-9)


def finished(clamping: Clamping):  # type: ignore[no-untyped-def]
    x, y = np.meshgrid(clamping.stock.x, clamping.stock.y, indexing="ij")
    return shapely.contains_xy(clamping.region, x, y) & ~np.isnan(clamping.stock.top)


def test_no_wood_is_cut_below_the_plane_by_any_program(demo: Plan) -> None:
    assert demo.machine is not None
    clampings = {clamping.number: clamping for clamping in demo.machine.settings}
    for program in demo.machine.programs:
        lowest = min(place[2] for track in read(program.text).fed for place in track)
        clamping = clampings[program.clamping]
        assert lowest + clamping.block >= clamping.plane + program.level - 0.001
