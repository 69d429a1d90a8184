"""What each feature takes out of the top: upright solids with exact round shapes."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.geometry.faces import Floats
from slabwright.job.top_models import Bar, Channel, Feature, Insert, Key, Outlet, Placed, Pocket, ThroughHole
from slabwright.top.channel_path import rounded, without_repeats
from slabwright.top.layout_results import Solid
from slabwright.top.slots import JIG_RULE

Opening = tuple[float, float, float]
"""A pocket as cut: length, width, and the shift of its middle towards the far edge from its plate's [mm]."""


def opening_without_movement(pocket: Pocket, slack: float) -> Opening:
    """A pocket's opening where the movement is not known: the jig rule along, paint and placing across.

    Args:
        pocket: states the plate
        slack: paint and placing on one side [mm]
    """
    return pocket.length + max(JIG_RULE, 2.0 * slack), pocket.width + 2.0 * slack, 0.0


def rectangle(x: float, y: float, length: float, width: float) -> Polygon:
    """A rectangle about its middle: `length` along, `width` across [mm]."""
    return shapely.box(x - length / 2.0, y - width / 2.0, x + length / 2.0, y + width / 2.0)


def bow_tie(key: Key, at: tuple[float, float]) -> Polygon:
    """The outline of a key: straight flanks from its ends to its waist, turned against the grain."""
    u, v, w = key.length / 2.0, key.width / 2.0, key.waist / 2.0
    corners = np.array([(-u, -v), (0.0, -w), (u, -v), (u, v), (0.0, w), (-u, v)])
    turn = math.radians(key.turn)
    cos, sin = math.cos(turn), math.sin(turn)
    return Polygon(corners @ np.array([[cos, sin], [-sin, cos]]) + at)


def channel_path(channel: Channel) -> Floats:
    """The corners of a channel's path as stated, without repeats, shape (n, 2) [mm]."""
    return without_repeats(np.asarray(channel.path, dtype=np.float64))


def channel_line(channel: Channel) -> BaseGeometry:
    """The line that a channel's cutter runs along: a point where all its corners are one."""
    path = channel_path(channel)
    return Point(path[0]) if len(path) < 2 else LineString(rounded(path, channel.corner_radius))


def plan_of(
    feature: Feature, at: tuple[float, float] | None, opening: Opening | None
) -> list[tuple[BaseGeometry, float]]:
    """Cores and radii of what a feature takes out, in plan; nothing for worked edges.

    Args:
        feature: as stated
        at: its middle [mm]; None for what has none
        opening: of a pocket
    """
    if isinstance(feature, Channel):
        return [(channel_line(feature), feature.width / 2.0)]
    if not isinstance(feature, Placed) or at is None:
        return []
    if isinstance(feature, Pocket):
        length, width, shift = opening or (feature.length, feature.width, 0.0)
        return [(rectangle(at[0], at[1] + shift, length, width), 0.0)]
    if isinstance(feature, Bar):
        return [(rectangle(at[0], at[1], feature.width, feature.length), 0.0)]
    if isinstance(feature, Key):
        return [(bow_tie(feature, at), 0.0)]
    if isinstance(feature, Outlet):
        return [(Point(at), feature.diameter / 2.0), (Point(at), feature.recess_diameter / 2.0)]
    if isinstance(feature, Insert):
        return [(Point(at), feature.drill / 2.0)]
    assert isinstance(feature, ThroughHole)
    return [(Point(at), feature.diameter / 2.0)]


def depths_of(feature: Feature, thickness: float, sunk: float) -> list[tuple[float, float]]:
    """Upper and lower depth below the show face of each solid, in the order of `plan_of` [mm].

    Args:
        feature: as stated
        thickness: of the top [mm]
        sunk: depth of the pocket that a hole lies in [mm]
    """
    if isinstance(feature, ThroughHole):
        return [(0.0, thickness)]
    if isinstance(feature, Outlet):
        return [(0.0, thickness), (thickness - feature.recess_depth, thickness)]
    if isinstance(feature, Insert):
        start, end = sunk, sunk + feature.depth
    elif isinstance(feature, Pocket | Bar | Channel | Key):
        start, end = 0.0, feature.depth
    else:
        start, end = 0.0, feature.size
    return [(start, end) if feature.face == "show" else (thickness - end, thickness - start)]


def solids_of(
    feature: Feature, at: tuple[float, float] | None, opening: Opening | None, thickness: float, sunk: float
) -> tuple[Solid, ...]:
    """What a feature takes out.

    Args:
        feature: as stated
        at: its middle [mm]; None for what has none
        opening: of a pocket
        thickness: of the top [mm]
        sunk: depth of the pocket that a hole lies in [mm]
    """
    plans = plan_of(feature, at, opening)
    depths = depths_of(feature, thickness, sunk)
    return tuple(
        Solid(core, radius, upper, lower) for (core, radius), (upper, lower) in zip(plans, depths, strict=False)
    )


class Edges:
    """The outline of a top: where its edges are at a place, and which part of its border is which edge."""

    def __init__(self, outline: Polygon) -> None:
        """Take the outline apart, in the top's frame [mm]."""
        corners: Floats = np.asarray(outline.exterior.coords, dtype=np.float64)[:-1]
        if not outline.exterior.is_ccw:
            corners = corners[::-1]
        self.corners = corners
        self.left, self.right = float(corners[:, 0].min()), float(corners[:, 0].max())
        self.low, self.high = float(corners[:, 1].min()), float(corners[:, 1].max())

    def across(self, x: float) -> tuple[float, float]:
        """Y of the near and the far edge at a place along; beyond an end: at that end [mm]."""
        x = min(max(x, self.left), self.right)
        start, end = self.corners, np.roll(self.corners, -1, axis=0)
        held = (np.minimum(start[:, 0], end[:, 0]) <= x) & (np.maximum(start[:, 0], end[:, 0]) >= x)
        start, end = start[held], end[held]
        run = end[:, 0] - start[:, 0]
        upright = np.abs(run) < 1e-12
        share = np.where(upright, 0.0, (x - start[:, 0]) / np.where(upright, 1.0, run))
        y = np.concatenate([start[:, 1] + share * (end[:, 1] - start[:, 1]), end[upright, 1]])
        return float(y.min()), float(y.max())

    def lines(self) -> dict[str, LineString]:
        """The four edges: the ends are what runs between the outermost corners at both ends."""
        size = len(self.corners)
        slack = max(0.5, 1e-4 * (self.right - self.left))
        x, y = self.corners.T

        def span(at: float) -> tuple[int, int]:
            near = np.flatnonzero(np.abs(x - at) <= slack)
            return int(near[np.argmin(y[near])]), int(near[np.argmax(y[near])])

        (left_low, left_high), (right_low, right_high) = span(self.left), span(self.right)

        def part(start: int, end: int) -> LineString:
            count = (end - start) % size
            taken = [self.corners[(start + step) % size] for step in range(count + 1)]
            return LineString(taken if len(taken) > 1 else [taken[0], taken[0]])

        return {
            "left end": part(left_high, left_low),
            "right end": part(right_low, right_high),
            "near edge": part(left_low, right_low),
            "far edge": part(right_high, left_high),
        }
