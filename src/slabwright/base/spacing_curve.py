"""Stiffness lengthwise against the spacing of the bolts: when wide plates make a stretcher needless.

The trade's rule: a wide plate with bolts far apart makes a stretcher needless (common practice). Each point is worked out with
the same structure as the base itself. It takes some milliseconds a point, so that only sheets ask for it, not every plan.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from slabwright.base.base_results import Sway, SwayShares
from slabwright.base.base_sizes import Sizes
from slabwright.base.kinds import Bolt, Drawn, draw
from slabwright.base.loads import stand
from slabwright.base.stiffness import TopOn, build
from slabwright.base.sway import sway
from slabwright.job.base_models import BaseKind
from slabwright.quantities import Units

PLATE_EDGE = 15.0
"""From a plate's long edge to the middle of its bolts [mm]: common practice."""
SPACINGS = (30.0, 40.0, 60.0, 80.0, 120.0, 160.0, 240.0, 320.0)
"""Between the rows of bolts: from two inserts side by side to plates wider than any in use [mm]."""
_END = 10.0


@dataclass(frozen=True)
class SpacingPoint:
    """Stiffness lengthwise at one spacing of the bolts.

    Attributes:
        spacing: between the two rows of bolts, along the top [mm]
        plate_width: that takes them, 15 mm beyond either row [mm]
        stiffness: at the top, lengthwise, without a stretcher [N/mm]
        stretched: the same with stretchers between the legs; None: trestles, which have one in any case [N/mm]
        joint: share of the give, without a stretcher, that plates and bolts make
        frame: share that tubes, top and feet make
    """

    spacing: float
    plate_width: float
    stiffness: float
    stretched: float | None
    joint: float
    frame: float

    @property
    def rest(self) -> float:
        """Stiffness if plates and bolts gave nothing: no plate, however wide, gets beyond it [N/mm]."""
        return self.stiffness / self.frame


def stiffness_of(drawn: Drawn, top: TopOn) -> tuple[Sway, SwayShares]:
    """Stiffness at the top both ways, and where the give comes from."""
    structure = build(drawn, top)
    return sway(structure, stand(structure, slides=False))


def spacing_curve(
    kind: BaseKind,
    sizes: Sizes,
    bolts: Sequence[Bolt],
    top: TopOn,
    units: Units = "metric",
    spacings: Sequence[float] = SPACINGS,
) -> tuple[SpacingPoint, ...]:
    """Stiffness lengthwise against the spacing of two rows of bolts, plates as wide as they ask for.

    Args:
        kind: the picture
        sizes: of the base, with defaults filled in; a stretcher that is stated is the one that is tried, else one of its tube
        bolts: that hold the top; a row of the same ones is set to either side of each plate's middle
        top: the top
        units: of the job
        spacings: to be tried [mm]; those whose plates would reach beyond the top are left out
    """
    once: dict[tuple[bool, int], Bolt] = {}
    for bolt in bolts:
        once.setdefault((bolt.x > 0.0, round(bolt.y)), bolt)
    stretcher = sizes.stretcher or sizes.tube
    found = []
    for spacing in spacings:
        width = max(spacing + 2.0 * PLATE_EDGE, sizes.tube.width, sizes.rail.width)
        if sizes.spread + width > min(top.length - 2.0 * _END, 2.0 * sizes.spread):
            continue
        two = [
            replace(bolt, name=f"{bolt.name}, {side}", x=math.copysign(sizes.spread / 2.0, bolt.x) + dx)
            for bolt in once.values()
            for side, dx in (("left", -spacing / 2.0), ("right", spacing / 2.0))
        ]
        plain = replace(sizes, plate_width=width, stretcher=sizes.stretcher if kind == "trestles" else None)
        stiff, shares = stiffness_of(draw(kind, plain, two, units), top)
        stretched = None
        if kind != "trestles":
            with_one = replace(plain, stretcher=stretcher)
            stretched = stiffness_of(draw(kind, with_one, two, units), top)[0].x
        joint = shares.x.plates + shares.x.bolts
        found.append(SpacingPoint(spacing, width, stiff.x, stretched, joint, 1.0 - joint))
    return tuple(found)


def frame_governs_from(curve: Sequence[SpacingPoint]) -> float | None:
    """Spacing from which the frame governs [mm], between the curve's points; None: nowhere.

    There, tubes, top and feet make half of the give: as what plates and bolts give can at most be taken away, no other plate
    makes the table more than twice as stiff from there on; only a stretcher or larger tubes do.
    """
    if curve and curve[0].frame >= curve[0].joint:
        return curve[0].spacing
    for before, after in pairwise(curve):
        first, last = before.frame - before.joint, after.frame - after.joint
        if first < 0.0 <= last:
            return before.spacing + (after.spacing - before.spacing) * -first / (last - first)
    return None


def needless_from(curve: Sequence[SpacingPoint], enough: float) -> float | None:
    """Spacing from which the table is stiff enough without a stretcher [mm]; None: nowhere.

    Args:
        curve: from `spacing_curve`
        enough: stiffness that is asked for [N/mm]
    """
    if curve and curve[0].stiffness >= enough:
        return curve[0].spacing
    for before, after in pairwise(curve):
        if before.stiffness < enough <= after.stiffness:
            share = (enough - before.stiffness) / (after.stiffness - before.stiffness)
            return before.spacing + share * (after.spacing - before.spacing)
    return None


def stiffest(curve: Sequence[SpacingPoint]) -> SpacingPoint | None:
    """The stiffest point where the curve falls again after it: thin plates bend more than far bolts gain; None: it rises on."""
    best = max(curve, key=lambda point: point.stiffness, default=None)
    return None if best is None or best is curve[-1] else best
