"""The lie of the slab: the pair of parallel planes that gives the thickest flat board, and what of it is promised."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure, working
from slabwright.geometry.planes import PlanePair


@dataclass(frozen=True)
class Contact:
    """A reading that carries the optimum: the plane touches it, so it decides the thickness."""

    face: Literal["A", "B"] = figure("", "which face")
    x: float = figure("mm", "along the grain")
    y: float = figure("mm", "across")
    z: float = figure("mm", "height as read")


@dataclass(frozen=True)
class Term:
    """One step from the thickness of the readings down to the promised one; the steps add up to it."""

    name: Literal["between readings", "marks and sanding", "tie", "shims", "z zero"] = figure(
        "", "what may take thickness"
    )
    loss: float = figure("mm", "what it takes off the promised thickness")
    median: float = figure("mm", "what it takes off in an even-chance case")
    basis: str = figure("", "what it rests on: readings, shop file, or a default")


@dataclass(frozen=True)
class Seat:
    """How the slab must lie, and what board comes of it."""

    thickness: float = figure("mm", "thickest flat board of the readings as measured")
    bound: float = figure("mm", "no lie of these readings gives more")
    thickness_low: float = figure("mm", "promised: the board is at least this thick 19 times in 20")
    thickness_even: float = figure("mm", "even chance: half of such boards come out thicker")
    tilt_x: float = figure("deg", "turn about the x axis; positive: the side of greater y goes down")
    tilt_y: float = figure("deg", "turn about the y axis; positive: the side of greater x goes down")
    target: float = figure("mm", "thickness that the cuts are planned for")
    cut_a: float = figure("mm", "greatest depth cut off face A, milling only")
    cut_b: float = figure("mm", "greatest depth cut off face B, milling only")
    terms: tuple[Term, ...] = figure("", "from the readings to the promise, step by step")
    contacts: tuple[Contact, ...] = figure("", "the readings that decide the thickness")
    basis: Literal["planned", "measured", "as made"] = figure("", "the ripest fact that the thickness rests on")
    lie: PlanePair = working()
    """The planes of `thickness`."""
    planes: PlanePair = working()
    """The planes that are cut: `target` plus marks and sanding on both faces, parallel to what was chosen."""
