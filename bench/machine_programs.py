"""Programs of random slabs, run on the simulator: what is cut, what is left, what is touched that must not be."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely

from bench.row import Row
from slabwright.job.load import load_job
from slabwright.job.models import Machine
from slabwright.machine.frame import KeepOut, Setting, Stock
from slabwright.machine.machining import machining
from slabwright.machine.program_check import TOLERANCE, limits_of
from slabwright.machine.rs274 import program_text
from slabwright.machine.simulator import after, reachable, simulate
from slabwright.machine.strips import strips
from slabwright.plan import plan
from slabwright.slab.passes import levels

SLABS = 1000
CELL = 5.0
_ALL_ROUND = 40.0
_DEMO = Path(__file__).parent.parent / "examples" / "reading-table" / "job.toml"


@dataclass(frozen=True)
class Outcome:
    """Of one slab.

    Attributes:
        programs: how many
        kinds: of the simulator's faults
        below: deepest that wood was cut below the finished plane [mm]
        above: highest wood that had to come down and stands, above the plane and the scallop [mm]
        lines: of program text
        planned: seconds for paths and text
        simulated: seconds
    """

    programs: int
    kinds: tuple[str, ...]
    below: float
    above: float
    lines: int
    planned: float
    simulated: float


def slab(seed: int) -> tuple[Setting, Machine]:
    """An invented small slab with a live edge or two, clamps at its ends and sides, and a machine for it."""
    draw = np.random.default_rng((seed, 7))
    diameter = float(draw.choice([30.0, 50.0, 80.0]))
    corner = float(draw.choice([0.0, 0.8, 1.0, 2.0]))
    machine = Machine(
        cutter_diameter=diameter,
        corner_radius=corner,
        stepover=round(float(draw.uniform(0.5, 0.95)) * diameter, 1),
        greatest_depth=float(draw.choice([2.0, 3.0, 4.0])),
        last_depth=0.8,
        block_height=float(draw.choice([0.0, 20.0, 31.7])),
        program_units="in" if draw.random() < 0.3 else "mm",
        travel_x=1400.0,
        travel_y=900.0,
        travel_z=160.0,
        holder_diameter=diameter + 20.0 if draw.random() < 0.3 else None,
        stick_out=float(draw.uniform(15.0, 60.0)),
        direction="along" if draw.random() < 0.5 else "across",
    )
    length, width = float(draw.uniform(300.0, 900.0)), float(draw.uniform(150.0, 450.0))
    x0, y0 = float(draw.uniform(120.0, 300.0)), float(draw.uniform(120.0, 250.0))
    x, y = np.arange(x0 + CELL / 2, x0 + length, CELL), np.arange(y0 + CELL / 2, y0 + width, CELL)
    plane = float(draw.uniform(45.0, 70.0))
    u, v = (x[:, None] - x0) / length, (y[None, :] - y0) / width
    shape = draw.uniform(-1.0, 1.0, 5)
    hump = shape[0] * (2 * u - 1) ** 2 + shape[1] * (2 * v - 1) ** 2 + shape[2] * (2 * u - 1) * (2 * v - 1)
    hump = hump + shape[3] * np.sin(6.0 * u + 2.0) * np.cos(4.0 * v) + 0.1 * draw.normal(size=hump.shape)
    highest = float(draw.uniform(0.5, 7.0))
    low = float(draw.choice([-2.0, 0.0, 0.3]))
    top = plane + low + (highest - low) * (hump - hump.min()) / max(float(np.ptp(hump)), 1e-9)
    # Live edges wander inward.
    for side in np.flatnonzero(draw.random(2) < 0.7):
        wander = 0.06 * (1.0 + np.sin(9.0 * u + draw.uniform(0.0, 6.0)))
        top[np.broadcast_to(v < wander if side == 0 else v > 1.0 - wander, top.shape)] = np.nan
    known = np.ones_like(top)
    if draw.random() < 0.3:
        i, j = int(draw.integers(0, x.size - 8)), int(draw.integers(0, y.size - 8))
        known[i : i + 8, j : j + 8] = 0.0
        top[i : i + 8, j : j + 8] = np.nanmax(top) + 0.5
    stock = Stock(x, y, top, known, shapely.box(x0, y0, x0 + length, y0 + width))
    keep_out = tuple(_clamp(draw, index, x0, y0, length, width, plane) for index in range(int(draw.integers(0, 4))))
    window, overlap = (x0, x0 + length), None
    if draw.random() < 0.2 and length > 400.0:
        # The first of two clampings: its stretch ends in the middle of the wood.
        end = x0 + 0.6 * length
        window, overlap = (x0, end), (end - 1.5 * diameter, end)
    return Setting("A", 1, stock, plane, machine.block_height, window, overlap, keep_out), machine


def _clamp(
    draw: np.random.Generator, index: int, x0: float, y0: float, length: float, width: float, plane: float
) -> KeepOut:
    """At an end or a side, reaching up to 30 mm over the wood; higher than the plane, or a low stop below it."""
    reach, breadth = float(draw.uniform(0.0, 30.0)), float(draw.uniform(20.0, 50.0))
    top = plane + float(draw.choice([-10.0, 5.0, 15.0, 30.0]))
    if draw.random() < 0.5:
        y = float(draw.uniform(y0, y0 + width - breadth))
        x = (x0 - _ALL_ROUND, x0 + reach) if draw.random() < 0.5 else (x0 + length - reach, x0 + length + _ALL_ROUND)
        return KeepOut(f"clamp {index + 1}", *x, y, y + breadth, top)
    x_at = float(draw.uniform(x0, x0 + length - breadth))
    y_at = (y0 - _ALL_ROUND, y0 + reach) if draw.random() < 0.5 else (y0 + width - reach, y0 + width + _ALL_ROUND)
    return KeepOut(f"clamp {index + 1}", x_at, x_at + breadth, *y_at, top)


def outcome(seed: int) -> Outcome:
    """All depths of one slab: path, program, simulation, each on the wood that the one before left."""
    setting, machine = slab(seed)
    limits = limits_of(machine)
    in_window = (setting.stock.x >= setting.window[0]) & (setting.stock.x <= setting.window[1])
    highest = float(np.nanmax(setting.stock.top[in_window])) - setting.plane
    kinds: list[str] = []
    lines, planned, simulated, programs = 0, 0.0, 0.0, 0
    whole = setting
    for level in levels(highest, machine.greatest_depth, machine.last_depth):
        start = time.perf_counter()
        path = strips(setting, level, None, machine=machine)
        if not path.feed.size:
            # All that stands above this level is where no strip may go.
            continue
        text = program_text(
            path,
            setting,
            name=f"{seed}.ngc",
            units=machine.program_units,
            cutter_diameter=machine.cutter_diameter,
            spindle_speed=machine.spindle_speed,
            comments=["Invented slab"],
        )
        between = time.perf_counter()
        done = simulate(text, setting, limits, level=level)
        simulated += time.perf_counter() - between
        planned += between - start
        kinds += [fault.kind for fault in done.faults]
        lines += text.count("\n")
        programs += 1
        setting = after(setting, done)
    return Outcome(
        programs=programs,
        kinds=tuple(kinds),
        below=_below(whole, setting),
        above=_above(setting, machine),
        lines=lines,
        planned=planned,
        simulated=simulated,
    )


def _below(before: Setting, now: Setting) -> float:
    """Deepest cut below the plane: wood that lay lower from the start does not count."""
    deepest = np.nan_to_num(np.minimum(before.stock.top, before.plane) - now.stock.top)
    return float(deepest.max())


def _above(setting: Setting, machine: Machine) -> float:
    limits = limits_of(machine)
    height = np.nan_to_num(setting.stock.top - setting.plane, nan=-1e9)
    due = reachable(setting, limits)
    return float(height.max(where=due, initial=0.0)) - limits.scallop


def rows() -> Iterator[Row]:
    with ProcessPoolExecutor(2) as pool:
        found = list(pool.map(outcome, range(SLABS), chunksize=25))
    programs = sum(one.programs for one in found)
    reference = f"{SLABS} slabs, {programs} programs"
    below = max(one.below for one in found)
    yield Row(
        "deepest cut below the plane",
        f"{below:.4f} mm",
        reference,
        below / TOLERANCE,
        f"at most {TOLERANCE} mm",
        below <= TOLERANCE,
    )
    above = max(one.above for one in found)
    yield Row(
        "wood left above the plane beyond the scallop",
        f"{max(above, 0.0):.4f} mm",
        reference,
        max(above, 0.0) / TOLERANCE,
        f"at most {TOLERANCE} mm",
        above <= TOLERANCE,
        "wherever strips reach; what clamps cover is left and told",
    )
    yield _none(found, ("rapid", "clamp", "holder"), "rapids through wood, live edge or clamp", reference)
    rest = {kind for one in found for kind in one.kinds} - {"rapid", "clamp", "holder"}
    yield _none(found, tuple(sorted(rest)), "any other fault of a program", reference)
    planned, simulated = sum(one.planned for one in found), sum(one.simulated for one in found)
    lines = sum(one.lines for one in found)
    yield Row(
        "simulating against planning and writing",
        f"{simulated:.1f} s",
        f"{planned:.1f} s",
        simulated / planned,
        "told",
        None,
        f"{lines} lines; {1000.0 * simulated / programs:.1f} ms a program",
    )
    yield from _demo()


def _demo() -> Iterator[Row]:
    """The demo's machine room as a whole, and its programs run once more on their own."""
    job = load_job(_DEMO)
    slab_plan = plan(job).slab
    assert slab_plan is not None
    begun = time.perf_counter()
    found, _ = machining(job, slab_plan, lambda step: None)
    whole = time.perf_counter() - begun
    assert found is not None and found.programs
    limits = limits_of(job.shop.machine)
    simulated = 0.0
    for clamping in found.settings:
        stock = clamping.stock
        for index, level in enumerate(clamping.levels):
            here = replace(clamping.at_depth(index), stock=stock)
            for program in found.programs:
                if (program.clamping, program.level) == (clamping.number, level):
                    begun = time.perf_counter()
                    done = simulate(program.text, here, limits, level=level)
                    simulated += time.perf_counter() - begun
                    stock = after(here, done).stock
    for name, took, limit in (
        ("planning and writing", whole - simulated, 3.0),
        ("simulating", simulated, 5.0),
    ):
        yield Row(
            f"{name} all programs of the demo",
            f"{took:.2f} s",
            f"{limit:.0f} s",
            took / limit,
            f"under {limit:.0f} s",
            took < limit,
            f"{len(found.programs)} programs",
        )


def _none(found: Sequence[Outcome], kinds: tuple[str, ...], name: str, reference: str) -> Row:
    hit = sum(any(kind in kinds for kind in one.kinds) for one in found)
    which = sorted({kind for one in found for kind in one.kinds if kind in kinds})
    return Row(name, f"{hit} slabs", reference, None, "none", hit == 0, ", ".join(which))
