"""The layout of the top: clearances against a distance check by hand, and how long a check takes."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from typing import Any

import numpy as np
import shapely
from shapely import Polygon

from bench.row import Row
from slabwright.geometry.faces import Floats
from slabwright.job.top_models import Top
from slabwright.top import clearance_rules as rule
from slabwright.top.clearances import clearances
from slabwright.top.layout import layout
from slabwright.top.layout_findings import layout_findings
from slabwright.top.layout_results import Layout, Solid

THICKNESS = 50.0


def live_outline(rng: np.random.Generator, length: float = 2200.0, width: float = 850.0) -> Polygon:
    """A top with straight ends and both long edges live."""
    x = np.linspace(0.0, length, 60)
    waves = [
        sum(rng.uniform(4, 25) * np.sin(x / rng.uniform(90, 500) + rng.uniform(0, 6)) for _ in range(3))
        for _ in range(2)
    ]
    near, far = np.column_stack([x, -width / 2 + waves[0]]), np.column_stack([x, width / 2 + waves[1]])
    return Polygon(np.vstack([near, far[::-1]]))


def random_features(rng: np.random.Generator, count: int, length: float = 2200.0, width: float = 850.0) -> list[Any]:
    """Features of every kind that takes wood out, strewn over the top."""
    found = []
    for number in range(count):
        kind = ("pocket", "insert", "through hole", "outlet", "channel", "key", "bar")[rng.integers(7)]
        face = ("show", "underside")[rng.integers(2)]
        at = {"along_from": "left end", "along": rng.uniform(60, length - 60)}
        at |= {"across_from": "centre line", "across": rng.uniform(-0.45, 0.45) * width}
        every: dict[str, dict[str, Any]] = {
            "pocket": {"length": rng.uniform(40, 160), "width": rng.uniform(40, 300), "depth": rng.uniform(3, 14)},
            "insert": {"drill": rng.uniform(8, 16), "depth": rng.uniform(14, 35)},
            "through hole": {"diameter": rng.uniform(5, 60)},
            "outlet": {"diameter": 60.0, "recess_diameter": rng.uniform(70, 110), "recess_depth": rng.uniform(5, 30)},
            "channel": {
                "path": [
                    [rng.uniform(60, length - 60), rng.uniform(-0.45, 0.45) * width] for _ in range(rng.integers(2, 5))
                ],
                "width": rng.uniform(8, 24),
                "depth": rng.uniform(8, 20),
                "corner_radius": rng.uniform(0, 60),
            },
            "key": {
                "length": rng.uniform(50, 120),
                "width": 34.0,
                "waist": 18.0,
                "depth": rng.uniform(6, 14),
                "turn": rng.uniform(-90, 90),
            },
            "bar": {"length": rng.uniform(200, 600), "width": 40.0, "height": 8.0, "depth": rng.uniform(8, 20)},
        }
        found.append(
            {"kind": kind, "name": f"f{number}", "face": face, **every[kind]} | ({} if kind == "channel" else at)
        )
    return found


def _segments(core: Any) -> tuple[Floats, Floats]:
    """Start and end of every straight piece of a core's border; a point is a piece of no length."""
    corners = shapely.get_coordinates(core)
    return (corners, corners) if len(corners) == 1 else (corners[:-1], corners[1:])


def _to_segments(points: Floats, start: Floats, end: Floats) -> float:
    """Least distance of points from pieces."""
    run = end - start
    square = np.maximum((run**2).sum(axis=1), 1e-300)
    share = np.clip(((points[:, None] - start) * run).sum(axis=2) / square, 0.0, 1.0)
    return float(np.hypot(*np.moveaxis(points[:, None] - start - share[..., None] * run, 2, 0)).min())


def _cross(first: tuple[Floats, Floats], second: tuple[Floats, Floats]) -> bool:
    """Whether two sets of pieces cross."""

    def side(a: Floats, b: Floats, c: Floats) -> Floats:
        found: Floats = (b[..., 0] - a[..., 0]) * (c[..., 1] - a[..., 1]) - (b[..., 1] - a[..., 1]) * (
            c[..., 0] - a[..., 0]
        )
        return found

    a, b = first[0][:, None], first[1][:, None]
    c, d = second[0][None], second[1][None]
    apart = (side(a, b, c) * side(a, b, d) < 0) & (side(c, d, a) * side(c, d, b) < 0)
    return bool(apart.any())


def _holds_point(corners: Floats, point: Floats) -> bool:
    """Whether a closed loop goes round a point: crossings of a ray, counted."""
    start, end = corners[:-1], corners[1:]
    over = (start[:, 1] > point[1]) != (end[:, 1] > point[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        x = start[:, 0] + (point[1] - start[:, 1]) / (end[:, 1] - start[:, 1]) * (end[:, 0] - start[:, 0])
    return bool((over & (x > point[0])).sum() % 2)


def cores_apart(first: Any, second: Any) -> float:
    """Least distance of two cores by comparing every piece with every other; 0 where they meet."""
    one, other = _segments(first), _segments(second)
    if _cross(one, other):
        return 0.0
    for loop, point in ((first, other[0][0]), (second, one[0][0])):
        if loop.geom_type == "Polygon" and _holds_point(shapely.get_coordinates(loop), point):
            return 0.0
    return min(
        _to_segments(np.vstack([one[0], one[1][-1:]]), *other), _to_segments(np.vstack([other[0], other[1][-1:]]), *one)
    )


def apart_by_hand(first: tuple[Solid, ...], second: tuple[Solid, ...]) -> float:
    """Least distance in space of two features."""
    return min(
        math.hypot(
            max(0.0, cores_apart(one.core, other.core) - one.radius - other.radius),
            max(0.0, one.upper - other.lower, other.upper - one.lower),
        )
        for one in first
        for other in second
    )


def greatest_miss(placed: Layout, reach: float) -> tuple[float, int]:
    """The most that a clearance differs from the check by hand, and how many were compared."""
    found = clearances(placed, reach=reach)
    told = {(one.first, one.second): one.distance for one in found if one.rule == rule.BETWEEN}
    edges = {one.first: one.distance for one in found if one.rule == rule.EDGE}
    worst, count = 0.0, 0
    loop = placed.outline.exterior
    for number, first in enumerate(placed.features):
        by_hand = min(cores_apart(loop, solid.core) - solid.radius for solid in first.solids)
        inside = all(
            _holds_point(shapely.get_coordinates(loop), corner)
            for solid in first.solids
            for corner in shapely.get_coordinates(solid.core)
        ) and all(cores_apart(loop, solid.core) > 0 for solid in first.solids)
        worst = max(
            worst, abs(edges[first.name] - by_hand) if inside else (0.0 if edges[first.name] <= 0.0 else math.inf)
        )
        count += 1
        for second in placed.features[number + 1 :]:
            distance = apart_by_hand(first.solids, second.solids)
            pair = (first.name, second.name)
            if pair in placed.meant:
                continue
            if pair in told:
                worst = max(worst, abs(told[pair] - distance))
            elif distance <= reach - 1e-6:
                worst = math.inf
            count += 1
    return worst, count


def rows() -> Iterator[Row]:
    """Exactness and speed of the check."""
    yield _exact()
    yield from _speed()


def _exact(layouts: int = 1_000, features: int = 8) -> Row:
    worst, count = 0.0, 0
    for seed in range(layouts):
        rng = np.random.default_rng(seed)
        placed = layout(Top.model_validate({"features": random_features(rng, features)}), live_outline(rng), THICKNESS)
        one, compared = greatest_miss(placed, 200.0)
        worst, count = max(worst, one), count + compared
    return Row(
        f"layout: clearances of {layouts:,} random layouts",
        f"differ by at most {worst:.1e} mm",
        f"every piece of border against every other, {count:,} distances",
        None,
        "equal, within 1e-6 mm",
        worst <= 1e-6,
    )


def ordered_features(count: int = 40) -> list[dict[str, Any]]:
    """Features in rows that keep clear of each other, as a drawing has them."""
    found: list[dict[str, Any]] = []
    for number in range(count):
        column, row = number % 10, number // 10
        at = {
            "name": f"f{number}",
            "along_from": "left end",
            "along": 150.0 + 200.0 * column,
            "across_from": "centre line",
            "across": -270.0 + 180.0 * row,
        }
        kinds: list[dict[str, Any]] = [
            {"kind": "pocket", "length": 100.0, "width": 120.0, "depth": 8.0},
            {"kind": "insert", "drill": 12.0, "depth": 25.0},
            {"kind": "outlet", "diameter": 60.0, "recess_diameter": 80.0, "recess_depth": 15.0, "nut_diameter": 100.0},
            {"kind": "key", "length": 80.0, "width": 34.0, "waist": 18.0, "depth": 12.0},
            {"kind": "through hole", "diameter": 30.0},
        ]
        found.append(kinds[number % 5] | at)
    return found


def _speed(times: int = 15) -> Iterator[Row]:
    rng = np.random.default_rng(1)
    outline = live_outline(rng)
    clear = Top.model_validate({"features": ordered_features()})
    strewn = Top.model_validate({"features": random_features(rng, 40)})
    for name, top, limit in (("in rows", clear, 0.020), ("strewn at random", strewn, None)):
        took = []
        for _ in range(times):
            started = time.perf_counter()
            placed = layout(top, outline, THICKNESS)
            found = clearances(placed)
            took.append(time.perf_counter() - started)
        started = time.perf_counter()
        told = layout_findings(placed, found, "metric")
        spent = time.perf_counter() - started
        took_most = float(np.median(took)) + (spent if limit else 0.0)
        yield Row(
            f"layout: 40 features {name}, laid out and checked" + (", problems told" if limit else ""),
            f"{1e3 * took_most:.1f} ms",
            "20 ms",
            took_most / 0.020,
            "under 20 ms",
            took_most < 0.020,
            f"{len(told)} problems, {1e3 * spent:.0f} ms for their remedies, each laid out and checked anew",
        )
