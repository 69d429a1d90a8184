"""What is coated: the surfaces of the machined top and of the welded base, from the model."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.accounts import figure
from slabwright.base.basing import BasePlan
from slabwright.base.kinds import Drawn
from slabwright.base.weld_joints import meetings
from slabwright.job.top_models import Edge
from slabwright.slab.board import Board
from slabwright.slab.results import SlabPlan
from slabwright.top.feature_shapes import Edges
from slabwright.top.layout_results import Solid
from slabwright.top.results import TopPlan
from slabwright.top.topping import outline_of

_STEP = 10.0
"""Between the places at which a live edge's slope is taken [mm]."""
_SAME = 1e-6
_POCKETS = ("pocket", "bar", "channel")
_BORES = ("through hole", "outlet")
_MODEL = ("job:top.features", "board.thickness", "top.placement", "job:slab.outline_a", "job:slab.outline_b")


@dataclass(frozen=True)
class Surface:
    """One surface that is coated."""

    name: str = figure("", "which surface")
    of: Literal["wood", "steel"] = figure("", "what it is of")
    area: float = figure("mm2", "that is coated", how="from the model; see finish.areas", rests_on=_MODEL)
    end_grain: bool = figure("", "whether it drinks as end grain does")
    length: float = figure("mm", "run of an edge; 0 of other surfaces")


@dataclass(frozen=True)
class HiddenSteel:
    """Steel that lies against something else and is not coated; negative: it is added."""

    name: str = figure("", "where it lies hidden")
    area: float = figure("mm2", "taken off; less than nothing: a cap or a plate's underside that is added")


@dataclass(frozen=True)
class Areas:
    """What is coated of the piece."""

    wood: float = figure(
        "mm2",
        "all of the wood",
        how="both faces less what is cut out of them + walls and floors of pockets and channels + bores + edges + ends",
        rests_on=_MODEL,
        sure="the unevenness of a live edge is not counted: it may take a tenth more (from memory)",
    )
    wood_long: float = figure("mm2", "of the wood along the grain", how="all of the wood - end grain", rests_on=_MODEL)
    wood_end: float = figure(
        "mm2", "of the wood that drinks as end grain", how="both ends + walls of bores", rests_on=_MODEL
    )
    steel: float = figure(
        "mm2",
        "of the steel",
        how="outside of tubes and plates - what lies hidden",
        rests_on=("base.paint_area", "finish.areas.steel_hidden"),
        sure="bolt holes and weld beads left out: about 1 % (from memory)",
    )
    steel_hidden: float = figure(
        "mm2",
        "of the steel that lies against wood or other steel",
        how="plates on the wood + ends of tubes on tubes and plates, twice where both faces are counted - caps",
        rests_on=("job:base.plate", "job:base.tube"),
    )
    surfaces: tuple[Surface, ...] = figure("", "each surface", rests_on=_MODEL)
    hidden: tuple[HiddenSteel, ...] = figure("", "steel that is not coated")

    def named(self, name: str) -> Surface | None:
        """The surface of that name, if there is one."""
        return next((surface for surface in self.surfaces if surface.name == name), None)


@dataclass(frozen=True)
class Hollow:
    """What is cut out of a top [mm2]: openings in the show face and in the underside, upright walls, level floors."""

    show: float
    under: float
    walls: float
    floors: float


def coated_areas(top: TopPlan | None, made: Board | None, base: BasePlan | None, slab: SlabPlan | None = None) -> Areas:
    """The areas that are coated.

    Args:
        top: the machined top; None: no wood is counted
        made: the board, for the top's thickness
        base: the welded base; None: no steel is counted
        slab: gives the outline of the underside, where the edges slope; None: they stand upright
    """
    surfaces: list[Surface] = []
    if top is not None and made is not None:
        under = under_outline(slab, top) if slab is not None else top.outline
        surfaces += wood_surfaces(top, made.thickness, under)
    hidden = hidden_steel(base.drawn) if base is not None else ()
    covered = math.fsum(each.area for each in hidden)
    if base is not None:
        surfaces.append(Surface("steel base", "steel", max(0.0, base.paint_area - covered), False, 0.0))
    wood = math.fsum(s.area for s in surfaces if s.of == "wood")
    end = math.fsum(s.area for s in surfaces if s.of == "wood" and s.end_grain)
    return Areas(
        wood=wood,
        wood_long=wood - end,
        wood_end=end,
        steel=math.fsum(s.area for s in surfaces if s.of == "steel"),
        steel_hidden=covered,
        surfaces=tuple(surfaces),
        hidden=hidden,
    )


def under_outline(slab: SlabPlan, top: TopPlan) -> Polygon:
    """Outline of the underside in the top's frame; with sawn edges it is the show face's own."""
    if top.placement.width is not None:
        return top.outline
    survey = slab.survey
    # The same cut of the other face's outline, looked at from the same side.
    swapped = (
        dataclasses.replace(survey, outline_a=survey.outline_b)
        if slab.show_face == "A"
        else dataclasses.replace(survey, outline_b=survey.outline_a)
    )
    return outline_of(swapped, top.placement, slab.show_face)


def wood_surfaces(top: TopPlan, thickness: float, under: Polygon) -> list[Surface]:
    """The surfaces of a top.

    Args:
        top: the machined top
        thickness: of it [mm]
        under: outline of its underside, in its own frame
    """
    show = top.outline
    cut = [feature for feature in top.features if feature.kind in (*_POCKETS, *_BORES)]
    pockets = hollow(show, [solid for f in cut if f.kind in _POCKETS for solid in f.solids], thickness)
    whole = hollow(show, [solid for f in cut for solid in f.solids], thickness)
    faces = {"show": show.area - whole.show, "underside": under.area - whole.under}
    show_edges, under_edges = Edges(show).lines(), Edges(under).lines()
    walls = {
        name: sloping(line, under_edges[name], thickness)
        if name.endswith("edge")
        else (line.length + under_edges[name].length) / 2.0 * thickness
        for name, line in show_edges.items()
    }
    worked, run = 0.0, 0.0
    for edge in _worked(top):
        lines = show_edges if edge.face == "show" else under_edges
        for name in edge.edges:
            length = lines[name].length
            faces[edge.face] -= edge.size * length
            walls[name] -= edge.size * length
            worked += length * edge.size * (math.sqrt(2.0) if edge.kind == "chamfer" else math.pi / 2.0)
            run += length
    long = "live edges" if top.placement.width is None else "long edges"
    found = [
        Surface("show face", "wood", faces["show"], False, 0.0),
        Surface("underside", "wood", faces["underside"], False, 0.0),
        Surface(
            long,
            "wood",
            walls["near edge"] + walls["far edge"],
            False,
            show_edges["near edge"].length + show_edges["far edge"].length,
        ),
        Surface(
            "ends",
            "wood",
            walls["left end"] + walls["right end"],
            True,
            show_edges["left end"].length + show_edges["right end"].length,
        ),
        Surface("eased edges", "wood", worked, False, run),
        Surface("pockets and channels", "wood", pockets.walls + pockets.floors, False, 0.0),
        Surface("bores", "wood", whole.walls + whole.floors - pockets.walls - pockets.floors, True, 0.0),
    ]
    return [surface for surface in found if surface.area > 0.0]


def _worked(top: TopPlan) -> list[Edge]:
    stated = top.layout.top if top.layout is not None else None
    return [feature for feature in stated.features if isinstance(feature, Edge)] if stated is not None else []


def hollow(outline: Polygon, solids: Sequence[Solid], thickness: float) -> Hollow:
    """What solids leave open, as walls and as floors: cut level by level, so that those that run into each other count once.

    Args:
        outline: of the top
        solids: that are taken out
        thickness: of the top [mm]
    """
    depths = {0.0, thickness, *(solid.upper for solid in solids), *(solid.lower for solid in solids)}
    levels = sorted(min(max(depth, 0.0), thickness) for depth in depths)
    shapes = [(solid, solid.shape()) for solid in solids]
    sections: list[BaseGeometry] = []
    walls = 0.0
    for upper, lower in pairwise(levels):
        if lower - upper < _SAME:
            continue
        middle = (upper + lower) / 2.0
        cut = [shape for solid, shape in shapes if solid.upper < middle < solid.lower]
        open_here = shapely.union_all(cut) if cut else Polygon()
        sections.append(open_here.intersection(outline))
        # Where a channel runs out of an edge there is no wall.
        walls += open_here.boundary.intersection(outline).length * (lower - upper)
    floors = math.fsum(one.symmetric_difference(other).area for one, other in pairwise(sections))
    return Hollow(sections[0].area, sections[-1].area, walls, floors)


def sloping(show: LineString, under: LineString, thickness: float) -> float:
    """Area of an edge between its lines on the two faces [mm2].

    Args:
        show: its line on the show face
        under: on the underside
        thickness: between them [mm]
    """
    if show.length <= 0.0:
        return 0.0
    count = max(2, math.ceil(show.length / _STEP) + 1)
    places = shapely.line_interpolate_point(show, np.linspace(0.0, show.length, count))
    slants = np.hypot(thickness, shapely.distance(places, under))
    return float(np.mean((slants[1:] + slants[:-1]) / 2.0) * (show.length + under.length) / 2.0)


def hidden_steel(drawn: Drawn) -> tuple[HiddenSteel, ...]:
    """Steel of a base that lies against wood or other steel; a cap closes an end and adds its own face."""
    return tuple(_gathered(_hidden(drawn)))


def _hidden(drawn: Drawn) -> Iterable[HiddenSteel]:
    for plate in drawn.plates:
        yield HiddenSteel("plates against the wood", plate.width * plate.length)
    for meeting in meetings(drawn):
        print_on = meeting.inside * meeting.outside / max(math.sin(math.radians(meeting.angle)), 0.2)
        if meeting.kind in ("end on a side", "corner, butted"):
            yield HiddenSteel("ends of tubes on tubes", print_on)
        elif meeting.kind == "plate on an end":
            yield HiddenSteel("ends of tubes on plates", print_on)
        elif meeting.kind == "plate on a rail":
            # Both the plate's face and the rail's are counted as outside.
            yield HiddenSteel("plates on rails, both faces", 2.0 * meeting.length * meeting.outside)
        elif meeting.kind == "cap":
            yield HiddenSteel("caps, added", -meeting.inside * meeting.outside)


def _gathered(found: Iterable[HiddenSteel]) -> Iterable[HiddenSteel]:
    together: dict[str, float] = {}
    for each in found:
        together[each.name] = together.get(each.name, 0.0) + each.area
    for name, area in together.items():
        yield HiddenSteel(name, area)
