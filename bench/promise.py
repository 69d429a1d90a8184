"""The promise: is the board as thick as was promised, 19 times in 20?

Three hundred invented slabs of which everything is known are read as a maker would read them; the lie of the readings is
found, the thickness promised, and the board then measured on the whole slab at that lie.
"""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np
from shapely import box

from bench.row import Row
from bench.truths import readings, truth
from slabwright.geometry.faces import Scatter
from slabwright.geometry.strip import widest_strip
from slabwright.slab.hidden import hidden_surface
from slabwright.slab.promise import between_readings, promise
from slabwright.slab.survey import Survey

SEEDS = 25
GAUGE = 0.1
CLASSES = tuple(product((False, True), (50.0, 100.0, 200.0), (True, False)))


@dataclass(frozen=True)
class Case:
    """One slab: what was promised of it, and what it gave."""

    kind: tuple[bool, float, bool]
    read: float
    low: float
    even: float
    board: float
    seconds: float


def survey_of(face_a: Scatter, face_b: Scatter, length: float, width: float, spacing: float) -> Survey:
    """A survey whose clean region is a rectangle from the origin."""
    region = box(0.0, 0.0, length, width)
    inside = min(face_a.x.min(), face_a.y.min())
    return Survey(
        readings_a=len(face_a),
        readings_b=len(face_b),
        clean_a=len(face_a),
        clean_b=len(face_b),
        length=length,
        width=width,
        area=region.area,
        spacing=spacing,
        unread_border=float(inside),
        thickness_least=float((face_a.z - face_b.z).min()),
        thickness_most=float((face_a.z - face_b.z).max()),
        sag=None,
        tie=None,
        face_a=face_a,
        face_b=face_b,
        all_a=face_a,
        all_b=face_b,
        outline_a=region,
        outline_b=region,
        region_a=region,
        region_b=region,
    )


def case(seed: int, rough: bool, spacing: float, border: bool) -> Case:
    """Read a slab, promise a thickness, and measure the board."""
    slab = truth(seed, rough)
    face_a, face_b = readings(slab, spacing, border, GAUGE, seed)
    lie = widest_strip(face_a, face_b).planes
    survey = survey_of(face_a, face_b, float(slab.x[-1]), float(slab.y[-1]), spacing)
    start = time.perf_counter()
    between = between_readings(hidden_surface(survey, reading_error=GAUGE), lie)
    seconds = time.perf_counter() - start
    promised = promise(
        lie.thickness,
        between,
        tie=None,
        tie_point=(0.0, 0.0),
        shim_loss=0.0,
        shim_error=0.0,
        z_zero_error=0.0,
        marks_and_sanding=0.0,
    )
    board = slab.thickness(lie.a, lie.b)
    return Case((rough, spacing, border), lie.thickness, promised.low, promised.even, board, seconds)


def rows() -> Iterator[Row]:
    jobs = [(1000 * k + i, *kind) for k, kind in enumerate(CLASSES) for i in range(SEEDS)]
    with multiprocessing.get_context("spawn").Pool(2) as pool:
        cases = pool.starmap(case, jobs, chunksize=5)
    kept = np.array([c.board >= c.low for c in cases])
    loss = np.array([c.read - c.low for c in cases])
    true_loss = np.array([c.read - c.board for c in cases])
    read_kept = np.mean(true_loss <= 0.0)
    even = np.mean([c.board >= c.even for c in cases])
    share = float(kept.mean())
    constant = float(np.quantile(true_loss, share))
    yield Row(
        "promise kept",
        f"{100.0 * share:.1f} % of {len(cases)} slabs",
        "95 %",
        share / 0.95,
        "93 to 98 %",
        0.93 <= share <= 0.98,
        "; ".join(_told(kind, cases) for kind in CLASSES),
    )
    yield Row(
        "promise, median taken off the thickness of the readings",
        f"{np.median(loss):.2f} mm",
        f"{np.median(true_loss):.2f} mm really lost; {constant:.2f} mm off every slab alike would be kept as often",
        float(np.median(loss)) / constant,
        "less than the same off every slab",
        bool(np.median(loss) < constant),
        f"even-chance thickness kept by {100.0 * even:.0f} %; the thickness of the readings alone by {100.0 * read_kept:.0f} %",
    )
    seconds = [c.seconds for c in cases if c.kind[1] == 50.0]
    yield Row(
        "promise, time for about 950 readings a face",
        f"{np.median(seconds):.2f} s",
        "0.6 s",
        float(np.median(seconds)) / 0.6,
        "told (two at a time)",
        None,
    )


def _told(kind: tuple[bool, float, bool], cases: list[Case]) -> str:
    """One class in a few words."""
    mine = [c for c in cases if c.kind == kind]
    words = f"{'rough' if kind[0] else 'smooth'} {kind[1]:.0f} mm {'border read' if kind[2] else 'border unread'}"
    kept = sum(c.board >= c.low for c in mine)
    promised, really = np.median([c.read - c.low for c in mine]), np.median([c.read - c.board for c in mine])
    return f"{words}: {kept}/{len(mine)}, off {promised:.2f}, really {really:.2f} mm"
