"""`[top]`: where the piece lies in the slab, and what is let into it. Dimensioned as a maker dimensions a drawing.

The finished top's frame: x along the grain from its left end (the end of smaller x in the slab's readings), y across from its
centre line, both seen from the show face, from above.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from slabwright.job.models import Length, NotNegative, Number, Point, Positive, Stated

AlongFrom = Annotated[str, Field(description="'left end', 'right end', 'middle', or the name of another feature")]
AcrossFrom = Annotated[
    str, Field(description="'centre line', 'near edge' (smaller y), 'far edge', or the name of another feature")
]


EdgeName = Literal["left end", "right end", "near edge", "far edge"]
ALL_EDGES: tuple[EdgeName, ...] = ("left end", "right end", "near edge", "far edge")


class Placed(Stated):
    """What every feature states: its name, its face, and where it is."""

    name: str = Field(min_length=1, max_length=60, description="as the drawing calls it; no two alike")
    face: Literal["show", "underside"] = Field("underside", description="the face that it is cut into")
    along_from: AlongFrom = "middle"
    along: Length = Field(0.0, description="from there along the grain, to the middle of the feature")
    across_from: AcrossFrom = "centre line"
    across: Length = Field(0.0, description="from there across the grain, to the middle of the feature")


class Pocket(Placed):
    """A rectangular pocket for a plate."""

    kind: Literal["pocket"]
    length: Positive = Field(description="of the plate along the grain")
    width: Positive = Field(description="of the plate across the grain")
    depth: Positive = Field(description="of the pocket's floor below its face")
    corner_radius: NotNegative = Field(0.0, description="of the plate's corners")


class Insert(Placed):
    """A hole for a threaded insert, with the bolt that goes through a plate into it."""

    kind: Literal["insert"]
    drill: Positive = Field(description="diameter of the hole")
    depth: Positive = Field(description="of the hole below its face (below the floor of a pocket that it lies in)")
    thread: Positive = Field(8.0, description="diameter of the bolt")
    engagement: Positive = Field(10.0, description="of the bolt in the insert")
    fixed: bool = Field(False, description="true for the one that does not slide; the wood moves from it")
    plate: str | None = Field(None, description="the pocket whose plate the bolt goes through")
    plate_thickness: Positive | None = Field(None, description="of that plate")


class ThroughHole(Placed):
    """A hole through the top."""

    kind: Literal["through hole"]
    diameter: Positive


class Outlet(Placed):
    """A hole through the top with a wider recess on the underside, for an outlet's ring and nut."""

    kind: Literal["outlet"]
    diameter: Positive
    recess_diameter: Positive = Field(description="of the recess on the underside")
    recess_depth: Positive = Field(description="of the recess")
    nut_diameter: Positive | None = Field(None, description="room that the nut and the hand want on the underside")


class Channel(Stated):
    """A cable channel along a polyline on the underside."""

    kind: Literal["channel"]
    name: str = Field(min_length=1, max_length=60, description="as the drawing calls it; no two alike")
    face: Literal["show", "underside"] = "underside"
    path: list[Point] = Field(
        min_length=2, max_length=200, description="corners: along from the left end, across from the centre line"
    )
    width: Positive
    depth: Positive
    cable_diameter: Positive | None = None
    cable_bend: Positive | None = Field(None, description="least radius that the cable's maker allows")


class Key(Placed):
    """A let-in key (bow tie) across a crack."""

    kind: Literal["key"]
    face: Literal["show", "underside"] = "show"
    length: Positive = Field(description="across the crack")
    width: Positive = Field(description="at its ends")
    waist: Positive = Field(description="at its middle")
    depth: Positive
    turn: Number = Field(90.0, ge=-180, le=180, description="degrees of its length against the grain; 90: across it")


class Edge(Stated):
    """A chamfer or a round along edges."""

    kind: Literal["chamfer", "round"]
    name: str = Field(min_length=1, max_length=60, description="as the drawing calls it; no two alike")
    face: Literal["show", "underside"] = "show"
    edges: list[EdgeName] = Field(list(ALL_EDGES), min_length=1, description="the edges that it runs along")
    size: Positive = Field(description="leg of the chamfer, or radius of the round")


Feature = Annotated[Pocket | Insert | ThroughHole | Outlet | Channel | Key | Edge, Field(discriminator="kind")]


class Clearances(Stated):
    """`[top.clearances]`: least wood that is left; defaults are common practice."""

    pocket_floor_share: Number = Field(
        2.0 / 3.0, gt=0, lt=1, description="a pocket may take at most the rest of the thickness"
    )
    pocket_floor: NotNegative = Field(25.0, description="least wood under a pocket's floor")
    channel: NotNegative = Field(15.0, description="least wood under a channel")
    insert: NotNegative = Field(8.0, description="least wood under an insert's hole or a drill point")
    bolt_end: NotNegative = Field(3.0, description="between a bolt's end and the bottom of its hole")
    between: NotNegative = Field(12.0, description="between two features")
    edge: NotNegative = Field(25.0, description="from a feature to the edge of the top")
    placing: NotNegative = Field(0.5, description="error of placing a feature")


class Rings(Stated):
    """`[top.rings]`: how the growth rings lie in the slab, as the end grain shows them."""

    picture: Literal["flat-sawn", "rift", "quarter-sawn", "through the pith"] | None = Field(
        None, description="which of four pictures of end grain it looks like"
    )
    angle: Number | None = Field(
        None, ge=0, le=90, description="degrees of the rings against the face at the middle of the width"
    )
    pith_offset: Length | None = Field(None, description="of the pith from the centre line, across; with pith_below")
    pith_below: Length | None = Field(None, description="of the pith below the show face; negative: above it")

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        ways = [self.picture is not None, self.angle is not None, self.pith_below is not None]
        if sum(ways) != 1:
            raise ValueError("state picture, or angle, or pith_below (with pith_offset): one of them")
        return self


class Datum(Stated):
    """`[[top.datums]]`: a place that was touched off on the machine, to find how the top lies."""

    name: str = Field(min_length=1, max_length=60)
    kind: Literal["point", "edge along", "edge across"] = Field(
        description="point: a hole or corner, two equations; edge along: its y was touched; edge across: its x"
    )
    stated: Point = Field(description="where the drawing has it, in the top's frame")
    touched: Point = Field(description="where the machine found it")
    error: Positive = Field(0.05, description="standard error of one touch, per axis")


class Top(Stated):
    """`[top]`: the machined top."""

    features: list[Feature] = Field(default_factory=list, max_length=400)
    clearances: Clearances = Field(Clearances(), description="least wood that is left")
    rings: Rings | None = Field(None, description="how the growth rings lie")
    moisture_made: Number | None = Field(
        None, gt=0, lt=30, description="% when the top is machined; the slab's readings if left out"
    )
    turn_most: Number = Field(
        1.5, ge=0, le=10, description="degrees that the piece may be turned in the slab: grain run-out"
    )
    defect_cost: Number = Field(
        0.0, ge=0, description="mm of thickness that a square decimetre of defect in the piece counts as"
    )
    datums: list[Datum] = Field(default_factory=list, description="places touched off on the machine")
    machine_error: NotNegative = Field(0.05, description="of the machine's own positioning, 99 %")

    @model_validator(mode="after")
    def _names_differ(self) -> Self:
        names = [feature.name for feature in self.features]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise ValueError(f"two features are called {twice!r}; give each a name of its own")
        return self
