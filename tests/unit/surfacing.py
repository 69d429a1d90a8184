"""A small clamping and a plain raster over it: what the tests of programs cut."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from slabwright.machine.frame import KeepOut, Setting, Stock
from slabwright.machine.program_check import Limits
from slabwright.machine.rs274 import ProgramUnits, program_text
from slabwright.machine.toolpath import Toolpath

PLANE, BLOCK, SAFE = 60.0, 25.0, 95.0
LIMITS = Limits(
    cutter_diameter=50.0,
    corner_radius=1.0,
    stepover=35.0,
    greatest_depth=5.0,
    greatest_feed=6000.0,
    plunge_feed=1500.0,
    travel_x=(0.0, 700.0),
    travel_y=(0.0, 500.0),
    travel_z=(0.0, 150.0),
    least_speed=8000.0,
    greatest_speed=18000.0,
    holder_diameter=60.0,
    stick_out=50.0,
)
CLAMP = KeepOut("the clamp at the near end", 40.0, 90.0, 180.0, 220.0, 84.0)


def setting(step: float = 4.0, above: float = 3.0) -> Setting:
    """500 x 300 mm of wood from x 100, y 50; its top 1 to `above` mm over the plane; a clamp beside its near end."""
    x = np.arange(100.0 + step / 2.0, 600.0, step)
    y = np.arange(50.0 + step / 2.0, 350.0, step)
    wave = (1.0 + np.sin(x[:, None] / 60.0) * np.cos(y[None, :] / 45.0)) / 2.0
    top = PLANE + 1.0 + (above - 1.0) * wave
    # A live edge: the near long side wanders.
    top[y[None, :] < 58.0 + 6.0 * np.sin(x[:, None] / 40.0)] = np.nan
    stock = Stock(x, y, top, np.ones_like(top), shapely.box(100.0, 50.0, 600.0, 350.0))
    return Setting("A", 1, stock, PLANE, BLOCK, (100.0, 600.0), None, (CLAMP,))


def raster(level: float = 0.0, clamp: bool = True) -> Toolpath:
    """Strips along x over all of the wood, each entered from beside it, or beside the clamp."""
    points, feed = [(30.0, 70.0, SAFE)], []
    height = PLANE + level
    for index, y in enumerate(np.linspace(60.0, 340.0, 9).tolist()):
        near = 119.0 if clamp and 150.0 < y < 250.0 else 70.0
        begin, stop = (near, 630.0) if index % 2 == 0 else (630.0, near)
        for place, rate in (
            ((begin, y, SAFE), 0.0),
            ((begin, y, height), 1500.0),
            ((stop, y, height), 6000.0),
            ((stop, y, SAFE), 0.0),
        ):
            points.append(place)
            feed.append(rate)
    return Toolpath(np.array(points), np.array(feed))


def program(path: Toolpath | None = None, units: ProgramUnits = "mm", clamping: Setting | None = None) -> str:
    return program_text(
        raster() if path is None else path,
        setting() if clamping is None else clamping,
        name="face-a-1.ngc",
        units=units,
        cutter_diameter=50.0,
        spindle_speed=16000.0,
        comments=["Reading table, depth 1 of 2"],
    )


def one_pass(places: list[tuple[float, float, float]], feed: float = 3000.0) -> Toolpath:
    """Down to the first place, along all of them at feed, and up."""
    first, last = places[0], places[-1]
    points = [(first[0], first[1], SAFE), *places, (last[0], last[1], SAFE)]
    return Toolpath(np.array(points), np.array([1500.0] + [feed] * (len(places) - 1) + [0.0]))


def flat(height: float = 62.0, step: float = 2.0) -> Setting:
    """A flat piece of wood without clamps, 400 x 200 mm from x 100, y 100."""
    x, y = np.arange(100.0, 500.0 + step / 2, step), np.arange(100.0, 300.0 + step / 2, step)
    top = np.full((x.size, y.size), height)
    stock = Stock(x, y, top, np.ones_like(top), shapely.box(100.0, 100.0, 500.0, 300.0))
    return replace(setting(), stock=stock, window=(100.0, 500.0), keep_out=())
