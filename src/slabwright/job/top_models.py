"""`[top]`: where the piece lies in the slab, and what is let into it. Dimensioned as a maker dimensions a drawing.

The finished top's frame: x along the grain from its left end (the end of smaller x in the slab's readings), y across from its
centre line, both seen from the show face, from above.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from slabwright.job.fields import Length, NotNegative, Number, Point, Positive, Stated
from slabwright.job.plate_models import PlateAsMade

ALONG_FROM = ("left end", "right end", "middle")
PAINT = 0.15
"""Thickness of paint or powder on each side of a hole's wall or a plate's edge, where none is stated [mm]: common practice."""
ACROSS_FROM = ("centre line", "near edge", "far edge")

EdgeName = Literal["left end", "right end", "near edge", "far edge"]
ALL_EDGES: tuple[EdgeName, ...] = ("left end", "right end", "near edge", "far edge")


class Placed(Stated):
    """What every feature states: its name, its face, and where it is."""

    name: str = Field(min_length=1, max_length=60, description="as the drawing calls it; no two alike")
    face: Literal["show", "underside"] = Field("underside", description="the face that it is cut into")
    along_from: str = Field("middle", description="'left end', 'right end', 'middle', or the name of another feature")
    along: Length = Field(
        0.0,
        description="from there to the middle of the feature, along the grain: from an end into the top, else to the right",
    )
    across_from: str = Field(
        "centre line",
        description="'centre line', 'near edge' (smaller y; a live edge where the feature is), 'far edge', or another feature",
    )
    across: Length = Field(
        0.0,
        description="from there to the middle of the feature, across the grain: from an edge into the top, else to the far edge",
    )


class Pocket(Placed):
    """A rectangular pocket for a plate."""

    kind: Literal["pocket"] = Field(description="a pocket for a plate")
    length: Positive = Field(description="of the plate along the grain")
    width: Positive = Field(description="of the plate across the grain")
    depth: Positive = Field(description="of the pocket's floor below its face")
    corner_radius: NotNegative = Field(0.0, description="of the plate's corners")


class Insert(Placed):
    """A hole for a threaded insert, with the bolt that goes through a plate into it."""

    kind: Literal["insert"] = Field(description="a hole for a threaded insert")
    drill: Positive = Field(description="diameter of the hole")
    depth: Positive = Field(description="of the hole below its face (below the floor of a pocket that it lies in)")
    thread: Positive = Field(8.0, description="diameter of the bolt")
    engagement: Positive = Field(10.0, description="of the bolt in the insert")
    outer_length: Positive | None = Field(None, description="of the insert itself, from end to end")
    fixed: bool = Field(False, description="true for the one that does not slide; the wood moves from it")
    plate: str | None = Field(None, description="the pocket (or the let-in steel) whose plate the bolt goes through")
    plate_thickness: Positive | None = Field(None, description="of that plate")


class ThroughHole(Placed):
    """A hole through the top."""

    kind: Literal["through hole"] = Field(description="a hole through the top")
    diameter: Positive = Field(description="of the hole")


class Outlet(Placed):
    """A hole through the top with a wider recess on the underside, for an outlet's ring and nut."""

    kind: Literal["outlet"] = Field(description="a hole through the top with a recess on the underside")
    diameter: Positive = Field(description="of the hole")
    recess_diameter: Positive = Field(description="of the recess on the underside")
    recess_depth: Positive = Field(description="of the recess")
    nut_diameter: Positive | None = Field(None, description="room that the nut and the hand want on the underside")

    @model_validator(mode="after")
    def _recess_is_wider(self) -> Self:
        if self.recess_diameter <= self.diameter:
            raise ValueError("recess_diameter must be more than diameter; a plain hole is a through hole")
        return self


class Bar(Placed):
    """Steel let in across the grain to hold the top flat."""

    kind: Literal["bar"] = Field(description="steel let in across the grain")
    section: Literal["plate", "let-in channel", "angle"] = Field("plate", description="of the steel")
    length: Positive = Field(description="of the steel across the grain")
    width: Positive = Field(description="of the steel along the grain")
    height: Positive = Field(description="of the steel: a plate's thickness, else its whole height")
    wall: Positive | None = Field(None, description="of a channel or an angle")
    depth: Positive = Field(description="of the groove that it lies in")

    @model_validator(mode="after")
    def _has_walls(self) -> Self:
        if (self.wall is None) != (self.section == "plate"):
            raise ValueError("state wall for a let-in channel or an angle, and for those only")
        if self.wall is not None and self.wall >= min(self.height, self.width):
            raise ValueError("wall must be less than the steel's height and width")
        return self


class Channel(Stated):
    """A cable channel along a polyline on the underside."""

    kind: Literal["channel"] = Field(description="a cable channel")
    name: str = Field(min_length=1, max_length=60, description="as the drawing calls it; no two alike")
    face: Literal["show", "underside"] = Field("underside", description="the face that it is cut into")
    path: list[Point] = Field(
        min_length=2, max_length=200, description="corners: along from the left end, across from the centre line"
    )
    width: Positive = Field(description="of the channel, which the cutter's path runs along the middle of")
    depth: Positive = Field(description="of its floor below its face")
    corner_radius: NotNegative = Field(0.0, description="that the corners of its path are rounded to")
    cable_diameter: Positive | None = Field(None, description="of the thickest cable in it")
    cable_bend: Positive | None = Field(
        None, description="least radius that the cable's maker allows, to the inside of the bend"
    )


class Key(Placed):
    """A let-in key (bow tie) across a crack."""

    kind: Literal["key"] = Field(description="a let-in key (bow tie)")
    face: Literal["show", "underside"] = Field("show", description="the face that it is cut into")
    length: Positive = Field(description="across the crack")
    width: Positive = Field(description="at its ends")
    waist: Positive = Field(description="at its middle")
    depth: Positive = Field(description="of its floor below its face")
    turn: Number = Field(90.0, ge=-180, le=180, description="degrees of its length against the grain; 90: across it")

    @model_validator(mode="after")
    def _has_a_waist(self) -> Self:
        if self.waist >= self.width:
            raise ValueError("waist must be less than width: a key holds by being wider at its ends")
        return self


class Edge(Stated):
    """A chamfer or a round along edges."""

    kind: Literal["chamfer", "round"] = Field(description="a chamfer or a round along edges")
    name: str = Field(min_length=1, max_length=60, description="as the drawing calls it; no two alike")
    face: Literal["show", "underside"] = Field("show", description="the face that it is cut into")
    edges: list[EdgeName] = Field(list(ALL_EDGES), min_length=1, description="the edges that it runs along")
    size: Positive = Field(description="leg of the chamfer, or radius of the round")


Feature = Annotated[Pocket | Insert | ThroughHole | Outlet | Bar | Channel | Key | Edge, Field(discriminator="kind")]


class KeepClear(Stated):
    """`[[top.keep_clear]]`: a place on the underside that is kept clear of what would be in the way there."""

    name: str = Field(min_length=1, max_length=60, description="as messages call it: 'knees left', 'front rail'")
    what: Literal["knees", "base", "other"] = Field(
        "other",
        description="knees: no outlet hangs down there; base: no outlet and no hole comes out there; other: nothing at all",
    )
    outline: list[Point] = Field(
        min_length=3, max_length=200, description="corners: along from the left end, across from the centre line"
    )


class Ends(Stated):
    """`[top.ends]`: how the ends of the top are made."""

    kind: Literal["plain", "boxed", "mitred"] = Field(
        "plain", description="boxed: a member across each end (breadboard); mitred: members mitred at the corners"
    )
    at: Literal["both", "left end", "right end"] = Field("both", description="which ends")
    width: Positive | None = Field(None, description="of the members, across their grain")
    pin: NotNegative | None = Field(
        None, description="of the outermost pin of a boxed end from the centre line, on either side"
    )

    @model_validator(mode="after")
    def _said_enough(self) -> Self:
        if self.kind != "plain" and self.width is None:
            raise ValueError(f"state the width of the members of {self.kind} ends")
        if self.kind == "boxed" and self.pin is None:
            raise ValueError("state pin: how far the outermost pin of the boxed ends stands from the centre line")
        return self


class Clearances(Stated):
    """`[top.clearances]`: least wood that is left; defaults are common practice."""

    pocket_floor_share: Number = Field(
        2.0 / 3.0, gt=0, lt=1, description="a pocket may take at most the rest of the thickness"
    )
    pocket_floor: NotNegative = Field(25.0, description="least wood under a pocket's floor")
    channel: NotNegative = Field(15.0, description="least wood under a channel, a key or a let-in bar")
    recess: NotNegative = Field(10.0, description="least wood over an outlet's recess, which its ring and nut clamp")
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

    name: str = Field(min_length=1, max_length=60, description="as the list of points to touch calls it")
    kind: Literal["point", "edge along", "edge across"] = Field(
        description="point: a hole or corner, two equations; edge along: its y was touched; edge across: its x"
    )
    stated: Point = Field(description="where the drawing has it, in the top's frame")
    touched: Point = Field(description="where the machine found it")
    error: Positive = Field(0.05, description="standard error of one touch, per axis")


class Top(Stated):
    """`[top]`: the machined top."""

    features: list[Feature] = Field(
        default_factory=list,
        max_length=400,
        description="pockets, holes, channels, keys, let-in steel and worked edges",
    )
    keep_clear: list[KeepClear] = Field(
        default_factory=list, max_length=100, description="places on the underside that are kept clear: knees, base"
    )
    ends: Ends = Field(Ends(), description="how the ends are made")
    paint: NotNegative = Field(
        PAINT, description="thickness of paint or powder on each wall and edge of the steel (default: common practice)"
    )
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
    plates_as_made: list[PlateAsMade] = Field(
        default_factory=list, max_length=100, description="welded, painted plates, measured or marked through"
    )
    datums: list[Datum] = Field(default_factory=list, description="places touched off on the machine")
    machine_error: NotNegative = Field(0.05, description="of the machine's own positioning, 99 %")

    @model_validator(mode="after")
    def _names_differ(self) -> Self:
        names = [feature.name for feature in self.features]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise ValueError(f"two features are called {twice!r}; give each a name of its own")
        taken = next((name for name in names if name in (*ALONG_FROM, *ACROSS_FROM)), None)
        if taken is not None:
            raise ValueError(f"a feature is called {taken!r}, which means a place of the top; give it another name")
        return self
