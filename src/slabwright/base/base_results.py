"""Results of the base as a structure: how stiff, how strong and how sure on its feet."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.accounts import figure, working
from slabwright.base.height_stack import Height, HeightStack
from slabwright.base.kinds import Drawn
from slabwright.base.loads import Stood
from slabwright.base.stiffness import Structure
from slabwright.findings import COMMON_PRACTICE, Finding

_SHAPE = ("job:base.tube", "job:base.spread", "job:base.across", "job:piece.height", "job:base.plate")
_TOP = ("job:slab.species", "board.thickness", "job:piece.length", "job:piece.width")
_MODEL = "one frame in space: tubes, plates, feet, bolts as springs in the wood, the top as strips along and across the grain"
_SURE = "a model: joints in wood differ by a third either way (from memory); weld and paint are left out"
_STIFFER = "a wider plate, bolts farther out, a thicker wall, a stretcher: see base.mends"


@dataclass(frozen=True)
class Sway:
    """How hard the top has to be pushed to move by a millimetre, feet not sliding."""

    x: float = figure(
        "N/mm",
        "push at the top, lengthwise, for one millimetre",
        how=_MODEL,
        rests_on=(*_SHAPE, *_TOP),
        sure=_SURE,
        source="closed forms of portals, within 0.5 %; slip of bolts EN 1995-1-1, from memory",
        change=_STIFFER,
    )
    y: float = figure(
        "N/mm",
        "push at the top, crosswise, for one millimetre",
        how=_MODEL,
        rests_on=(*_SHAPE, *_TOP),
        sure=_SURE,
        source="closed forms of portals, within 0.5 %; slip of bolts EN 1995-1-1, from memory",
        change=_STIFFER,
    )


@dataclass(frozen=True)
class Shares:
    """What of the give comes from which part; together one."""

    frame: float = figure("1", "share of the tubes", how="work that they take up over all the work of the push")
    plates: float = figure("1", "share of the plates", how="work that they take up over all the work of the push")
    bolts: float = figure(
        "1", "share of the bolts and the wood round them", how="work that they take up over all the work of the push"
    )
    slab: float = figure("1", "share of the top", how="work that it takes up over all the work of the push")
    feet: float = figure(
        "1",
        "share of the levellers' studs; glides do not bend",
        how="work that they take up over all the work of the push",
    )


@dataclass(frozen=True)
class SwayShares:
    """Where the give comes from, each way."""

    x: Shares = figure("1", "lengthwise")
    y: Shares = figure("1", "crosswise")


@dataclass(frozen=True)
class Sag:
    """How far the lowest place of the top lies under the highest."""

    now: float = figure(
        "mm",
        "under its own weight and what is laid on it",
        how=_MODEL + "; feet free to slide",
        rests_on=(*_SHAPE, *_TOP, "job:base.loads.spread"),
        sure=_SURE,
        change="legs nearer to a fifth of the length from the ends, or a thicker top",
    )
    long_term: float = figure(
        "mm",
        "the same after years",
        how="1.5 x sag now: all of it counted as wood's",
        rests_on=("base.sag.now",),
        sure="as much as 3 times is known (Wood Handbook, chapter 4)",
        source="National Design Specification for Wood Construction, 3.5.2, seasoned wood",
        change="legs nearer to a fifth of the length from the ends, or a thicker top",
    )


@dataclass(frozen=True)
class Stress:
    """The place where the steel is stressed most."""

    member: str = figure("", "the tube or plate")
    case: str = figure("", "under what load")
    stress: float = figure(
        "MPa",
        "greatest in the steel",
        how="pull and bending both ways added up, at the middle lines of the joints; in plates also where they reach to a bolt",
        rests_on=(*_SHAPE, "job:base.loads"),
        sure="on the safe side: joints are not as far apart as their middle lines",
        change="a thicker wall or a larger tube",
    )
    yields: float = figure("MPa", "at which the steel yields", source="EN 10219-1 S235JRH, from memory")
    margin: float = figure(
        "1",
        "how many times the load it would bear until it yields",
        how="yield stress / stress",
        source=COMMON_PRACTICE,
    )


@dataclass(frozen=True)
class BoltPull:
    """The bolt that is pulled most."""

    bolt: str = figure("", "which bolt")
    case: str = figure("", "under what load")
    pull: float = figure(
        "N",
        "out of the wood",
        how=_MODEL,
        rests_on=(*_SHAPE, *_TOP, "job:base.loads"),
        sure=_SURE,
        change="bolts farther apart, or more of them",
    )
    allowed: float = figure(
        "N",
        "that it may be pulled with",
        how="counted as a lag screw of the hole's diameter over the thread engagement, a sixth of what draws it out; it presumes"
        " an insert: where the top states none, one for M8 in a hole of 13 mm with 20 mm of thread is taken",
        rests_on=("job:slab.species", "job:top.features"),
        source="Wood Handbook, chapter 8; common practice for inserts",
        rounds="down",
    )
    margin: float = figure("1", "how many times the load it may bear", how="allowed / pull")


@dataclass(frozen=True)
class FootLoad:
    """What one foot presses on the floor with."""

    name: str = figure("", "which foot")
    x: float = figure("mm", "along, from the middle of the top")
    y: float = figure("mm", "across, from the centre line")
    standing: float = figure("N", "under the table itself and what is laid on it", how=_MODEL)
    most: float = figure("N", "at most, under any of the loads", how=_MODEL, rests_on=("job:base.loads",), rounds="up")
    most_case: str = figure("", "under what load")


@dataclass(frozen=True)
class Tip:
    """The load that tips the empty table from one place."""

    place: str = figure("", "where the load stands, 50 mm in from the edge")
    x: float = figure("mm", "along, from the middle of the top")
    y: float = figure("mm", "across, from the centre line")
    load: float | None = figure(
        "N",
        "that lifts the far feet; empty where no load does",
        how="weight x its distance inside the line between two feet / distance of the load outside it, the least of all lines",
        rests_on=("base.mass", "base.top_mass", "job:base.spread", "job:base.across"),
        sure="statics; as sure as the weights",
        source="place of the load: ISO 7172:1988",
        change="feet farther out, or a heavier base",
    )
    over: str = figure("", "the feet that it turns over")


@dataclass(frozen=True)
class TipPush:
    """A level push at the top that tips the empty table, its feet held against sliding."""

    x: float | None = figure(
        "N", "lengthwise", how="weight x distance to the feet's line / height", rests_on=("base.mass",)
    )
    y: float | None = figure(
        "N", "crosswise", how="weight x distance to the feet's line / height", rests_on=("base.mass",)
    )


@dataclass(frozen=True)
class Mend:
    """A change that was tried in the model."""

    change: str = figure("", "what is changed")
    mass: float = figure("kg", "steel that it adds", how="weighed anew in the model")
    sway_x: float = figure("N/mm", "stiffness lengthwise with it", how=_MODEL)
    sway_y: float = figure("N/mm", "stiffness crosswise with it", how=_MODEL)
    gain: float = figure("1", "stiffness of the way that it helps most, with it over without")


@dataclass(frozen=True)
class BaseStructure:
    """The base as a structure."""

    kind: str = figure("", "the picture, or free frame", rests_on=("job:piece.base", "job:base.nodes"))
    mass: float = figure(
        "kg",
        "of the steel",
        how="tubes by their cut lengths and mass per metre, plates by their size at 7850 kg/m3",
        rests_on=_SHAPE,
        sure="weld, paint and holes left out: about 2 % (from memory)",
        change="a thinner wall, or smaller plates",
    )
    top_mass: float = figure(
        "kg",
        "of the top",
        how="area x thickness x density, pockets not taken off",
        rests_on=_TOP,
        sure="as sure as the density: about 10 % (Wood Handbook, chapter 4, from memory)",
        change="weigh it",
    )
    tube_mass: float = figure("kg", "of the tubes alone", rests_on=_SHAPE)
    plate_mass: float = figure("kg", "of the plates alone", rests_on=("job:base.plate",))
    paint_area: float = figure(
        "mm2",
        "of the steel that is coated",
        how="outside of the tubes along their middle lines + all sides of the plates; what joints hide is counted too",
        rests_on=_SHAPE,
        sure="a few percent too much: joints hide some",
    )
    stack: HeightStack | None = figure("", "what adds up to the height; empty for a free frame")
    height: Height = figure("mm", "finished height")
    sway_stiffness: Sway = figure("N/mm", "stiffness at the top")
    sway_shares: SwayShares = figure("1", "where the give comes from")
    sway_frequency: float = figure(
        "Hz",
        "at which the table sways first",
        how="lowest mode of the frame with its real masses in which the top moves level, nothing laid on it",
        rests_on=(*_SHAPE, *_TOP),
        sure=_SURE,
        change=_STIFFER,
    )
    sag: Sag = figure("mm", "of the top")
    stress: Stress = figure("", "where the steel is stressed most")
    bolt_pull: BoltPull | None = figure("", "the bolt that is pulled most; empty where none is pulled")
    feet: tuple[FootLoad, ...] = figure("N", "what the feet press on the floor with")
    tip_load: float | None = figure(
        "N",
        "least load on the top, 50 mm in from its edge, that tips the empty table; empty where none does",
        how="the least over every place of the edge and every line between two feet: weight x its distance inside / the load's"
        " distance outside",
        rests_on=("base.mass", "base.top_mass", "job:base.spread", "job:base.across"),
        sure="statics; as sure as the weights",
        source="place of the load: ISO 7172:1988",
        change="feet farther out, or a heavier base",
        rounds="down",
    )
    tips: tuple[Tip, ...] = figure("N", "load that tips it at each edge and corner")
    tip_push: TipPush = figure("N", "level push at the top that tips it")
    mends: tuple[Mend, ...] = figure(
        "",
        "changes that make it stiffer either way, most gain for their steel first",
        how="each is tried in the model",
    )
    rocks: tuple[str, ...] = figure(
        "",
        "feet that hang free, with the table laid, where the floor is low under them",
        how=_MODEL + "; a foot presses or lifts off, it does not pull",
        rests_on=("job:base.loads.dropped",),
        change="levellers, or a base that gives more in a twist",
    )
    tipping_cases: tuple[str, ...] = figure("", "loads under which it does not stand")
    drawn: Drawn = working()
    structure: Structure = working()
    standing: tuple[Stood, ...] = working()
    findings: tuple[Finding, ...] = working(())
