"""Thickness against fill: its time, its gap to the bound, and the whole linear program beside it."""

from __future__ import annotations

import time
from collections.abc import Iterator

import numpy as np
from shapely import box

from bench.row import Row
from bench.slabs import LENGTH, WIDTH, random_slab
from slabwright.geometry.cells import reading_areas
from slabwright.geometry.faces import Face, as_scatter
from slabwright.geometry.planes import PlanePair
from slabwright.geometry.strip import widest_strip
from slabwright.slab.patch import FrontPoint
from slabwright.slab.patches import patch_front

REGION = box(0.0, 0.0, LENGTH, WIDTH)
GREATEST_GAP = 0.01


def rows() -> Iterator[Row]:
    """Each claim about thickness against fill, measured."""
    gaps: list[float] = []
    for rough in (0.05, 0.3, 1.0):
        face_a, face_b = random_slab(5, spacing=1.325, rough=rough)
        lie = widest_strip(face_a, face_b).planes
        taken, points = _timed(face_a, face_b, lie)
        gaps += [point.bound - point.thickness for point in points]
        yield Row(
            f"thickness against fill, {len(points)} points on {len(face_a) / 1e6:.2f} million gridded readings a face, "
            f"roughness {rough:g} mm",
            f"{taken:.2f} s",
            "1.5 s",
            taken / 1.5,
            "at most 1.5 s",
            taken <= 1.5,
            f"greatest gap to the bound {max(gaps[-len(points) :]):.4f} mm",
        )
    for readings, seed in ((2_000, 6), (10_000, 7), (50_000, 8)):
        yield from _against_whole_program(readings, seed, gaps)
    for seed in range(20):
        face_a, face_b = random_slab(seed, spacing=20.0)
        lie = widest_strip(face_a, face_b).planes
        for shown in ("A", "B"):
            points = patch_front(face_a, face_b, REGION, lie, show_face="A" if shown == "A" else "B")
            gaps += [point.bound - point.thickness for point in points]
    yield Row(
        f"thickness against fill, greatest gap to the bound over {len(gaps)} points",
        f"{max(gaps):.4f} mm",
        f"{GREATEST_GAP} mm",
        max(gaps) / GREATEST_GAP,
        "at most 0.01 mm",
        max(gaps) <= GREATEST_GAP,
    )


def _timed(face_a: Face, face_b: Face, lie: PlanePair, times: int = 3) -> tuple[float, tuple[FrontPoint, ...]]:
    """Median time of the whole front, cells and frame included, and its points."""
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        points = patch_front(face_a, face_b, REGION, lie)
        taken.append(time.perf_counter() - begin)
    return float(np.median(taken)), points


def _against_whole_program(readings: int, seed: int, gaps: list[float]) -> Iterator[Row]:
    face_a, face_b = random_slab(seed, spacing=float(np.sqrt(LENGTH * WIDTH * 2.0 / readings)))
    lie = widest_strip(face_a, face_b).planes
    taken, points = _timed(face_a, face_b, lie)
    gaps += [point.bound - point.thickness for point in points]
    chosen = [points[index] for index in np.linspace(1, len(points) - 1, 4).round().astype(int)]
    general, apart = 0.0, 0.0
    for point in chosen:
        begin = time.perf_counter()
        best = whole_program(face_a, face_b, lie, point.price_area)
        general += time.perf_counter() - begin
        apart = max(apart, abs(best - (point.thickness - point.fill_volume / point.price_area)))
    ours, theirs = taken / len(points), general / len(chosen)
    size = len(face_a) + len(face_b)
    yield Row(
        f"thickness against fill, equal to the whole linear program on {size:,} readings",
        f"{apart:.5f} mm apart",
        f"HiGHS at {len(chosen)} prices",
        None,
        "within 0.005 mm",
        apart <= 0.005,
    )
    largest = readings >= 50_000
    yield Row(
        f"thickness against fill, a point on {size:,} readings against HiGHS",
        f"{ours * 1e3:.2f} ms",
        f"HiGHS, a point: {theirs * 1e3:,.0f} ms",
        ours / theirs,
        "200 times faster" if largest else "told: 200 times is asked of 50,000 readings",
        theirs >= 200.0 * ours if largest else None,
        f"{theirs / ours:,.0f} times faster",
    )


def whole_program(face_a: Face, face_b: Face, lie: PlanePair, price_area: float) -> float:
    """Greatest c - d - (1/K) sum w s by HiGHS, with s >= a x + b y + c - z and s >= 0, in the frame of the lie [mm]."""
    import scipy.sparse
    from scipy.optimize import linprog

    weights = reading_areas(face_a, REGION)
    if weights.ndim == 2:
        weights = weights.ravel()
    upper, lower = (
        lie.to_seat(np.column_stack([points.x, points.y, points.z])) for points in map(as_scatter, (face_a, face_b))
    )
    middle = upper.mean(axis=0) * [1.0, 1.0, 0.0]
    upper, lower = upper - middle, lower - middle
    n, m = len(upper), len(lower)
    above = np.column_stack([upper[:, :2], np.ones(n), np.zeros(n)])
    below = np.column_stack([-lower[:, :2], np.zeros(m), -np.ones(m)])
    own = scipy.sparse.vstack([-scipy.sparse.eye_array(n), scipy.sparse.csr_array((m, n))])
    answer = linprog(
        np.concatenate([[0.0, 0.0, -1.0, 1.0], weights * lie.slant / price_area]),
        A_ub=scipy.sparse.hstack([scipy.sparse.csr_array(np.vstack([above, below])), own], format="csr"),
        b_ub=np.concatenate([upper[:, 2], -lower[:, 2]]),
        bounds=[(None, None)] * 4 + [(0, None)] * n,
        method="highs",
    )
    return -float(answer["fun"])
