"""What would make a base stiffer: each change is tried in the model."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from slabwright.base.base_results import Mend, Sway
from slabwright.base.base_sizes import Sizes
from slabwright.base.kinds import Bolt, Drawn, draw
from slabwright.base.sections import Section, section
from slabwright.base.spacing_curve import PLATE_EDGE, stiffness_of
from slabwright.base.stiffness import TopOn
from slabwright.base.sway import steel_mass
from slabwright.findings import SlabwrightError
from slabwright.job.base_models import BaseKind
from slabwright.quantities import Units, format_length
from slabwright.reference.steel import steel

_WIDER = 1.5


@dataclass(frozen=True)
class Trial:
    """A change to try: its words, the base as drawn with it, and what holds the top."""

    change: str
    drawn: Drawn


def trials(kind: BaseKind, sizes: Sizes, bolts: Sequence[Bolt], units: Units) -> tuple[Trial, ...]:
    """Changes that can be made to a base; what cannot be made is left out.

    Args:
        kind: the picture
        sizes: with defaults filled in
        bolts: that hold the top
        units: of the job
    """
    ways: list[tuple[str, Sizes, Sequence[Bolt]]] = []
    spacing = 2.0 * max((abs(abs(bolt.x) - sizes.spread / 2.0) for bolt in bolts), default=0.0)
    wide = sizes.plate_width * _WIDER
    farther = ", bolts as much farther out" if spacing > 1.0 else ""
    apart = _apart(bolts, sizes.spread, _WIDER)
    ways.append((f"plates {format_length(wide, units)} wide{farther}", replace(sizes, plate_width=wide), apart))
    most = sizes.plate_width - 2.0 * PLATE_EDGE
    if 1.0 < spacing < 0.9 * most:
        apart = _apart(bolts, sizes.spread, most / spacing)
        ways.append((f"bolts {format_length(most, units)} apart along the top", sizes, apart))
    for width in (sizes.plate_width, wide) if spacing <= 1.0 else ():
        rows = width - 2.0 * PLATE_EDGE
        two = [
            replace(bolt, name=f"{bolt.name}, {side}", x=bolt.x + dx)
            for bolt in bolts
            for side, dx in (("left", -rows / 2.0), ("right", rows / 2.0))
        ]
        if rows >= 50.0:
            plates = f"plates {format_length(width, units)} wide, " if width > sizes.plate_width else ""
            words = f"{plates}two rows of bolts on each plate, {format_length(rows, units)} apart"
            ways.append((words, replace(sizes, plate_width=width), two))
    thick = sizes.plate_thickness * _WIDER
    ways.append((f"plates {format_length(thick, units)} thick", replace(sizes, plate_thickness=thick), bolts))
    thicker = _thicker(sizes.tube)
    if thicker is not None:
        rail = thicker if sizes.rail == sizes.tube else sizes.rail
        ways.append((f"tube {thicker.name}", replace(sizes, tube=thicker, rail=rail), bolts))
    if kind != "trestles" and sizes.stretcher is None:
        with_one = replace(sizes, stretcher=sizes.tube)
        ways.append((f"stretchers of {sizes.tube.name} between the legs", with_one, bolts))
    found = []
    for change, tried, held_by in ways:
        try:
            found.append(Trial(change, draw(kind, tried, held_by, units)))
        except SlabwrightError:
            continue  # what cannot be made is no remedy
    return tuple(found)


def mends(tried: Sequence[Trial], top: TopOn, now: Sway, mass: float) -> tuple[Mend, ...]:
    """Changes that make either way at least a twentieth stiffer, most gain for their steel first.

    Args:
        tried: from `trials`
        top: the top
        now: stiffness as it is
        mass: of the steel as it is [kg]
    """
    found = []
    for trial in tried:
        stiff = stiffness_of(trial.drawn, top)[0]
        gain = max(stiff.x / now.x, stiff.y / now.y)
        more = steel_mass(trial.drawn) - mass
        if gain >= 1.05:
            found.append(Mend(trial.change, more, stiff.x, stiff.y, gain))
    return tuple(sorted(found, key=lambda mend: max(mend.mass, 0.1) / (mend.gain - 1.0)))


def _apart(bolts: Sequence[Bolt], spread: float, times: float) -> list[Bolt]:
    """The same bolts farther from the middles of their plates, along the top."""
    return [
        replace(bolt, x=math.copysign(spread / 2.0, bolt.x) + times * (bolt.x - math.copysign(spread / 2.0, bolt.x)))
        for bolt in bolts
    ]


def _thicker(tube: Section) -> Section | None:
    """The next listed tube with the same sides; None where the table has none."""
    if tube.wall is None:
        return None
    rows = [
        row
        for row in steel().rows.values()
        if row.kind == tube.kind
        and row.system == tube.system
        and abs(row.depth - tube.depth) < 0.1
        and abs(row.width - tube.width) < 0.1
        and row.wall > tube.wall + 0.1
    ]
    return section(min(rows, key=lambda row: row.wall).name, tube.system) if rows else None
