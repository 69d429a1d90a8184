"""The stacks that lose the least against every combination of stacks, counted out."""

from __future__ import annotations

from dataclasses import fields
from itertools import combinations, product
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from slabwright.geometry.faces import Floats, Scatter
from slabwright.geometry.strip import widest_strip
from slabwright.job.models import Bed, Shims
from slabwright.slab.laid import lay
from slabwright.slab.shims import shims
from slabwright.slab.survey import Survey

LENGTH, WIDTH = 1600.0, 700.0


def slab(seed: int) -> Survey:
    draw = np.random.default_rng(seed)
    x, y = draw.uniform(0.0, 1.0, (2, 300))
    u, v = 2.0 * x - 1.0, 2.0 * y - 1.0
    cup, twist, bow = draw.normal(0.0, 1.5, 3)
    middle = cup * v * v + twist * u * v + bow * u * u
    noise = draw.normal(0.0, 0.2, (2, x.size))
    faces = [Scatter(x * LENGTH, y * WIDTH, middle + height + noise[i]) for i, height in enumerate((50.0, 0.0))]
    outline = Polygon([(0, 0), (LENGTH, 0), (LENGTH, WIDTH), (0, WIDTH)])
    told: dict[str, Any] = {field.name: None for field in fields(Survey)}
    for letter, face in zip("ab", faces, strict=True):
        told |= {f"face_{letter}": face, f"all_{letter}": face, f"outline_{letter}": outline}
    return Survey(**told)


def counted_out(heights: list[float], at: Floats, room: Floats, top: Floats, under: Floats, clear: Floats) -> float:
    """Least loss of every combination of heights: where each one rests is found by trying every plane through three tops."""
    contact = np.array(list(product(heights, repeat=len(at)))) - room
    tilts: list[Floats] = []
    for three in combinations(range(len(at)), 3):
        corners = np.column_stack([at[list(three)], np.ones(3)])
        if abs(np.linalg.det(corners)) < 1.0 or (np.linalg.solve(corners.T, [0.0, 0.0, 1.0]) < -1e-9).any():
            continue
        planes = contact[:, list(three)] @ np.linalg.inv(corners).T
        free = (contact - planes[:, :2] @ at.T - planes[:, 2:]).max(axis=1) <= 1e-9
        free[free] = (planes[free] @ np.column_stack([clear[:, :2], np.ones(len(clear))]).T + clear[:, 2]).min(
            axis=1
        ) >= -1e-9
        tilts.append(planes[free, :2])
    if not any(len(part) for part in tilts):
        return np.inf

    def thickness(tilt: Floats) -> float:
        level = (top[:, 2] + top[:, :2] @ tilt).min() - (under[:, 2] + under[:, :2] @ tilt).max()
        return float(level / np.sqrt(1.0 + tilt @ tilt))

    return max(thickness(np.zeros(2)) - max(thickness(tilt) for part in tilts for tilt in np.unique(part, axis=0)), 0.0)


@settings(max_examples=12, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    kinds=st.sampled_from([[0.4, 1.1], [0.5, 1.0, 2.0], [0.3, 0.7], [1.3]]),
    across=st.sampled_from(["four", "five"]),
)
def test_no_combination_of_stacks_loses_less(seed: int, kinds: list[float], across: str) -> None:
    survey = slab(seed)
    planes = widest_strip(survey.face_a, survey.face_b).planes
    pads = [(200.0, 90.0), (150.0, 610.0), (1450.0, 350.0), (820.0, 620.0), (840.0, 100.0)]
    bed = Bed(pads=pads[: 4 if across == "four" else 5], greatest_sag=99.0, pad_diameter=80.0)
    stock = Shims(thicknesses=kinds, most_pieces=2 if len(kinds) > 1 else 3)
    # Without a cutter's force every three round the centre of mass may carry.
    plan = shims(survey, planes, down_face="B", bed=bed, stock=stock, down_force=0.0, density=700.0, modulus=12_000.0)
    laid = lay(survey, planes, "B", bed, 700.0)
    tops, unders = (laid.centred(laid.frame.face(face)) for face in (survey.face_a, survey.face_b))
    heights = sorted({round(sum(parts), 9) for n in range(stock.most_pieces + 1) for parts in product(kinds, repeat=n)})
    clear = np.vstack([unders - [0.0, 0.0, plan.roughness], np.column_stack([laid.about, laid.height])])
    if not any(stack.carries for stack in plan.stacks):
        assert counted_out(heights, laid.about, laid.height, tops, unders, clear) >= planes.thickness - 1e-6
        return
    least = counted_out(heights, laid.about, laid.height, tops, unders, clear)
    assert abs(plan.loss - least) < 1e-6
    assert abs(plan.bound - plan.loss) < 1e-9
