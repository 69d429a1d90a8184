"""Shims: the stacks that hold the slab at its lie for the first cut, and the three that it really stands on."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Face, Floats
from slabwright.geometry.planes import PlanePair
from slabwright.job.models import Bed, Shims
from slabwright.slab.laid import Laid, hull_corners, lay
from slabwright.slab.resting import plane_through, resting
from slabwright.slab.shim_results import ShimPlan, Stack
from slabwright.slab.shim_search import Choice, Ground, search
from slabwright.slab.stacks import Integers, StackHeights, stack_heights
from slabwright.slab.standing import sags, tipping_force, tipping_forces
from slabwright.slab.survey import Survey

_TRIAL = 0.1
"""The error of a stack whose cost is told [mm]."""
_SAMPLE = 4_000
_LETTERS = "CDEFGHJKLMNPQRSTUVWXYZ"


def shims(
    survey: Survey,
    planes: PlanePair,
    *,
    down_face: Literal["A", "B"],
    bed: Bed,
    stock: Shims,
    down_force: float,
    density: float,
    modulus: float,
    face_a: Face | None = None,
    face_b: Face | None = None,
) -> ShimPlan:
    """Stacks under the slab for its first cut: those that lose the least thickness, with proof.

    A stiff slab on four or more stacks stands on three. For every three places round the centre of mass that hold it
    against the cutter and against sag, all stack heights that can matter are tried (see `shim_search.search`); the
    others get the tallest stack that stays free, to be wedged without lifting. Where no three hold the slab, the next
    best are taken: first those that sag too far, then those that hold it only once the others are wedged. Each place
    counts as one contact at its middle.

    Args:
        survey: readings and outlines
        planes: the lie that is wanted level
        down_face: the face that lies on the stacks
        bed: places, their diameter, and the sag that is allowed
        stock: the shims
        down_force: of the cutter, anywhere on the slab [N]
        density: of the wood at its moisture content [kg/m3]
        modulus: of elasticity along the grain [MPa]
        face_a: readings of face A that bind, where not those of the clean region (filled dips left out)
        face_b: the same of face B

    Returns:
        The stacks, their loss, its bound, and how the slab stands on them.

    Raises:
        SlabwrightError: fewer than three places, or all in one line
    """
    lie = lay(survey, planes, down_face, bed, density)
    table = stack_heights(stock.thicknesses, stock.most_pieces)
    binding = {"A": face_a or survey.face_a, "B": face_b or survey.face_b}
    down, up = (survey.all_b, "A") if down_face == "B" else (survey.all_a, "B")
    top = lie.centred(lie.frame.face(binding[up]))
    under = lie.centred(lie.frame.face(binding[down_face]))
    rough = np.array([0.0, 0.0, lie.rooms.roughness])
    clear = np.vstack([lie.centred(lie.frame.face(down)) - rough, np.column_stack([lie.about, lie.height])])
    full = Ground(top, under, clear, 0.0)
    full = replace(full, needed=min(float(full.thickness(np.zeros((1, 2)))[0]), planes.thickness))

    forces = tipping_forces(lie.three, np.zeros(2), lie.borne.total, lie.reached)
    bends = sags(replace(lie.three, places=lie.places.at), lie.borne, modulus)
    chosen = None
    holds, stiff = forces >= down_force, bends <= bed.greatest_sag
    for rows in (holds & stiff, holds, stiff, np.ones(len(lie.three), dtype=bool)):
        chosen = _choose(full, table, lie, np.flatnonzero(rows))
        if chosen is not None:
            break
    if chosen is None:
        return _on_its_belly(lie, table, down_face, down_force)
    heights, raised = _stacks(table, lie, chosen, 2.0 * stock.error)
    elevation = table.heights[heights] - lie.height - raised
    # The other stacks are free of the wood, so that the slab rests on these three (they would tie where all touch).
    carrying = tuple(int(corner) for corner in lie.three.triples[chosen.triple])
    slope = np.array(plane_through(lie.about[list(carrying)], elevation[list(carrying)])[:2])
    loss = float(full.loss(slope[None, :])[0])
    changed = _changed(full, lie, elevation, loss, np.full(len(heights), _TRIAL))
    by_stack = _changed(full, lie, elevation, loss, np.full(len(heights), stock.error))
    by_gap = _changed(full, lie, elevation, loss, np.where(lie.rooms.read, 0.0, lie.rooms.error))
    # At the centre of mass the standing plane and the wanted lie meet: `raised` is the height of both.
    wedges = np.maximum(raised + lie.about @ slope + lie.height - table.heights[heights], 0.0)
    wedges[list(carrying)] = 0.0
    short = _short(table, heights, wedges)
    wedged = hull_corners(lie.about[~short])
    return ShimPlan(
        stacks=_made(lie, table, heights, raised, carrying, wedges, changed),
        loss=loss,
        bound=chosen.loss,
        loss_error=float(np.sqrt((by_stack**2).sum() / 2.0)),
        gap_loss_error=float(np.sqrt((by_gap**2).sum() / 2.0)),
        sag=float(bends[chosen.triple]),
        tip_margin=float(forces[chosen.triple]) - down_force,
        raised=raised,
        standing_tilt_x=(-1.0 if down_face == "B" else 1.0) * math.degrees(math.atan(float(slope[1]))),
        standing_tilt_y=-math.degrees(math.atan(float(slope[0]))),
        down_face=down_face,
        standing=np.array([*slope, raised - float(slope @ lie.borne.centre) - lie.zero], dtype=np.float64),
        tip_margin_wedged=tipping_force(wedged, np.zeros(2), lie.borne.total, lie.reached) - down_force,
        weight=lie.borne.total,
        roughness=lie.rooms.roughness,
        left_out=lie.left_out,
        short=tuple(name for name, low in zip(_names(len(heights)), short, strict=True) if low),
    )


def _on_its_belly(lie: Laid, table: StackHeights, down_face: str, down_force: float) -> ShimPlan:
    """What is left to say where no three stacks reach the wood: the slab lies on its own lowest wood."""
    heights = table.floor(lie.height)
    wedges = lie.height - table.heights[heights]
    count = len(heights)
    return ShimPlan(
        stacks=_made(lie, table, heights, 0.0, (), wedges, np.full((count, 2), math.nan)),
        loss=math.nan,
        bound=math.nan,
        loss_error=math.nan,
        gap_loss_error=math.nan,
        sag=0.0,
        tip_margin=-down_force,
        raised=0.0,
        standing_tilt_x=0.0,
        standing_tilt_y=0.0,
        down_face=down_face,
        standing=np.array([0.0, 0.0, -lie.zero]),
        tip_margin_wedged=-down_force,
        weight=lie.borne.total,
        roughness=lie.rooms.roughness,
        left_out=lie.left_out,
        short=tuple(_names(count)),
    )


def _choose(full: Ground, table: StackHeights, lie: Laid, allowed: NDArray[np.intp]) -> Choice | None:
    """The search on few readings, with those added that its answers turn out to rest on, until none is missing.

    Fewer readings can only lose less: what is best among them and loses no more on all of them is best.
    """
    if not len(allowed):
        return None
    kept = [_sample(full.top, 1.0), _sample(full.under, -1.0), _sample(full.clear, 1.0)]
    while True:
        ground = Ground(full.top[kept[0]], full.under[kept[1]], full.clear[kept[2]], full.needed)
        choice = search(ground, table, lie.three, allowed, lie.height, lie.reached)
        if choice is None:
            return None
        slope = choice.slope[None, :]
        room = float(full.least_raise(slope)[0])
        lost = float(full.loss(slope)[0])
        if lost <= choice.loss + 1e-9 and room <= float(ground.least_raise(slope)[0]) + 1e-9:
            return choice
        kept = [np.union1d(old, new) for old, new in zip(kept, full.binding(choice.slope), strict=True)]


def _sample(points: Floats, sign: float) -> NDArray[np.intp]:
    """Some readings from everywhere and those that stand out most: all where there are few."""
    if len(points) <= _SAMPLE:
        return np.arange(len(points))
    spread = np.arange(0, len(points), len(points) // (_SAMPLE // 2))
    return np.union1d(spread, np.argpartition(sign * points[:, 2], _SAMPLE // 2)[: _SAMPLE // 2])


def _stacks(table: StackHeights, lie: Laid, choice: Choice | None, free: float) -> tuple[Integers, float]:
    """Index of every stack's height, and the raise: all stacks reached, then the fewest pieces, then the lowest."""
    if choice is None:
        return table.floor(lie.height), 0.0
    carrying = lie.three.triples[choice.triple]
    room = lie.height + lie.about @ choice.slope + choice.raises[:, None]
    heights = table.floor(room - free)
    heights[:, carrying] = table.nearest(room[:, carrying])
    short = _short(table, heights, room - table.heights[heights]).sum(axis=1)
    best = int(np.lexsort((choice.raises, table.pieces[heights].sum(axis=1), short))[0])
    return heights[best], float(choice.raises[best])


def _short(table: StackHeights, heights: Integers, wedges: Floats) -> NDArray[np.bool_]:
    """Whether a stack is the tallest there is and still leaves more than any step between heights."""
    coarsest = float(np.diff(table.heights).max()) if len(table) > 1 else 0.0
    return np.asarray((heights == len(table) - 1) & (wedges > coarsest + 1.0))


def _changed(full: Ground, lie: Laid, elevation: Floats, loss: float, by: Floats) -> Floats:
    """Thickness lost by each stack too high and too low, shape (n, 2) [mm]."""
    count = len(elevation)
    slopes = np.empty((2 * count, 2))
    for index in range(count):
        for side, sign in enumerate((1.0, -1.0)):
            moved = elevation.copy()
            moved[index] += sign * by[index]
            slopes[2 * index + side] = resting(lie.three, moved).plane[:2]
    # Free stacks change nothing: each tilt is worked out once.
    tilts, which = np.unique(slopes.round(15), axis=0, return_inverse=True)
    return np.asarray(full.loss(tilts)[which.ravel()].reshape(count, 2) - loss)


def _names(count: int) -> list[str]:
    return [
        _LETTERS[index % len(_LETTERS)] + (str(index // len(_LETTERS) + 1) if index >= len(_LETTERS) else "")
        for index in range(count)
    ]


def _made(
    lie: Laid,
    table: StackHeights,
    heights: Integers,
    raised: float,
    carrying: tuple[int, ...],
    wedges: Floats,
    changed: Floats,
) -> tuple[Stack, ...]:
    stacks = []
    for index, name in enumerate(_names(len(heights))):
        bed_x, bed_y = (float(value) for value in lie.places.at[index])
        x, y = lie.frame.place_from_bed(bed_x, bed_y)
        pieces = table.parts(int(heights[index]))
        stacks.append(
            Stack(
                name=name,
                x=x,
                y=y,
                gap=float(lie.height[index]) + raised,
                height=float(sum(pieces)),
                pieces=pieces,
                carries=index in carrying,
                wedge=float(wedges[index]),
                loss_too_high=float(changed[index, 0]),
                loss_too_low=float(changed[index, 1]),
                gap_error=float(lie.rooms.error[index]),
                read=bool(lie.rooms.read[index]),
                on_wood=bool(lie.places.on_wood[index]),
                bed_x=bed_x,
                bed_y=bed_y,
            )
        )
    return tuple(stacks)
