"""The seat: against a general linear-program solver, and against the time that just reading the arrays takes."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

import numpy as np
from scipy.optimize import linprog
from threadpoolctl import threadpool_limits

from bench.row import Row
from bench.slabs import LENGTH, WIDTH, random_slab
from slabwright.geometry.faces import Face, Floats, Grid, as_scatter
from slabwright.geometry.planes import PlanePair
from slabwright.geometry.strip import widest_strip


def rows() -> Iterator[Row]:
    with threadpool_limits(limits=1):
        yield from _equal()
        yield _gridded(10_000_000)
        yield _scattered(10_000_000)
        yield _against_general(1_000_000)


def general_optimum(face_a: Face, face_b: Face) -> float:
    """Thickness by HiGHS: the vertical problem, turned into its own frame and solved again until the tilt is nil [mm]."""
    points_a, points_b = _centred(face_a, face_b)
    turn, best = np.eye(3), 0.0
    for _ in range(20):
        a, b, gap = _vertical(points_a @ turn.T, points_b @ turn.T)
        best = gap / float(np.sqrt(1.0 + a * a + b * b))
        normal = turn.T @ np.array([-a, -b, 1.0])
        turn = PlanePair(float(-normal[0] / normal[2]), float(-normal[1] / normal[2]), 0.0, 0.0).rotation()
        if max(abs(a), abs(b)) < 1e-7:
            break
    return best


def _centred(face_a: Face, face_b: Face) -> tuple[Floats, Floats]:
    upper, lower = as_scatter(face_a), as_scatter(face_b)
    points_a = np.column_stack([upper.x, upper.y, upper.z])
    points_b = np.column_stack([lower.x, lower.y, lower.z])
    middle = points_a.mean(axis=0)
    return points_a - middle, points_b - middle


def _vertical(points_a: Floats, points_b: Floats) -> tuple[float, float, float]:
    """Slopes and the greatest vertical distance of the two planes: the linear program with a row for each reading."""
    size = LENGTH / 2.0
    above = np.column_stack([points_a[:, :2] / size, np.ones(len(points_a)), np.zeros(len(points_a))])
    below = np.column_stack([-points_b[:, :2] / size, np.zeros(len(points_b)), -np.ones(len(points_b))])
    solved = linprog(
        [0.0, 0.0, -1.0, 1.0],
        A_ub=np.vstack([above, below]),
        b_ub=np.concatenate([points_a[:, 2], -points_b[:, 2]]),
        bounds=[(None, None)] * 4,
        method="highs",
    )
    if solved.x is None or solved.fun is None:
        raise RuntimeError(solved.message)
    return float(solved.x[0] / size), float(solved.x[1] / size), float(-solved.fun)


def _equal() -> Iterator[Row]:
    for kind, seeds in (("gridded", range(25)), ("scattered", range(25, 50))):
        apart, gap = 0.0, 0.0
        for seed in seeds:
            face_a, face_b = random_slab(seed, spacing=35.0, scattered=None if kind == "gridded" else 2000)
            strip = widest_strip(face_a, face_b)
            apart = max(apart, abs(general_optimum(face_a, face_b) - strip.thickness))
            gap = max(gap, strip.bound - strip.thickness)
        yield Row(
            f"seat, {kind}: equal to a general solver over {len(seeds)} slabs",
            f"at most {apart:.1e} mm apart",
            "HiGHS, value over sqrt(1 + a² + b²), in its own frame",
            None,
            "0.001 mm",
            apart <= 1e-3,
        )
        yield Row(
            f"seat, {kind}: bound over thickness, {len(seeds)} slabs",
            f"at most {gap:.1e} mm",
            "distance of two points of the hulls",
            None,
            "0.001 mm",
            gap <= 1e-3,
        )


def _gridded(readings: int) -> Row:
    face_a, face_b = random_slab(1, spacing=float(np.sqrt(LENGTH * WIDTH * 2.0 / readings)))
    if not isinstance(face_a, Grid):
        raise TypeError("a grid was asked for")
    once, ours = _side_by_side(
        lambda: (np.min(face_a.z), np.max(face_b.z)),
        lambda: widest_strip(face_a, face_b),
    )
    return _timed(f"seat, {_many(face_a, face_b)} gridded readings", ours, once, "one pass of minimum and maximum", 4.0)


def _scattered(readings: int) -> Row:
    face_a, face_b = random_slab(2, scattered=readings // 2)
    arrays = [values for face in (as_scatter(face_a), as_scatter(face_b)) for values in (face.x, face.y, face.z)]
    once, ours = _side_by_side(
        lambda: [np.min(values) for values in arrays],
        lambda: widest_strip(face_a, face_b),
    )
    return _timed(
        f"seat, {_many(face_a, face_b)} scattered readings", ours, once, "one reduction over each of x, y, z", 5.0
    )


def _against_general(readings: int) -> Row:
    face_a, face_b = random_slab(3, spacing=float(np.sqrt(LENGTH * WIDTH * 2.0 / readings)))
    ours = _median(lambda: widest_strip(face_a, face_b))
    points_a, points_b = _centred(face_a, face_b)
    begin = time.perf_counter()
    _vertical(points_a, points_b)
    general = time.perf_counter() - begin
    return Row(
        f"seat, {_many(face_a, face_b)} gridded readings against HiGHS",
        f"{ours * 1e3:.2f} ms",
        f"HiGHS, one vertical solve: {general:.1f} s",
        ours / general,
        "1,000 times faster",
        general >= 1000.0 * ours,
        f"{general / ours:,.0f} times faster",
    )


def _many(face_a: Face, face_b: Face) -> str:
    return f"{(len(face_a) + len(face_b)) / 1e6:.1f} million"


def _timed(name: str, ours: float, once: float, against: str, limit: float) -> Row:
    ratio = ours / once
    return Row(
        name,
        f"{ours * 1e3:.1f} ms",
        f"{against}: {once * 1e3:.1f} ms",
        ratio,
        f"at most {limit:g} times",
        ratio <= limit,
    )


def _median(work: Callable[[], object], times: int = 7) -> float:
    work()
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begin)
    return float(np.median(taken))


def _side_by_side(once: Callable[[], object], ours: Callable[[], object], times: int = 31) -> tuple[float, float]:
    """Medians of both, taken in turn so that a busy moment meets both."""
    once(), ours()
    taken: list[tuple[float, float]] = []
    for _ in range(times):
        begin = time.perf_counter()
        once()
        between = time.perf_counter()
        ours()
        taken.append((between - begin, time.perf_counter() - between))
    first, second = np.median(taken, axis=0)
    return float(first), float(second)
