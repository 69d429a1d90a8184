"""Cables against brute force: lengths along drawn curves, bends through holes, bodies round corners, ties on any way."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon, affinity, box

from slabwright.carry.cables import bends, held_at, ties
from slabwright.carry.cables_path import (
    Point,
    bend_through,
    cleaned,
    lengths,
    longest_round_corner,
    rectangle_in_rectangle,
    turns,
)
from slabwright.job.cable_models import Cable
from slabwright.top.channel_path import rounded, without_repeats

sizes = st.floats(2.0, 80.0)
places = st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), min_size=2, max_size=7)


def way_of(corners: list[tuple[int, int]], radius: float) -> list[Point]:
    return cleaned(
        [Point((50.0 * x, 50.0 * y, 40.0), radius, stretch=1 if k else 0) for k, (x, y) in enumerate(corners)]
    )


@given(places, st.floats(0.0, 60.0))
@settings(deadline=None)
def test_a_length_is_that_of_the_drawn_curve(corners: list[tuple[int, int]], radius: float) -> None:
    way = way_of(corners, radius)
    assume(len(way) >= 2)
    assume(all(turn.turn < 3.0 for turn in turns(way)))
    path = without_repeats(np.array([point.at[:2] for point in way]))
    drawn = LineString(rounded(path, radius)).length
    assert lengths(way)[-1] == pytest.approx(drawn, rel=2e-3, abs=0.05)
    assert lengths(way) == sorted(lengths(way))


@given(places, st.floats(0.0, 60.0), st.floats(60.0, 500.0))
@settings(deadline=None)
def test_ties_follow_the_cable_and_keep_out_of_bends(
    corners: list[tuple[int, int]], radius: float, every: float
) -> None:
    way = way_of(corners, radius)
    assume(len(way) >= 2)
    cable = Cable.model_validate(
        {"name": "c", "outlet": "o", "diameter": 6, "through": [{"channel": "a"}], "tie_every": every}
    )
    stations = lengths(way)
    held = ties(cable, way, stations)
    at = [tie.at for tie in held]
    assert at == sorted(at)
    assert 0.0 <= at[0] <= at[-1] <= stations[-1] + 1e-6
    line = LineString([point.at[:2] for point in way])
    for tie in held:
        assert line.distance(box(tie.along, tie.across, tie.along, tie.across).centroid) < 1e-6
    assert [tie.number for tie in held] == list(range(1, len(held) + 1))
    assert len(bends(cable, way, stations)) == len(turns(way))


@given(st.floats(0.0, 1e3), st.floats(50.0, 5e3), st.floats(50.0, 600.0))
def test_no_two_ties_of_a_straight_are_too_far_apart(start: float, long: float, most: float) -> None:
    held = held_at(start, start + long, most)
    assert start <= held[0] <= held[-1] <= start + long
    assert held[0] - start <= max(50.0, long / 2.0) + 1e-6
    assert all(b - a <= most + 1e-6 for a, b in pairwise(held))


@given(st.floats(8.0, 80.0), st.floats(1.0, 10.0), st.floats(4.0, 40.0), st.floats(3.0, 16.0))
@settings(deadline=None)
def test_a_bend_through_a_hole_is_the_widest_that_the_hole_lets_by(
    room: float, wall: float, opening: float, cable: float
) -> None:
    radius = bend_through(room, wall, opening, cable)
    if opening < cable or room < cable:
        assert radius == 0.0
        return
    assert _width(radius, room, wall, cable) <= opening + 0.02
    if radius < 9e3:
        assert _width(radius * 1.01 + 0.1, room, wall, cable) > opening - 0.02
    assert radius >= room - cable - 1e-6


def _width(radius: float, room: float, wall: float, cable: float) -> float:
    """What a quarter bend takes of a hole in the wall, read off points of its two sides."""
    turn = np.linspace(0.0, math.pi / 2.0, 20_001)
    inner = np.column_stack([radius * np.sin(turn), radius * np.cos(turn) - radius])
    outer = np.column_stack([(radius + cable) * np.sin(turn), (radius + cable) * np.cos(turn) - radius])
    # The far side of the space touches the outer side at its highest place.
    top, face = cable, cable - room
    assert outer[0, 1] == pytest.approx(top)
    low = face - wall

    def across(side: np.ndarray, level: float) -> float:
        return float(np.interp(-level, -side[:, 1], side[:, 0]))

    return across(outer, max(low, outer[-1, 1])) - across(inner, max(face, inner[-1, 1]))


@given(sizes, sizes, sizes, sizes)
@settings(deadline=None)
def test_a_rectangle_in_another_against_every_turn(p: float, q: float, a: float, b: float) -> None:
    angles = np.linspace(0.0, math.pi / 2.0, 2001)
    wide = p * np.cos(angles) + q * np.sin(angles)
    high = p * np.sin(angles) + q * np.cos(angles)
    slack = float(np.max(np.minimum(a - wide, b - high)))
    assume(abs(slack) > 0.05)
    assert rectangle_in_rectangle((p, q), (a, b)) is (slack > 0.0)


@given(st.floats(1.0, 20.0), st.floats(21.0, 60.0), st.floats(21.0, 60.0))
@settings(deadline=None, max_examples=40)
def test_a_body_round_a_corner_against_poses(width: float, first: float, second: float) -> None:
    longest = longest_round_corner(width, first, second)
    corner = Polygon([(first, second), (first, 1e4), (1e4, 1e4), (1e4, second)])

    def goes(length: float) -> bool:
        for t in np.linspace(0.0, math.pi / 2.0, 91):
            body = affinity.rotate(box(0.0, 0.0, length, width), -math.degrees(t), origin=(0.0, 0.0), use_radians=False)
            x0, y0, _, _ = body.bounds
            if affinity.translate(body, -x0, -y0).intersection(corner).area > 1e-3:
                return False
        return True

    assert goes(longest - 0.1)
    assert not goes(longest + 1.0)
