"""The base takes over what the top's layout has settled: bolts, the plates' sizes, how far apart they stand."""

from __future__ import annotations

import re
from collections.abc import Mapping

from slabwright.base.kinds import Bolt
from slabwright.base.stiffness import TopOn
from slabwright.findings import SlabwrightError
from slabwright.job.base_models import Base
from slabwright.job.top_models import Insert, Pocket
from slabwright.slab.board import Board
from slabwright.top.layout_results import Layout
from slabwright.top.results import TopPlan

_NEARLY = 1.0
_OWN = re.compile(r"(left|right) plate, row \d+, bolt \d+$")
"""How the base calls its own bolts."""


def top_on(top: TopPlan, board: Board, density: float, modulus: float, gravity: float, known: bool = True) -> TopOn:
    """The top as the base sees it.

    Args:
        top: the top's plan
        board: with the band of its thickness
        density: at its moisture content [kg/m3]
        modulus: along the grain [MPa]
        gravity: ovendry mass over volume
        known: whether the slab was read or made
    """
    pockets = [feature.depth for feature in plate_pockets(top.layout).values()]
    return TopOn(
        length=top.length,
        width=float(top.outline.area) / top.length,
        thickness=(
            min(board.thickness_low, board.thickness),
            board.thickness,
            max(board.thickness_even, board.thickness),
        ),
        pocket=min(pockets, default=0.0),
        density=density,
        modulus=modulus,
        gravity=gravity,
        outline=top.outline,
        known=known,
        planned=board.basis != "as made",
    )


class _Sunk:
    """A plate's pocket: its middle from the middle of the top, its sizes [mm]."""

    def __init__(self, pocket: Pocket, along: float, across: float, depth: float) -> None:
        self.along, self.across, self.depth = along, across, depth
        self.width, self.length = pocket.length, pocket.width


def plate_pockets(layout: Layout) -> Mapping[str, _Sunk]:
    """Pockets on the underside that bolts of the base go through, by name."""
    bolted = {feature.plate for feature in layout.top.features if isinstance(feature, Insert) and feature.plate}
    found = {}
    for feature in layout.top.features:
        if isinstance(feature, Pocket) and feature.face == "underside" and feature.name in bolted:
            placed = layout.named(feature.name)
            found[feature.name] = _Sunk(
                feature, (placed.along or 0.0) - layout.length / 2.0, placed.across or 0.0, placed.depth
            )
    return found


def bolts_of(layout: Layout) -> tuple[Bolt, ...] | None:
    """Bolts that hold the top, from its inserts; None where the layout has none.

    Inserts that go through the plate of a pocket; where no plate is let in, those that are called like the base's bolts.

    Args:
        layout: every feature of the top, placed
    """
    pockets = plate_pockets(layout)
    found = []
    for feature in layout.top.features:
        own = isinstance(feature, Insert) and feature.plate is None and bool(_OWN.match(feature.name))
        if isinstance(feature, Insert) and (feature.plate in pockets or (own and not pockets)):
            placed = layout.named(feature.name)
            found.append(
                Bolt(
                    name=feature.name,
                    x=(placed.along or 0.0) - layout.length / 2.0,
                    y=placed.across or 0.0,
                    slides=not _holds(feature, layout),
                    thread=feature.thread,
                    hole=feature.drill,
                    engagement=feature.engagement,
                )
            )
    return tuple(found) or None


def _holds(insert: Insert, layout: Layout) -> bool:
    """A fixed bolt; and one that the wood does not move from, as it lies as far across as the fixed one."""
    across = layout.named(insert.name).across or 0.0
    fixed = [
        layout.named(feature.name).across or 0.0
        for feature in layout.top.features
        if isinstance(feature, Insert) and feature.fixed
    ]
    return insert.fixed or any(abs(across - other) < _NEARLY for other in fixed)


def with_layout(base: Base, layout: Layout) -> Base:
    """The base with the sizes that the layout settles and the job leaves out: plates and how far apart they stand.

    Args:
        base: as stated
        layout: every feature of the top, placed

    Raises:
        SlabwrightError: the layout's plates are not one at either end.
    """
    pockets = list(plate_pockets(layout).values())
    if not pockets or base.nodes:
        return base
    left = [pocket for pocket in pockets if pocket.along < 0.0]
    right = [pocket for pocket in pockets if pocket.along > 0.0]
    if len(left) != 1 or len(right) != 1:
        raise SlabwrightError(
            f"base: the top has {len(left)} plates in its left half and {len(right)} in its right half; a base of the picture"
            " has one at either end: state a free frame in [base] for any other"
        )
    plate = base.plate
    thick = [
        feature.plate_thickness
        for feature in layout.top.features
        if isinstance(feature, Insert) and feature.plate and feature.plate_thickness is not None
    ]
    update = {
        "width": plate.width if plate.width is not None else min(pocket.width for pocket in pockets),
        "length": plate.length if plate.length is not None else min(pocket.length for pocket in pockets),
        "thickness": plate.thickness if plate.thickness is not None else min(thick, default=None),
    }
    spread = base.spread if base.spread is not None else right[0].along - left[0].along
    across = base.across
    if across is None and update["length"] is not None:
        across = update["length"]
    return base.model_copy(update={"plate": plate.model_copy(update=update), "spread": spread, "across": across})
