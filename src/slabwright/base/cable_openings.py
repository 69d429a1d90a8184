"""Openings in the steel that the job's cables want, for the drill plan."""

from __future__ import annotations

import math
from collections.abc import Sequence

from slabwright.base.drill_plan import Cable
from slabwright.job.cable_models import Cable as StatedCable
from slabwright.job.cable_models import CableEnd, CableStretch

_PLAY = 1.0
"""Of whatever is drawn through an opening, on its diameter [mm]: common practice."""


def clear_diameter(cable: StatedCable, stretch: CableStretch) -> float:
    """Clear diameter of an opening that a cable goes through [mm].

    As stated; else the circle round the cross-section of what has to pass, and a little play.

    Args:
        cable: as stated
        stretch: the plate or the tube
    """
    if stretch.opening is not None:
        return stretch.opening
    led = cable.passes()
    return max(cable.diameter, round_of(led[1]) if led is not None else 0.0) + _PLAY


def round_of(end: CableEnd) -> float:
    """Diameter of the circle round the cross-section of a plug or a connector [mm]."""
    return math.hypot(end.width, end.height)


def openings_through(job_cables: Sequence[StatedCable]) -> tuple[Cable, ...]:
    """The openings in plates and tubes, one after another along each cable.

    Args:
        job_cables: as the job states them
    """
    found = []
    for cable in job_cables:
        for stretch in cable.through:
            clear = clear_diameter(cable, stretch)
            if stretch.plate is not None:
                found.append(
                    Cable(f"{cable.name}, {stretch.plate}", stretch.plate, clear, stretch.along, stretch.across)
                )
            elif stretch.tube is not None:
                for word, place in (("in", stretch.enters), ("out", stretch.leaves)):
                    if place is not None:
                        found.append(Cable(f"{cable.name}, {stretch.tube}, {word}", stretch.tube, clear, place))
    return tuple(found)
