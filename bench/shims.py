"""Shims: the stacks against every combination, the three that carry against a rigid body that sinks, and how long it takes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from itertools import combinations, product
from time import perf_counter
from typing import Any

import numpy as np
from scipy.optimize import linprog
from shapely import Polygon

from bench.row import Row
from bench.slabs import LENGTH, WIDTH, random_slab
from slabwright.geometry.faces import Face, Floats
from slabwright.geometry.strip import widest_strip
from slabwright.job.models import Bed, Shims
from slabwright.slab.laid import Laid, lay
from slabwright.slab.shim_results import ShimPlan
from slabwright.slab.shims import shims
from slabwright.slab.survey import Survey

_DENSITY, _MODULUS = 680.0, 12_000.0


def _survey(face_a: Face, face_b: Face) -> Survey:
    outline = Polygon([(0, 0), (LENGTH, 0), (LENGTH, WIDTH), (0, WIDTH)])
    told: dict[str, Any] = {field.name: None for field in fields(Survey)}
    for letter, face in (("a", face_a), ("b", face_b)):
        told |= {f"face_{letter}": face, f"all_{letter}": face, f"outline_{letter}": outline}
    return Survey(**told)


def _planned(
    seed: int, bed: Bed, stock: Shims, down_force: float, scattered: int
) -> tuple[ShimPlan, Laid, Survey, float]:
    face_a, face_b = random_slab(seed, scattered=scattered)
    survey = _survey(face_a, face_b)
    planes = widest_strip(face_a, face_b).planes
    start = perf_counter()
    plan = shims(
        survey,
        planes,
        down_face="B",
        bed=bed,
        stock=stock,
        down_force=down_force,
        density=_DENSITY,
        modulus=_MODULUS,
    )
    took = perf_counter() - start
    return plan, lay(survey, planes, "B", bed, _DENSITY), survey, took


def rows() -> Iterator[Row]:
    """Every claim of the stacks as a row."""
    yield _against_enumeration()
    yield from _against_a_rigid_body()
    yield _what_it_takes()


def _against_enumeration(slabs: int = 20) -> Row:
    stock = Shims(thicknesses=[1.0, 2.5], most_pieces=3)
    pads = [(300.0, 120.0), (260.0, 830.0), (2150.0, 470.0), (1230.0, 840.0), (1250.0, 110.0)]
    worst, ours, theirs, told = 0.0, 0.0, 0.0, 0.0
    for seed in range(slabs):
        bed = Bed(pads=pads, greatest_sag=99.0)
        plan, laid, survey, took = _planned(seed, bed, stock, 0.0, 400)
        start = perf_counter()
        least = _counted_out(stock, laid, survey, plan.roughness)
        theirs += perf_counter() - start
        ours += took
        worst, told = max(worst, abs(plan.loss - least)), max(told, least)
    return Row(
        "shims: thickness lost, against every combination of stacks",
        f"greatest difference {worst:.2e} mm",
        f"all {len(_heights(stock)) ** len(pads)} combinations on each of {slabs} slabs",
        ours / theirs,
        "equal (within 0.000001 mm)",
        worst < 1e-6,
        f"losses up to {told:.2f} mm with two kinds of shim; the ratio is of time",
    )


def _heights(stock: Shims) -> list[float]:
    kinds = [0.0, *stock.thicknesses]
    return sorted({round(sum(parts), 9) for parts in product(kinds, repeat=stock.most_pieces)})


def _counted_out(stock: Shims, laid: Laid, survey: Survey, roughness: float) -> float:
    """Least loss of every combination: each rests on a plane through three tops that no other top and no wood spoils."""
    top = laid.centred(laid.frame.face(survey.face_a))
    under = laid.centred(laid.frame.face(survey.face_b))
    clear = np.vstack([under - np.array([0.0, 0.0, roughness]), np.column_stack([laid.about, laid.height])])
    contact = np.array(list(product(_heights(stock), repeat=len(laid.about)))) - laid.height
    found: list[Floats] = [np.zeros((0, 2))]
    for three in combinations(range(len(laid.about)), 3):
        corners = np.column_stack([laid.about[list(three)], np.ones(3)])
        if abs(np.linalg.det(corners)) < 1.0 or (np.linalg.solve(corners.T, [0.0, 0.0, 1.0]) < -1e-9).any():
            continue
        planes = contact[:, list(three)] @ np.linalg.inv(corners).T
        free = (contact - planes[:, :2] @ laid.about.T - planes[:, 2:]).max(axis=1) <= 1e-9
        planes = planes[free]
        room = (planes[:, :2] @ clear[:, :2].T + planes[:, 2:] + clear[:, 2]).min(axis=1)
        found.append(planes[room >= -1e-9, :2])
    tilts = np.vstack([[0.0, 0.0], np.unique(np.vstack(found), axis=0)])
    thick = (top[:, 2] + tilts @ top[:, :2].T).min(axis=1) - (under[:, 2] + tilts @ under[:, :2].T).max(axis=1)
    thick = thick / np.sqrt(1.0 + (tilts**2).sum(axis=1))
    return float(max(thick[0] - thick[1:].max(), 0.0))


def _against_a_rigid_body(slabs: int = 200) -> Iterator[Row]:
    worst, discs, standing, safe = 0.0, [], 0, 0
    for seed in range(slabs):
        plan, laid, survey, _ = _planned(1_000 + seed, Bed(), Shims(), 60.0, 1_000)
        if not any(stack.carries for stack in plan.stacks):
            continue
        standing += 1
        safe += plan.tip_margin >= 0.0
        heights = np.array([stack.height for stack in plan.stacks])
        a, b, c = plan.standing
        centre = laid.borne.centre
        ours = np.array([a, b, c + a * centre[0] + b * centre[1] + laid.zero])
        sunk = _sunk(laid.about, heights - laid.height)
        reach = np.array([LENGTH / 2.0, WIDTH / 2.0, 1.0])
        worst = max(worst, float((np.abs(sunk - ours) * reach).max()))
        wood = laid.centred(laid.frame.face(survey.all_b)) - np.array([0.0, 0.0, plan.roughness])
        over = np.hypot(*(wood[:, None, :2] - laid.about).transpose(2, 0, 1)) <= Bed().pad_diameter / 2.0
        reading, pad = np.nonzero(over)
        each = _sunk(wood[reading, :2], heights[pad] - wood[reading, 2])
        discs.append(float((np.abs(each - ours) * reach).max()))
    yield Row(
        "shims: the three that carry, against a rigid body that sinks as far as it can",
        f"greatest difference {worst:.2e} mm at the slab's corners",
        f"general linear solver (HiGHS) on {standing} of {slabs} random slabs",
        None,
        "equal (within 0.000001 mm)",
        worst < 1e-6 and standing == slabs,
        f"{safe} of {slabs} hold the cutter on three stacks alone, before wedging",
    )
    yield Row(
        "shims: what counting a pad as one point leaves out",
        f"{np.median(discs):.3f} mm in the middle, {np.percentile(discs, 95):.3f} mm at 19 in 20",
        "every reading over every pad as a contact of its own, the same solver",
        None,
        "told",
        None,
        "greatest shift of the slab's corners; a stack's own error is 0.1 mm",
    )


def _sunk(places: Floats, elevation: Floats) -> Floats:
    """Pose (a, b, c) about the centre of mass of least height with no top inside the wood."""
    scale = np.array([1e-3, 1e-3, 1.0])
    solved = linprog(
        [0.0, 0.0, 1.0],
        A_ub=-np.column_stack([places, np.ones(len(places))]) * scale,
        b_ub=-elevation,
        bounds=[(None, None)] * 3,
        method="highs",
    )
    assert solved.x is not None, solved.message
    return np.asarray(solved.x * scale, dtype=np.float64)


def _what_it_takes(slabs: int = 9) -> Row:
    times, losses, errors = [], [], []
    for seed in range(slabs):
        plan, _, _, took = _planned(seed, Bed(), Shims(), 60.0, 2_000)
        times.append(took)
        losses.append(plan.loss)
        errors.append(plan.loss_error)
    return Row(
        "shims: 8 places, 7 kinds of shim, 2,000 readings a face",
        f"{1e3 * np.median(times):.0f} ms",
        "0.3 s",
        float(np.median(times)) / 0.3,
        "at most 0.3 s",
        bool(np.median(times) <= 0.3),
        f"loses {np.median(losses):.3f} mm (median), {max(losses):.3f} (most); its error is {np.median(errors):.2f} mm",
    )
