"""Machine time of both faces: against the time that no plan beats, and against running the whole rectangle at every level."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import RegularGridInterpolator
from shapely import box

from bench.row import Row
from bench.slabs import LENGTH, WIDTH, random_slab
from slabwright.geometry.faces import FaceName, Floats, Grid
from slabwright.geometry.strip import widest_strip
from slabwright.job.models import Machine
from slabwright.machine.engagement import engagement
from slabwright.machine.frame import Setting, Stock
from slabwright.machine.strips import strips, whole_rectangle
from slabwright.machine.timing import path_time, time_bound
from slabwright.machine.toolpath import Toolpath
from slabwright.slab.passes import levels

SLABS = 20
CELL = 5.0
FINER = 5
PLACE = 100.0
PLANE = 50.0


@dataclass(frozen=True)
class Faces:
    """Both faces of one slab, planned.

    Attributes:
        minutes: of all levels
        bound: that no plan beats
        whole: of the whole rectangle at every level
        seconds: that planning took
        paths: setting, level and path of each
    """

    minutes: float
    bound: float
    whole: float
    seconds: float
    paths: tuple[tuple[Setting, float, Toolpath], ...]


def rows() -> Iterator[Row]:
    """Each claim about machine time, measured."""
    for diameter, stepover in ((50.0, 35.0), (100.0, 70.0)):
        machine = Machine(cutter_diameter=diameter, stepover=stepover, direction="quicker")
        slabs = [planned(seed, machine) for seed in range(SLABS)]
        over = np.array([slab.minutes / slab.bound for slab in slabs])
        share = np.array([slab.minutes / slab.whole for slab in slabs])
        what = f"{diameter:g} mm cutter, {stepover:g} mm stepover"
        yield Row(
            f"machine time of two faces, {what}",
            f"{np.median(over):.3f} median, {over.max():.3f} worst",
            f"the time that no plan beats, {SLABS} slabs",
            float(over.max()),
            "at most 1.2",
            bool(over.max() <= 1.2),
            f"{np.median([slab.minutes for slab in slabs]):.0f} min, median; lifts and acceleration included",
        )
        yield Row(
            f"machine time of two faces, {what}",
            f"{np.median(share):.3f} median, {share.max():.3f} worst",
            "the whole rectangle at every level to the same planes, planned and timed alike",
            float(np.median(share)),
            "median at most 0.65" if diameter == 50.0 else "told: asked at 50 mm",
            bool(np.median(share) <= 0.65) if diameter == 50.0 else None,
            f"the time that no plan beats is {np.median([slab.bound / slab.whole for slab in slabs]):.3f} of it, median",
        )
        widest = max(_widest(*each, machine) for slab in slabs[:3] for each in slab.paths)
        yield Row(
            f"widest cut, {what}",
            f"{widest:.1f} mm",
            f"{stepover:g} mm, on cells of {CELL / FINER:g} mm over pieces of 10 mm",
            widest / stepover,
            "at most 1.02: where cuts are no wider the time that no plan beats holds",
            widest <= 1.02 * stepover,
        )
        seconds = [slab.seconds for slab in slabs]
        yield Row(
            f"planning all levels of two faces, {what}",
            f"{np.median(seconds):.2f} s median, {max(seconds):.2f} s worst",
            "1 s",
            float(np.median(seconds)),
            "under 1 s",
            bool(np.median(seconds) < 1.0),
        )


def face_settings(seed: int) -> tuple[Setting, Setting]:
    """Both faces of an invented slab at its lie, as settings on the machine."""
    face_a, face_b = random_slab(seed)
    assert isinstance(face_a, Grid) and isinstance(face_b, Grid)
    lie = widest_strip(face_a, face_b).planes
    x, y = _middles(0.0, CELL, round(LENGTH / CELL)), _middles(0.0, CELL, round(WIDTH / CELL))

    def setting(face: FaceName) -> Setting:
        grid = face_a if face == "A" else face_b
        at_x, at_y = grid.x[:, None], grid.y[None, :]
        above = grid.z - lie.upper(at_x, at_y) if face == "A" else lie.lower(at_x, at_y) - grid.z
        places = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1)
        top = RegularGridInterpolator((grid.x, grid.y), above / lie.slant)(places)
        if face == "B":
            top = top[:, ::-1]
        outline = box(PLACE, PLACE, PLACE + LENGTH, PLACE + WIDTH)
        stock = Stock(x + PLACE, y + PLACE, top + PLANE, np.ones_like(top), outline)
        return Setting(face, 1, stock, PLANE, 0.0, (PLACE, PLACE + LENGTH), None, ())

    return setting("A"), setting("B")


def planned(seed: int, machine: Machine) -> Faces:
    """Plan both faces of one slab, and the whole rectangle beside it."""
    minutes = bound = whole = seconds = 0.0
    paths = []
    for setting in face_settings(seed):
        highest = float(setting.stock.top.max()) - PLANE
        depths = levels(highest, machine.greatest_depth, machine.last_depth)
        begin = time.perf_counter()
        previous: float | None = None
        for level in depths:
            paths.append((setting, level, strips(setting, level, previous, machine=machine)))
            previous = level
        seconds += time.perf_counter() - begin
        bound += time_bound(setting.stock, depths, PLANE, stepover=machine.stepover, feed=machine.feed)
        whole += sum(_minutes(path, machine) for path in whole_rectangle(setting, depths, machine=machine))
    minutes = sum(_minutes(path, machine) for _, _, path in paths)
    return Faces(minutes, bound, whole, seconds, tuple(paths))


def _middles(start: float, side: float, count: int) -> Floats:
    return np.asarray(start + side * (np.arange(count) + 0.5), dtype=np.float64)


def _minutes(path: Toolpath, machine: Machine) -> float:
    return path_time(path, rapid=machine.rapid, acceleration=machine.acceleration).minutes


def _widest(setting: Setting, level: float, path: Toolpath, machine: Machine) -> float:
    """Widest cut of a path on finer cells [mm]."""
    stock = setting.stock

    def finer(middles: Floats) -> Floats:
        return _middles(float(middles[0]) - CELL / 2.0, CELL / FINER, middles.size * FINER)

    top = np.repeat(np.repeat(stock.top, FINER, axis=0), FINER, axis=1)
    fine = replace(stock, x=finer(stock.x), y=finer(stock.y), top=top)
    flat = machine.cutter_diameter / 2.0 - machine.corner_radius
    return float(engagement(path, fine, PLANE + level, radius=flat, piece=10.0).width.max())
