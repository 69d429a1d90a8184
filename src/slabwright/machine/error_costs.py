"""What an error of z zero, of the spindle's lean or of resting wood costs, on the maps of wood above the planes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from slabwright.accounts import figure
from slabwright.geometry.faces import FaceName, Floats, other
from slabwright.job.models import Allowance, Machine
from slabwright.slab.results import SlabPlan
from slabwright.slab.stock import StockMap, outline_in_seat

TRIAL = 0.1
"""The error of z zero whose cost is told [mm]."""

_MAP = "counted on the map of wood above the plane, inside the part that comes out flat; filled places and their rims aside"
_RIM = 2.0
"""Cells round a filled place that run out to nothing with it."""


@dataclass(frozen=True)
class ErrorCost:
    """One error, and what it costs in skips or in promised thickness."""

    what: Literal["z zero", "tram", "movement"] = figure("", "the error")
    way: str = figure("", "which way it goes")
    size: float = figure(
        "mm",
        "of the error on the wood",
        how="z zero: a trial of 0.1 mm; tram: stepover times the tangent of the lean; movement: as allowed for",
        rests_on=["shop:machine.tram", "shop:machine.stepover", "shop:allowance.movement", "shop:machine.z_zero_error"],
    )
    face: FaceName = figure("", "the face on which it shows")
    skip_area: float = figure("mm2", "that the cutter misses because of it, beyond what it misses anyway", how=_MAP)
    skip_depth: float = figure(
        "mm", "of the deepest new skip", how="error less the wood above the plane, where it is least"
    )
    loss: float = figure(
        "mm",
        "promised thickness that it costs once the skips are cut out",
        how="z zero: as deep as the deepest new skip. Tram: ridges on both faces beyond the allowance for marks and sanding. "
        "Movement: beyond the rest",
        rests_on=["slab.seat.milled", "shop:allowance.marks_and_sanding", "shop:allowance.rest"],
        sure="as the map: linear between readings",
        source="common practice",
    )
    change: str = figure("", "what keeps it small")


def tram_ridge(stepover: float, lean: float) -> float:
    """Step between two strips when the spindle leans across them: stepover times tan(lean) [mm].

    Args:
        stepover: between strips [mm]
        lean: of the spindle [deg]
    """
    return stepover * math.tan(math.radians(lean))


def tram_hollow(stepover: float, diameter: float, lean: float) -> float:
    """Hollow of each strip when the spindle leans along it [mm].

    The rear of the tilted circle cuts: across the strip it is sin(lean) (R - sqrt(R^2 - (stepover / 2)^2)) deep.

    Args:
        stepover: between strips [mm]
        diameter: of the cutter [mm]
        lean: of the spindle [deg]
    """
    radius = diameter / 2.0
    half = min(stepover / 2.0, radius)
    return math.sin(math.radians(lean)) * (radius - math.sqrt(radius**2 - half**2))


def error_costs(
    slab: SlabPlan, machine: Machine, allowance: Allowance, *, trial: float = TRIAL
) -> tuple[ErrorCost, ...]:
    """What each error of the machine and the wood costs on this slab.

    An error of the first face's z zero loses either way: too high leaves skips on the first face, too low has the second face,
    cut to thickness from it, run out of wood. The second face's own z zero, on the bed, moves the thickness itself.

    Args:
        slab: with its maps
        machine: stepover and lean
        allowance: rest, movement, marks and sanding
        trial: error of z zero that is tried [mm]
    """
    first: FaceName = slab.first_face
    second: FaceName = other(first)
    above = {face: _clean(slab, face) for face in (first, second)}
    area = {"A": slab.stock_a.cell_area, "B": slab.stock_b.cell_area}
    found = [
        _missed(
            "z zero", f"first face cut {way}", trial, face, above[face], area[face], "zero on the fixed block, twice"
        )
        for way, face in (("too high", first), ("too low", second))
    ]
    ridge = tram_ridge(machine.stepover, machine.tram)
    hollow = tram_hollow(machine.stepover, machine.cutter_diameter, machine.tram)
    for way, size in (("spindle leans across the strips", ridge), ("spindle leans along the strips", hollow)):
        # What is left standing on each face is sanded off both.
        beyond = 2.0 * max(0.0, size - allowance.marks_and_sanding)
        found.append(
            ErrorCost(
                "tram", way, size, first, 0.0, 0.0, beyond, "tram the spindle; a smaller stepover for the last pass"
            )
        )
    rest = 0.0 if _one_go(slab) else allowance.rest
    beyond = max(0.0, allowance.movement - rest)
    for face in (first, second):
        left = above[face] if rest == 0.0 else np.minimum(above[face], rest)
        bow = allowance.movement * _bow(slab, face)
        missed = (left - bow < 0.0) & (left >= 0.0)
        deepest = float(np.max((bow - left)[missed], initial=0.0))
        found.append(
            ErrorCost(
                "movement",
                "bows while it rests" if rest else "bows after it is cut",
                allowance.movement,
                face,
                float(np.count_nonzero(missed)) * area[face],
                deepest,
                max(beyond, deepest),
                "read it again after the rest and plan from that reading; a longer rest, or a greater one left on",
            )
        )
    return tuple(found)


def _one_go(slab: SlabPlan) -> bool:
    return next((way.kind for way in slab.procedures if way.chosen), "one go") == "one go"


def _missed(
    what: Literal["z zero"], way: str, error: float, face: FaceName, above: Floats, area: float, change: str
) -> ErrorCost:
    """Skips where less wood stands above the plane than the error; low spots that are missed anyway do not count."""
    missed = (above >= 0.0) & (above < error)
    deepest = error - float(above[missed].min()) if missed.any() else 0.0
    return ErrorCost(what, way, error, face, float(np.count_nonzero(missed)) * area, deepest, deepest, change)


def _inside(slab: SlabPlan, face: FaceName) -> tuple[StockMap, NDArray[np.bool_]]:
    """The map of a face, and which cells lie in the clean region."""
    stock, region = (slab.stock_a, slab.survey.region_a) if face == "A" else (slab.stock_b, slab.survey.region_b)
    border = outline_in_seat(region, slab.seat.planes, which="upper" if face == "A" else "lower")
    x, y = np.meshgrid(stock.x, stock.y, indexing="ij")
    inside = shapely.contains_xy(border, x, y) & ~np.isnan(stock.depth)
    if face == slab.show_face:
        rim = _RIM * float(stock.x[1] - stock.x[0])
        for patch in slab.patches:
            inside &= ~shapely.contains_xy(shapely.buffer(patch.outline, rim), x, y)
    return stock, inside


def _clean(slab: SlabPlan, face: FaceName) -> Floats:
    """Wood above the plane in the clean region, cell by cell, shape (n,) [mm]."""
    stock, inside = _inside(slab, face)
    return np.asarray(stock.depth[inside], dtype=np.float64)


def _bow(slab: SlabPlan, face: FaceName) -> Floats:
    """A bow of one along the grain, cell by cell: 1 at mid-length, 0 at the ends, shape (n,)."""
    stock, inside = _inside(slab, face)
    x = np.broadcast_to(stock.x[:, None], stock.depth.shape)[inside]
    if x.size == 0:
        return np.zeros(0)
    half = max((float(x.max()) - float(x.min())) / 2.0, 1e-9)
    return np.asarray(1.0 - ((x - (float(x.max()) + float(x.min())) / 2.0) / half) ** 2, dtype=np.float64)
