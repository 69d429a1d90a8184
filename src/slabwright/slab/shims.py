"""Shims: the stacks that hold the slab at its lie for the first cut, and the three that it really stands on."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.accounts import figure, working
from slabwright.geometry.faces import Floats


@dataclass(frozen=True)
class Stack:
    """One stack of shims under the slab, on a pad of the bed."""

    name: str = figure("", "letter on the map")
    x: float = figure("mm", "middle of the pad along the grain, in the slab's frame")
    y: float = figure("mm", "middle of the pad across, in the slab's frame")
    gap: float = figure("mm", "room between bed and underside at the lie")
    height: float = figure("mm", "of the stack: its pieces added up")
    pieces: tuple[float, ...] = figure("mm", "the shims, thickest first")
    carries: bool = figure("", "whether the slab stands on it; else wedge it without lifting")
    wedge: float = figure("mm", "what is left to wedge; 0 where it carries")
    loss_too_high: float = figure("mm", "thickness lost by 0.1 mm too much here")
    loss_too_low: float = figure("mm", "thickness lost by 0.1 mm too little here")


@dataclass(frozen=True)
class ShimPlan:
    """All stacks, and what lying on them costs."""

    stacks: tuple[Stack, ...] = figure("", "one for each place")
    loss: float = figure("mm", "thickness lost because stacks come in steps")
    bound: float = figure("mm", "no set of stacks from these shims and places loses less")
    loss_error: float = figure("mm", "standard error of the thickness from the stacks' own errors")
    sag: float = figure("mm", "of the slab between the stacks it stands on")
    tip_margin: float = figure("N", "down-force at the worst place that would just tip it, less the stated one")
    raised: float = figure("mm", "that the whole slab is raised above the bed, so that every stack has room")
    standing_tilt_x: float = figure("deg", "of the seat as it really stands, against what was asked")
    standing_tilt_y: float = figure("deg", "of the seat as it really stands, against what was asked")
    down_face: str = figure("", "the face that lies on the stacks for the first cut")
    standing: Floats = working()
    """How it really stands: rotation and height, the plane z = a x + b y + c (a, b, c) that the wanted level turns into."""
