"""Results: mass and centre of gravity of every state of the piece."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure, working

_WOOD = ("job:slab.species", "job:slab.moisture", "job:slab.weighed")
_SOLID = ("job:slab.survey", "job:slab.outline", "board.thickness", "top.features", "slab.patches", "base.mass")
_HOW = (
    "rough slab: the solid between both faces' readings inside their outlines x density; blank and top: outline x thickness, "
    "less pockets, holes and channels, plus fill, inserts and let-in steel; base: tubes by mass per metre, plates, levellers"
)
_SPREAD = (
    "density of one species differs by 10 % (one spread) from slab to slab, moisture by what the meter tells; weighed: the "
    "scales' 1 %; steel 2 %; the range is 1.96 spreads either way"
)
_SOURCE = "Wood Handbook, FPL-GTR-190 (2010), chapter 4, from memory; common practice"
_CHANGE = "weigh the slab, one end after the other, and state [slab] weighed"


@dataclass(frozen=True)
class MassRange:
    """A mass with its 95 % range."""

    value: float = figure(
        "kg",
        "mean",
        how=_HOW,
        rests_on=(*_WOOD, *_SOLID),
        sure="carry.mass.low to carry.mass.high",
        source=_SOURCE,
        change=_CHANGE,
    )
    low: float = figure(
        "kg",
        "19 times in 20 no less than this and no more than high",
        how=_SPREAD,
        rests_on=_WOOD,
        source=_SOURCE,
        change=_CHANGE,
        rounds="down",
    )
    high: float = figure(
        "kg",
        "19 times in 20 no more than this and no less than low",
        how=_SPREAD,
        rests_on=_WOOD,
        source=_SOURCE,
        change=_CHANGE,
        rounds="up",
    )


@dataclass(frozen=True)
class Centre:
    """A centre of gravity."""

    x: float = figure(
        "mm",
        "along, from the middle of the top's length; before the piece is placed, of the slab's",
        how="masses x places / mass",
        rests_on=(*_SOLID, "top.placement.x"),
        sure="of the shapes; denser sapwood, knots and one wet end shift it by a few millimetres",
    )
    y: float = figure(
        "mm",
        "across, from the centre line, towards the far edge positive",
        how="masses x places / mass",
        rests_on=(*_SOLID, "top.placement.y"),
        sure="as x",
    )
    z: float = figure(
        "mm",
        "above the floor; of what does not stand on its base yet: above what it lies on, show face up",
        how="masses x heights / mass",
        rests_on=(*_SOLID, "base.height"),
        sure="as x",
    )


@dataclass(frozen=True)
class State:
    """The piece, or a part of it, at one time."""

    name: str = figure("", "rough slab, blank, top, base, a leg frame, or finished piece")
    mass: float = figure(
        "kg",
        "mean",
        how=_HOW,
        rests_on=(*_WOOD, *_SOLID),
        sure="its low and high, 95 %",
        source=_SOURCE,
        change=_CHANGE,
    )
    low: float = figure(
        "kg",
        "19 times in 20 no less than this and no more than high",
        how=_SPREAD,
        rests_on=_WOOD,
        source=_SOURCE,
        change=_CHANGE,
        rounds="down",
    )
    high: float = figure(
        "kg",
        "19 times in 20 no more than this and no less than low",
        how=_SPREAD,
        rests_on=_WOOD,
        source=_SOURCE,
        change=_CHANGE,
        rounds="up",
    )
    centre: Centre = figure("mm", "centre of gravity")
    length: float = figure("mm", "over all, along")
    width: float = figure("mm", "over all, across")
    height: float = figure("mm", "over all, as it lies or stands")
    start: tuple[float, float, float] = working((0.0, 0.0, 0.0))
    """Least x, y and z of it, in the frame of `centre`."""


@dataclass(frozen=True)
class Masses:
    """Mass and centre of every state that is known."""

    mass: MassRange = figure("kg", "of the piece as far as it is known: finished, else the top, the blank, the slab")
    centre: Centre = figure("mm", "centre of gravity of the same")
    of: str = figure("", "which state that is")
    density: float = figure(
        "kg/m3",
        "of the wood as it is now",
        how="1000 G (1 + M / 100), G taken at 12 %; weighed: weight / volume of the readings",
        rests_on=_WOOD,
        source="Wood Handbook, FPL-GTR-190 (2010), chapter 4, density from specific gravity",
        change=_CHANGE,
    )
    moisture: float = figure(
        "%",
        "that the weight is reckoned with",
        how="a third of the shell's and two thirds of the core's readings; where none is stated 12",
        rests_on=("slab.moisture.shell", "slab.moisture.core"),
        change="read the moisture and state [slab.moisture]",
    )
    basis: Literal["weighed", "table"] = figure("", "whether the slab was weighed", rests_on=("job:slab.weighed",))
    states: tuple[State, ...] = figure("", "every state", how=_HOW)

    def state(self, name: str) -> State | None:
        """The state of that name, if it is known."""
        return next((state for state in self.states if state.name == name), None)
