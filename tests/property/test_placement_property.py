"""Placing the piece: what must hold for any slab, any piece and any box of placements."""

from __future__ import annotations

import math

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity

from slabwright.geometry.faces import Scatter
from slabwright.geometry.strip import widest_strip
from slabwright.job.loaded import Job, Readings
from slabwright.job.models import JobFile, ShopFile
from slabwright.slab.survey import Survey, survey
from slabwright.top.ground import Ground, ground
from slabwright.top.placement import place
from slabwright.top.placement_results import Placement
from slabwright.top.shapes import Box, Piece

LENGTH, WIDTH = 1000.0, 400.0


def slab(seed: int, live: bool, step: float) -> Survey:
    draw = np.random.default_rng(seed)
    x, y = (g.ravel() for g in np.meshgrid(np.arange(0, LENGTH + 1, step), np.arange(0, WIDTH + 1, step)))
    faces = [
        Scatter(
            x, y, level + draw.normal(0.0, 0.8, x.size) + draw.normal() * (x / LENGTH) ** 2 + draw.normal() * y / WIDTH
        )
        for level in (40.0, 0.0)
    ]
    along = np.linspace(0.0, LENGTH, 21)
    wave = 15.0 * np.sin(along / draw.uniform(60, 200) + seed) + 15.0 if live else 0.0 * along
    outline = np.vstack([np.column_stack([along, wave]), np.column_stack([along, WIDTH - wave])[::-1]])
    stated = JobFile.model_validate({"job": {"title": "t"}, "slab": {"species": "ash, white", "edge_margin": 0}})
    readings = Readings(faces[0], faces[1], outline, outline, np.empty((0, 3)), False, False)
    return survey(Job(stated, ShopFile(), readings))


def area_of(length: float, width: float, x: float, y: float, turn: float) -> Polygon:
    flat = shapely.box(-length / 2, -width / 2, length / 2, width / 2)
    return affinity.translate(affinity.rotate(flat, turn, origin=(0.0, 0.0), use_radians=True), x, y)


@settings(max_examples=25, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    live=st.booleans(),
    length=st.floats(500.0, 950.0) | st.sampled_from([500.0, 600.0, 800.0, 900.0]),
    width=st.floats(150.0, 330.0) | st.sampled_from([150.0, 200.0, 300.0]),
)
def test_no_placement_of_a_grid_is_worth_more_than_the_bound(
    seed: int, live: bool, length: float, width: float
) -> None:
    read = slab(seed, live, 50.0)
    found = place(read, length, width, turn_most=1.0, end_trim=10.0, time_limit=1.0)
    assert isinstance(found, Placement)
    assert found.thickness <= found.bound
    assert found.proven == (found.gap <= 0.05 + 1e-9)
    room = read.outline_a.intersection(shapely.box(10, -1, LENGTH - 10, WIDTH + 1))
    draw = np.random.default_rng(seed)
    reach_x, reach_y = (LENGTH - 20.0 - length) / 2, (WIDTH - width) / 2
    for u, v, w in np.vstack([draw.uniform(-1, 1, (12, 3)), [(0, 0, 0), (1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0)]]):
        x, y, turn = LENGTH / 2 + u * reach_x, WIDTH / 2 + v * reach_y, math.radians(w)
        area = area_of(length, width, x, y, turn)
        if not room.covers(area):
            continue
        cut = []
        for face in (read.all_a, read.all_b):
            assert isinstance(face, Scatter)
            kept = shapely.intersects_xy(area.buffer(1e-6, join_style="mitre"), face.x, face.y)
            cut.append(Scatter(face.x[kept], face.y[kept], face.z[kept]))
        assert widest_strip(*cut).thickness <= found.bound + 1e-6


unit = st.floats(-1.0, 1.0)


@st.composite
def boxes(draw: st.DrawFn) -> tuple[Box, list[Box]]:
    """A box of placements, and a few placements in it."""
    box = Box(
        draw(st.floats(300.0, 700.0)),
        draw(st.floats(100.0, 300.0)),
        math.radians(draw(st.floats(-3.0, 3.0))),
        draw(st.floats(0.0, 80.0)),
        draw(st.floats(0.0, 60.0)),
        math.radians(draw(st.floats(0.0, 2.0))),
    )
    inside = [
        Box(box.x + draw(unit) * box.dx, box.y + draw(unit) * box.dy, box.turn + draw(unit) * box.dturn)
        for _ in range(4)
    ]
    return box, inside


def floor_of(live: bool) -> Ground:
    return ground(slab(3, live, 100.0), end_trim=5.0)


FLOORS = {live: floor_of(live) for live in (False, True)}
X, Y = (g.ravel() for g in np.meshgrid(np.linspace(0.0, LENGTH, 41), np.linspace(0.0, WIDTH, 33)))


@settings(max_examples=150, deadline=None)
@given(both=boxes(), length=st.floats(100.0, 900.0), width=st.none() | st.floats(50.0, 380.0), live=st.booleans())
def test_a_box_has_what_all_its_placements_share(
    both: tuple[Box, list[Box]], length: float, width: float | None, live: bool
) -> None:
    box, inside = both
    piece = Piece.on(FLOORS[live], length, width)
    shared, some = piece.sort(box, X, Y)
    common = piece.shared(box)
    impossible = piece.impossible(box)
    for at in inside:
        has, may = piece.sort(at, X, Y)
        assert not np.any(shared & ~has)
        assert not np.any(has & ~some)
        assert np.array_equal(has, may)
        area = piece.shared(at)
        assert area is not None
        if common is not None:
            # Of a live-edged piece the band is cut off far outside the slab.
            near = shapely.box(-LENGTH, -LENGTH, 2 * LENGTH, 2 * LENGTH)
            assert area.buffer(1e-6 * length).covers(common.intersection(near))
        if impossible:
            assert not piece.lies(at)


@settings(max_examples=150, deadline=None)
@given(both=boxes(), length=st.floats(100.0, 900.0), width=st.floats(50.0, 380.0), side=st.integers(0, 3))
def test_what_lies_past_one_side_only(both: tuple[Box, list[Box]], length: float, width: float, side: int) -> None:
    box, inside = both
    piece = Piece.on(FLOORS[False], length, width)
    sides = piece.sides(box, X, Y)
    near, far = np.flatnonzero(sides == side)[:12], np.flatnonzero(sides == (side ^ 1))
    places = np.column_stack([X, Y])
    for at in inside:
        has, _ = piece.sort(at, X, Y)
        for k in near:
            if not has[k]:
                joined = piece.one_is_in(box, side, places[k], places[far])
                assert bool(has[far[joined]].all())
