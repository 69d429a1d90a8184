"""The lie of the slab: the pair of parallel planes that gives the thickest flat board, and what of it is promised."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from slabwright.accounts import figure, working
from slabwright.geometry.planes import PlanePair
from slabwright.geometry.strip import Strip
from slabwright.slab.stock import StockMap

_READINGS = ("job:slab.survey", "job:slab.survey_a", "job:slab.survey_b")
_REGION = ("job:slab.edge_margin", "job:slab.end_trim", "job:slab.outline", "job:slab.outline_a")


@dataclass(frozen=True)
class Contact:
    """A reading that carries the optimum: the plane touches it, so it decides the thickness."""

    face: Literal["A", "B"] = figure("", "which face")
    x: float = figure("mm", "along the grain", rests_on=_READINGS)
    y: float = figure("mm", "across", rests_on=_READINGS)
    z: float = figure("mm", "height as read", rests_on=_READINGS, change="read that place again; fill it or cut it off")


@dataclass(frozen=True)
class Term:
    """One step from the thickness of the readings down to the promised one; the steps add up to it."""

    name: Literal["between readings", "marks and sanding", "tie", "shims", "z zero"] = figure(
        "", "what may take thickness"
    )
    loss: float = figure(
        "mm",
        "what it takes off the promised thickness",
        how="thickness kept 19 times in 20 before this step, less the same after it; all steps are drawn together",
        rests_on=[
            "slab.survey.spacing",
            "slab.shims.loss",
            "shop:machine.z_zero_error",
            "shop:allowance.marks_and_sanding",
        ],
        change="more readings where the plan says they narrow it most; finer shims; a better z zero",
    )
    median: float = figure("mm", "what it takes off in an even-chance case", how="as the loss, kept one time in two")
    basis: str = figure("", "what it rests on: readings, shop file, or a default")


@dataclass(frozen=True)
class Seat:
    """How the slab must lie, and what board comes of it."""

    thickness: float = figure(
        "mm",
        "thickest flat board of the readings as measured",
        how="the widest strip between the faces: no reading of face A below its upper plane, none of face B above its lower",
        rests_on=[*_READINGS, *_REGION],
        sure="slab.seat.bound",
        change="read the places that carry it again, fill or cut off the dip that decides it, shorten the slab",
    )
    bound: float = figure(
        "mm",
        "no lie of these readings gives more",
        how="the distance of two points, each between the readings of its face",
        rests_on=[*_READINGS, *_REGION],
        sure="proven: planes and points are checked against every reading",
        rounds="up",
    )
    thickness_low: float = figure(
        "mm",
        "promised: the board is at least this thick 19 times in 20",
        how="thickness of the readings, less what is hidden between them, tie, shims, z zero, marks and sanding",
        rests_on=["slab.seat.thickness", "slab.seat.terms"],
        sure="19 times in 20, checked on 300 invented slabs of known surface",
        change="more readings, a finer set of shims, a better z zero",
        rounds="down",
    )
    thickness_even: float = figure(
        "mm",
        "even chance: half of such boards come out thicker",
        how="as the promise, with the middle one of the draws",
        rests_on=["slab.seat.thickness", "slab.seat.terms"],
    )
    thickness_low_filled: float = figure(
        "mm",
        "promised with the chosen fill; the same where nothing is filled",
        how="thickness with that fill, less the same steps, at its own tilt",
        rests_on=["slab.chosen_fill", "slab.patch_front", "slab.seat.terms"],
        sure="19 times in 20",
        change="another point of thickness against fill",
        rounds="down",
    )
    thickness_even_filled: float = figure(
        "mm",
        "even chance with the chosen fill; the same where nothing is filled",
        how="as the promise with the chosen fill, with the middle one of the draws",
        rests_on=["slab.chosen_fill", "slab.patch_front", "slab.seat.terms"],
    )
    tilt_x: float = figure(
        "deg",
        "turn about the x axis; positive: the side of greater y goes down",
        how="slope across of the planes of the most thickness",
        rests_on=["slab.seat.thickness"],
    )
    tilt_y: float = figure(
        "deg",
        "turn about the y axis; positive: the side of greater x goes down",
        how="slope along the grain of the planes of the most thickness",
        rests_on=["slab.seat.thickness"],
    )
    cut_tilt_x: float = figure(
        "deg",
        "the same turn for the planes that are cut",
        how="as tilt_x; another where a fill is taken, or where less than the most is wanted and both faces can be cut alike",
        rests_on=["slab.seat.target", "slab.chosen_fill"],
    )
    cut_tilt_y: float = figure(
        "deg",
        "the same turn for the planes that are cut",
        how="as tilt_y; another where a fill is taken, or where less than the most is wanted and both faces can be cut alike",
        rests_on=["slab.seat.target", "slab.chosen_fill"],
    )
    target: float = figure(
        "mm",
        "thickness of the finished board that the cuts are planned for",
        how="as the job states, or the promised thickness where it asks for the most or for more than that",
        rests_on=["job:piece.thickness", "slab.seat.thickness_low_filled"],
        change="state another [piece] thickness",
    )
    milled: float = figure(
        "mm",
        "thickness that the cutter leaves",
        how="target and the allowance for marks and sanding on both faces",
        rests_on=["slab.seat.target", "shop:allowance.marks_and_sanding"],
    )
    cut_a: float = figure(
        "mm", "greatest depth cut off face A", how="highest wood above the upper plane", rests_on=["slab.seat.target"]
    )
    cut_b: float = figure(
        "mm", "greatest depth cut off face B", how="highest wood below the lower plane", rests_on=["slab.seat.target"]
    )
    terms: tuple[Term, ...] = figure("", "from the readings to the promise, step by step")
    contacts: tuple[Contact, ...] = figure("", "the readings that decide the thickness")
    lie: PlanePair = working()
    """The planes of `thickness`."""
    planes: PlanePair = working()
    """The planes that are cut, `milled` apart."""


def seat(
    strip: Strip,
    planes: PlanePair,
    *,
    thickness_low: float,
    thickness_even: float,
    thickness_low_filled: float,
    thickness_even_filled: float,
    target: float,
    terms: Sequence[Term],
    stock_a: StockMap,
    stock_b: StockMap,
) -> Seat:
    """The lie of the slab with what is promised of it.

    Args:
        strip: the widest strip of the readings
        planes: that are cut
        thickness_low: promised without fill [mm]
        thickness_even: even chance without fill [mm]
        thickness_low_filled: promised with the chosen fill [mm]
        thickness_even_filled: even chance with the chosen fill [mm]
        target: finished thickness the cuts are planned for [mm]
        terms: from the readings to the promise
        stock_a: wood above the upper plane
        stock_b: wood below the lower plane

    Returns:
        The seat.
    """
    contacts: list[Contact] = []
    faces: tuple[tuple[Literal["A", "B"], np.ndarray[tuple[int, ...], np.dtype[np.float64]]], ...] = (
        ("A", strip.contacts_a),
        ("B", strip.contacts_b),
    )
    for face, points in faces:
        contacts += [Contact(face, float(x), float(y), float(z)) for x, y, z in points]
    return Seat(
        thickness=strip.thickness,
        bound=strip.bound,
        thickness_low=thickness_low,
        thickness_even=thickness_even,
        thickness_low_filled=thickness_low_filled,
        thickness_even_filled=thickness_even_filled,
        tilt_x=strip.planes.tilt_x,
        tilt_y=strip.planes.tilt_y,
        cut_tilt_x=planes.tilt_x,
        cut_tilt_y=planes.tilt_y,
        target=target,
        milled=planes.thickness,
        cut_a=max(0.0, float(np.nanmax(stock_a.depth))),
        cut_b=max(0.0, float(np.nanmax(stock_b.depth))),
        terms=tuple(terms),
        contacts=tuple(contacts),
        lie=strip.planes,
        planes=planes,
    )
