"""Results of the assembly: which way up, on what stands, which bolts when, and the steps in their order."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE, FROM_MEMORY

_WEIGHT = ("carry.mass", "job:hands", "shop:hands")
_HEIGHTS = f"heights of hands, {FROM_MEMORY}"


@dataclass(frozen=True)
class PartMasses:
    """What the parts weigh.

    Attributes:
        top: [kg]
        base: all of its steel [kg]
    """

    top: float
    base: float


@dataclass(frozen=True)
class SteelFrame:
    """A part of the base that is one piece of steel."""

    name: str = figure("", "as it is called", rests_on=("base.kind",))
    mass: float = figure("kg", "its share of the base", how="by its tubes' and plates' sizes", rests_on=("base.mass",))
    pieces: tuple[str, ...] = figure("", "tubes and plates that it is welded of", rests_on=("job:base",))
    bolts: tuple[str, ...] = figure("", "bolts that hold the top to it", rests_on=("top.slots",))
    covers: tuple[str, ...] = figure("", "pockets that its plates lie in", rests_on=("top.features",))
    feet: tuple[str, ...] = figure("", "its feet")
    stands: bool = figure(
        "", "whether it stands by itself", how="three feet or more that are not in one line", rests_on=("base.feet",)
    )


@dataclass(frozen=True)
class AssemblyWay:
    """One way to put the piece together."""

    name: str = figure("", "top face down on stands and base on it, or base first and top let down on it")
    heaviest: float = figure("kg", "heaviest that is lifted in one piece", rests_on=_WEIGHT)
    what: str = figure("", "what that is")
    people: int = figure(
        "1",
        "that it wants, with the aid that is told",
        how="as the lift card of the top has it; of the whole piece by the same rule, half at each edge",
        rests_on=("carry.lifts", *_WEIGHT),
        change="more hands, an aid, or the other way",
    )
    possible: bool = figure("", "whether it can be done with the people and aids at hand")
    told: str = figure("", "why, or why not")


@dataclass(frozen=True)
class Stands:
    """The stands under the top."""

    height: float = figure(
        "mm",
        "of the stands, padding on them",
        how="height at which hands work less the top; lower where the piece is heavy or turned over its edge",
        rests_on=("board.thickness", *_WEIGHT),
        source=_HEIGHTS,
    )
    work: float = figure("mm", "of the underside above the floor, at which the hands work", source=_HEIGHTS)
    places: tuple[float, ...] = figure(
        "mm",
        "of each stand, from the left end",
        how="under the plates, so that nothing tips when a leg frame is set on; else 0.22 of the length in; clear of holes",
        rests_on=("base", "top.features"),
        source=COMMON_PRACTICE,
    )
    length: float = figure("mm", "of each stand's beam, across", how="eight tenths of the top's width at least")


@dataclass(frozen=True)
class Turning:
    """How it is turned over."""

    what: str = figure("", "what is turned: the whole piece, or the top")
    how: str = figure("", "in the hands about its length, or over a long edge on a padded floor")
    radius: float = figure(
        "mm",
        "that it sweeps about its centre of gravity",
        how="farthest corner of its end view from the centre of gravity",
        rests_on=("base.height", "carry.centre"),
    )
    room: float = figure(
        "mm", "width of floor that it wants", how="twice the radius and a step on either side, rounded up"
    )
    mass: float = figure("kg", "that is turned", rests_on=_WEIGHT)
    people: int = figure("1", "that it wants", rests_on=("carry.lifts", *_WEIGHT))
    tool: str = figure("", "hands, or the aid that is wanted", rests_on=("carry.lifts", *_WEIGHT))


@dataclass(frozen=True)
class BoltTask:
    """One bolt."""

    name: str = figure("", "the insert that it goes into", rests_on=("job:top.features",))
    frame: str = figure("", "the steel that it holds")
    fixed: bool = figure("", "whether it does not slide", rests_on=("top.fixed",))
    thread: float = figure("mm", "diameter", rests_on=("job:top.features",))
    length: float | None = figure("mm", "under its head; empty where it is not known", rests_on=("top.fastenings",))
    torque: float | None = figure(
        "N m",
        "at most; empty where the insert's hold is not known",
        how="0.2 x a third of what draws the insert out, likely x diameter; of a bolt in a slot a quarter of it, so that its "
        "washer slides; rounded down to half",
        rests_on=("top.fastenings", "job:top.features"),
        sure="dry thread; a third either way",
        source=f"T = K F d, {FROM_MEMORY}",
    )
    tighten: str = figure("", "how it is tightened", source=COMMON_PRACTICE)
    sits: str = figure("", "where in its slot", rests_on=("top.slots",))
    tool: str = figure("", "what turns it", source="ISO 272 or ASME B18.2.1, from memory")
    room: float | None = figure(
        "mm",
        "between the bolt's middle and the tube beside it; empty where there is none",
        rests_on=("base", "job:top.features"),
    )


@dataclass(frozen=True)
class Bond:
    """A piece of steel that is bonded to earth."""

    frame: str = figure("", "which")
    how: str = figure("", "with what", source=COMMON_PRACTICE)
    most: float = figure(
        "ohm", "that is measured from it to the plug's earth pin", source=f"IEC 60335-1, {FROM_MEMORY}"
    )


@dataclass(frozen=True)
class AssemblyStep:
    """One step."""

    number: int = figure("1", "in the order")
    do: str = figure("", "what is done")
    kind: str = figure("", "lift, bolt, cable, earth, level, turn or prepare")
    parts: tuple[str, ...] = figure("", "what it is done to")
    people: int = figure("1", "that it wants", rests_on=_WEIGHT)
    tool: str = figure("", "with what")
    caution: str = figure("", "what to mind", source=COMMON_PRACTICE)
    sheet: str = figure("", "which sheet has more")
    after: tuple[int, ...] = figure(
        "1",
        "steps that have to be done before",
        how="what rests on what, what covers what; those that follow from others are left out",
    )


@dataclass(frozen=True)
class Assembly:
    """How the piece is put together."""

    way: str = figure("", "which way was taken", rests_on=_WEIGHT, change="more hands, or an aid")
    ways: tuple[AssemblyWay, ...] = figure("", "both ways")
    frames: tuple[SteelFrame, ...] = figure("", "the base's pieces of steel")
    stands: Stands | None = figure("", "the stands; empty where none are wanted")
    turning: tuple[Turning, ...] = figure("", "what is turned over, in order")
    bolts: tuple[BoltTask, ...] = figure("", "the bolts, in the order in which they are tightened")
    cables: tuple[str, ...] = figure("", "the cables, in the order in which they are drawn in")
    bonds: tuple[Bond, ...] = figure("", "steel that is bonded to earth; none where no cable carries mains")
    steps: tuple[AssemblyStep, ...] = figure("", "the steps")
