"""What the shims hand on: each stack, and how the slab stands on all of them."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.accounts import figure, working
from slabwright.geometry.faces import Floats

_STOCK = ("shop:shims.thicknesses", "shop:shims.most_pieces")
_PLACES = ("shop:bed.pads", "shop:bed.pads_along", "shop:bed.pads_across", "shop:bed.pad_diameter")


@dataclass(frozen=True)
class Stack:
    """One stack of shims under the slab, on a pad of the bed."""

    name: str = figure(
        "",
        "letter on the map",
        how="row by row from the end of small x; A and B are left to the faces, I and O to the figures they look like",
    )
    x: float = figure(
        "mm",
        "middle of the pad along the grain, in the slab's frame",
        how="rows spread along the slab so that an even bar would load them evenly; moved to a reading where one is near; "
        "or as the shop file fixes it",
        rests_on=_PLACES,
        source="G. B. Airy, Memoirs of the Royal Astronomical Society 15, 1846 (from memory)",
        change="state the places in the shop file: [bed] pads",
    )
    y: float = figure(
        "mm",
        "middle of the pad across, in the slab's frame",
        how="outer places 0.12 of the width in from the long edges, the whole pad under wood; or as the shop file fixes it",
        rests_on=_PLACES,
        source="common practice",
        change="state the places in the shop file: [bed] pads",
    )
    gap: float = figure(
        "mm",
        "room between bed and underside at the lie",
        how="lowest reading of the underside over the pad, less the roughness, with the lie level and the slab raised",
        rests_on=("slab.seat.tilt_x", "slab.seat.tilt_y", "slab.shims.raised", "job:slab.survey"),
        sure="gap_error",
        change="a feeler between pad and wood says better than a reading beside it",
    )
    height: float = figure(
        "mm",
        "of the stack: its pieces added up",
        how="where it carries: the heights whose tilt loses the least thickness; elsewhere: the tallest stack that stays free "
        "of the wood",
        rests_on=_STOCK,
        sure="shop:shims.error",
        change="other or more shims, or more pieces in a stack",
    )
    pieces: tuple[float, ...] = figure(
        "mm", "the shims, thickest first", how="the fewest pieces that add up to the height", rests_on=_STOCK
    )
    carries: bool = figure(
        "",
        "whether the slab stands on it; else wedge it without lifting",
        how="a stiff slab stands on the three stacks whose tops carry its centre of mass highest",
    )
    wedge: float = figure(
        "mm",
        "what is left to wedge; 0 where it carries",
        how="room between stack and wood as the slab stands on its three; twice a stack's error is kept free where there is room",
        rests_on=("shop:shims.error",),
    )
    loss_too_high: float = figure(
        "mm",
        "thickness lost by 0.1 mm too much here",
        how="the three that carry and the thickness worked out again with this stack 0.1 mm higher; below 0 where it would gain",
        change="check this stack with callipers where the loss is large",
    )
    loss_too_low: float = figure(
        "mm",
        "thickness lost by 0.1 mm too little here",
        how="the three that carry and the thickness worked out again with this stack 0.1 mm lower; below 0 where it would gain",
        change="check this stack with callipers where the loss is large",
    )
    gap_error: float = figure(
        "mm",
        "usual error of the gap (two in three are smaller)",
        how="spread of neighbouring readings about their local plane; where none lies over the pad, of the plane through the "
        "nearest ones",
        change="a reading or a feeler at the pad",
    )
    read: bool = figure("", "whether a reading lies over the pad", how="else the gap is worked out from its neighbours")
    on_wood: bool = figure("", "whether the whole pad lies under wood")
    bed_x: float = figure("mm", "middle of the pad along the grain, as the slab lies on the bed, level")
    bed_y: float = figure("mm", "middle of the pad across, as the slab lies on the bed, level")


@dataclass(frozen=True)
class ShimPlan:
    """All stacks, and what lying on them costs."""

    stacks: tuple[Stack, ...] = figure("", "one for each place")
    loss: float = figure(
        "mm",
        "thickness lost because stacks come in steps; empty where no three stacks reach the wood",
        how="thickest level board at the wanted lie, less that of the lie in which the slab really stands on its three stacks",
        rests_on=("slab.seat.thickness", *_STOCK),
        sure="slab.shims.bound",
        change="finer shims, more pieces in a stack, or more places",
    )
    bound: float = figure(
        "mm",
        "no set of stacks from these shims and places loses less",
        how="every tilt that loses less was tried on every three stacks that hold the slab safely; none can be stacked",
        rests_on=_STOCK,
    )
    loss_error: float = figure(
        "mm",
        "usual error of the thickness from the stacks' own errors (two in three are smaller)",
        how="each stack off by its usual error, too high and too low, the thickness worked out again, the squares averaged and "
        "added up",
        rests_on=("shop:shims.error",),
        change="flat, clean shims, pressed home",
    )
    sag: float = figure(
        "mm",
        "of the slab between the stacks it stands on",
        how="a beam along the grain under its own weight, greatest distance from the straight line over the outer two of its "
        "three stacks",
        rests_on=("job:slab.species",),
        sure="an estimate: wood's stiffness varies by a fifth",
        source="Euler-Bernoulli beam; stiffness of the species from its table",
        change="more rows of places",
    )
    tip_margin: float = figure(
        "N",
        "down-force at the worst place that would just tip it, less the stated one",
        how="on its three stacks alone: weight times its distance inside the triangle's side, over the cutter's distance "
        "outside it, the worst side and corner",
        rests_on=("shop:machine.down_force",),
        change="places farther out; wedges under the other stacks",
        rounds="down",
    )
    raised: float = figure(
        "mm",
        "that the whole slab is raised above the bed, so that every stack has room",
        how="height of the lowest wood above the bed at the lie, with the centre of mass as high as it really stands; of all "
        "that can be stacked, the one with the fewest pieces",
        rests_on=_STOCK,
    )
    standing_tilt_x: float = figure(
        "deg",
        "of the slab as it really stands, against what was asked: positive, the side of greater y stands lower",
        how="plane through the three contacts",
    )
    standing_tilt_y: float = figure(
        "deg",
        "of the slab as it really stands, against what was asked: positive, the side of greater x stands lower",
        how="plane through the three contacts",
    )
    down_face: str = figure("", "the face that lies on the stacks for the first cut")
    standing: Floats = working()
    """The plane (a, b, c) that the wanted level turns into: a point at x, y, z of the bed's frame (the seat's frame; with face A
    down, y and z turned over) stands at z + a x + b y + c above the bed."""
    tip_margin_wedged: float = figure(
        "N",
        "the same once the other stacks are wedged",
        how="as the margin on three stacks, with the polygon round all stacks",
        rests_on=("shop:machine.down_force",),
        rounds="down",
    )
    gap_loss_error: float = figure(
        "mm",
        "usual error of the thickness from gaps that no reading lies over (two in three are smaller); 0 where every pad was read",
        how="as the error from the stacks, each such gap off by its usual error, too wide and too narrow",
        rests_on=("job:slab.survey",),
        change="read the underside at the pads, or check the gaps with a feeler before the first cut",
    )
    weight: float = figure(
        "N",
        "of the slab as it lies on the bed",
        how="thickness of the readings times area, density and gravity",
        rests_on=("job:slab.species", "job:slab.survey"),
    )
    roughness: float = figure(
        "mm", "spread of neighbouring readings of the underside about their local plane, taken off every gap"
    )
    left_out: tuple[tuple[float, float], ...] = figure("mm", "stated places that lie outside the underside", default=())
    short: tuple[str, ...] = figure("", "stacks too low to be wedged: no stack of these shims is taller", default=())
