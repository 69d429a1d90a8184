"""Programs of random features: what they cut beyond the features, what they leave, and what planning and checking take."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.affinity import rotate, translate

from bench.row import Row
from slabwright.job.models import Machine
from slabwright.job.top_models import Datum
from slabwright.machine.feature_check import TOLERANCE
from slabwright.machine.feature_paths import bit_for
from slabwright.machine.feature_programs import FeatureProgram, feature_programs
from slabwright.machine.located import FaceUp, Located
from slabwright.machine.pockets import Cut
from slabwright.machine.registration import locate

TOPS = 60
THICK = 40.0
UNDER = 18.0


@dataclass(frozen=True)
class Done:
    programs: tuple[FeatureProgram, ...]
    seconds: float


def placed(draw: np.random.Generator) -> Located:
    """An invented top, touched at three corners."""
    turn = np.radians(draw.uniform(-3.0, 3.0))
    face: FaceUp = "show" if draw.random() < 0.5 else "underside"
    side = 1.0 if face == "show" else -1.0
    datums = []
    for index, (x, y) in enumerate([(0.0, -300.0), (1400.0, -300.0), (1400.0, 300.0)]):
        at = (np.cos(turn) * x - np.sin(turn) * side * y, np.sin(turn) * x + np.cos(turn) * side * y)
        datums.append(
            Datum(
                name=f"corner {index}", kind="point", stated=(x, y), touched=(at[0] + 700.0, at[1] + 900.0), error=0.05
            )
        )
    return locate(datums, {}, face_up=face)


def features(draw: np.random.Generator, diameter: float) -> list[Cut]:
    """A bore, a channel, a pocket turned anyhow and a bow tie; some just as wide as the bit."""
    radius = diameter / 2.0
    bore = radius + float(draw.choice([0.0, 0.01, 0.2, 1.0, 3.0, draw.uniform(0.0, 20.0)]))
    at = (float(draw.uniform(100.0, 300.0)), float(draw.uniform(-200.0, 200.0)))
    line = np.cumsum(draw.uniform(-80.0, 80.0, (int(draw.integers(2, 6)), 2)), axis=0) + np.array((500.0, 0.0))
    cuts = [
        Cut("bore", "through hole", shapely.Point(at), bore, THICK, float(draw.choice([0.0, draw.uniform(1.0, 35.0)]))),
        Cut(
            "channel",
            "channel",
            shapely.LineString(line),
            float(draw.choice([radius, radius + 0.05, radius + 1.0, diameter])),
            THICK,
            float(draw.uniform(10.0, 35.0)),
        ),
    ]
    length, width = draw.uniform(diameter * 1.05, 150.0, 2)
    corner = float(draw.choice([0.0, min(3.0, width / 3.0, length / 3.0)]))
    core = rotate(shapely.box(corner, corner, length - corner, width - corner), float(draw.choice([0.0, 20.0, 45.0])))
    cuts.append(Cut("pocket", "pocket", translate(core, 700.0, 0.0), corner, THICK, float(draw.uniform(10.0, 35.0))))
    long, end, waist = draw.uniform(60.0, 120.0), draw.uniform(40.0, 60.0), draw.uniform(diameter * 1.1, 35.0)
    corners = [(0, -end), (long, -waist), (2 * long, -end), (2 * long, end), (long, waist), (0, end)]
    key = rotate(shapely.Polygon(np.array(corners) / 2.0), float(draw.uniform(0.0, 180.0)))
    cuts.append(Cut("key", "key", translate(key, 1000.0, 0.0), 0.0, THICK, float(draw.uniform(25.0, 35.0))))
    return cuts


def done(seed: int) -> Done:
    draw = np.random.default_rng((seed, 3))
    machine = Machine(
        program_units="in" if draw.random() < 0.5 else "mm",
        block_height=float(draw.choice([0.0, 20.0])),
        travel_x=3000.0,
        travel_y=3000.0,
    )
    diameter = float(draw.choice([6.0, 8.0, 10.0, 12.0, 16.0]))
    cuts, where = features(draw, diameter), placed(draw)
    start = time.perf_counter()
    programs = feature_programs(cuts, where, machine, THICK, bit=bit_for(machine, diameter), under=UNDER)
    return Done(programs, time.perf_counter() - start)


def rows() -> Iterator[Row]:
    found = [done(seed) for seed in range(TOPS)]
    programs = [program for one in found for program in one.programs]
    checks = [program.check for program in programs if program.check is not None]
    reference = f"{len(programs)} programs on {TOPS} tops, in mm and inches, either face up"
    kept = sum(not program.passed for program in programs)
    yield Row("programs of features that do not pass", str(kept), reference, None, "none", kept == 0)
    wall = max(check.beyond_wall for check in checks)
    yield Row(
        "cutter beyond a feature's wall",
        f"{wall:.4f} mm",
        reference,
        wall / TOLERANCE,
        f"at most {TOLERANCE} mm",
        wall <= TOLERANCE,
        f"wood cut outside the shapes: {max(check.outside for check in checks):.4f} mm",
    )
    floor = max(max(check.above_floor, check.below_floor) for check in checks)
    yield Row(
        "floor above or below its depth",
        f"{floor:.4f} mm",
        reference,
        floor / TOLERANCE,
        f"at most {TOLERANCE} mm",
        floor <= TOLERANCE,
    )
    seconds = sum(one.seconds for one in found)
    yield Row(
        "planning, writing and running a feature's program",
        f"{1000.0 * seconds / len(programs):.0f} ms",
        reference,
        None,
        "told",
        None,
        f"{sum(program.text.count(chr(10)) for program in programs)} lines in all",
    )
