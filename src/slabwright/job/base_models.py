"""`[base]`: the steel under the top: a tube and five sizes for the picture that `[piece] base` names, or a free frame.

A free frame's nodes: along from the middle of the top's length, across from its centre line, up from the floor.
"""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from slabwright.job.fields import Length, NotNegative, Number, Positive, Stated, Whole

BaseKind = Literal["U legs", "closed loops", "inverted U", "four legs", "trestles"]


class BasePlate(Stated):
    """`[base.plate]`: the plates that hold the top, one across each leg frame, and their bolts."""

    width: Positive | None = Field(None, description="of each plate along the top; left out: four times the tube")
    length: Positive | None = Field(
        None, description="of each plate across the top; left out: as wide as the leg frame"
    )
    thickness: Positive | None = Field(None, description="of the plates; left out: 8 mm or 3/8 in")
    bolt_rows: Whole = Field(2, ge=1, le=4, description="rows of bolts along the top, on each plate")
    bolts_in_row: Whole = Field(3, ge=1, le=12, description="bolts of each row, across the top")
    bolt_spacing: Positive | None = Field(
        None, description="between the outer rows along the top; left out: the plate's width less 30 mm"
    )
    bolt_reach: Positive | None = Field(
        None, description="between the outer bolts of a row, across the top; left out: the plate's length less 60 mm"
    )

    @model_validator(mode="after")
    def _bolts_on_the_plate(self) -> Self:
        for bolts, plate, names in (
            (self.bolt_spacing, self.width, ("bolt_spacing", "width")),
            (self.bolt_reach, self.length, ("bolt_reach", "length")),
        ):
            if bolts is not None and plate is not None and bolts >= plate:
                raise ValueError(f"{names[0]} must be less than the plate's {names[1]}")
        return self


class BaseFeet(Stated):
    """`[base.feet]`: what stands on the floor."""

    kind: Literal["levellers", "glides", "none"] = Field("levellers", description="what the legs stand on")
    height: NotNegative | None = Field(
        None, description="floor to the steel, levellers in their middle; left out: 20 mm levellers, 5 mm glides"
    )
    travel_up: NotNegative = Field(8.0, description="levellers: how far they can be screwed out from there")
    travel_down: NotNegative = Field(8.0, description="levellers: how far they can be screwed in from there")
    stud: Positive = Field(10.0, description="levellers: diameter of their thread")
    inset: NotNegative | None = Field(
        None, description="from the outer end of a bottom rail to its foot; left out: under the upright"
    )

    def stands(self) -> float:
        """Floor to the steel [mm]; defaults are common practice."""
        return self.height if self.height is not None else {"levellers": 20.0, "glides": 5.0, "none": 0.0}[self.kind]

    def travel(self) -> tuple[float, float]:
        """How far the feet can be screwed in and out [mm]."""
        return (self.travel_down, self.travel_up) if self.kind == "levellers" else (0.0, 0.0)


class BaseLoads(Stated):
    """`[base.loads]`: what the table has to bear; left out: as the table of loads says."""

    spread: Number | None = Field(None, ge=0, le=2000, description="kg laid on the whole top, for good")
    edge: Number | None = Field(None, gt=0, le=20000, description="N of a person who sits or leans on an edge")
    push_along: Number | None = Field(None, gt=0, le=20000, description="N of a push at the top, lengthwise")
    push_across: Number | None = Field(None, gt=0, le=20000, description="N of a push at the top, crosswise")
    dropped: NotNegative | None = Field(None, description="how far the floor is low under one foot")


class BaseNode(Stated):
    """`[[base.nodes]]`: where members of a free frame meet."""

    name: str = Field(min_length=1, max_length=40, description="as members call it")
    at: tuple[Length, Length, Length] = Field(
        description="from the middle of the length, from the centre line, from the floor"
    )
    stands: bool = Field(False, description="true where it stands on the floor")
    bolt: bool = Field(False, description="true where a bolt holds the top")
    slides: bool = Field(True, description="of a bolt: whether the wood may slide across the grain there")


class BaseMember(Stated):
    """`[[base.members]]`: a member of a free frame."""

    name: str = Field("", max_length=40, description="as the cut list calls it; left out: its nodes")
    first: str = Field(description="the node at one end")
    last: str = Field(description="the node at the other end")
    section: str | None = Field(None, description="its steel; left out: the tube")
    pinned: Literal["no", "first", "last", "both"] = Field("no", description="ends that are bolted, not welded")
    turned: bool = Field(False, description="true: its depth lies level (of an upright: along) instead")


class Base(Stated):
    """`[base]`: the steel base.

    Its pieces are called by where they stand: `left near upright`, `right far upright` (a trestle's or a four-legged base's legs
    too), `left bottom rail`, `right top rail`, `left middle rail` (trestles), `near rail` and
    `far rail` (four legs), `near stretcher`, `far stretcher`, `stretcher` (trestles), `left plate`, `right plate`; its bolts
    `left plate, row 1, bolt 1`, and so on. Cables name them so.
    """

    tube: str | None = Field(
        None,
        description="of the legs, called uprights: 60x60x4, 2 in x 2 in x 1/4 in; left out: 60x60x3 or HSS 2x2x1/4",
    )
    rail: str | None = Field(None, description="of the rails, its depth upright; left out: the tube")
    stretcher: str | None = Field(
        None, description="of a stretcher between the leg frames; trestles: left out, the tube"
    )
    spread: Positive | None = Field(
        None, description="middle to middle of the leg frames, along; left out: 0.7 of the length"
    )
    across: Positive | None = Field(
        None, description="outside to outside of a leg frame, at the floor; left out: 0.7 of the width"
    )
    top_across: Positive | None = Field(
        None, description="outside to outside of a trestle at its top; left out: 0.7 of across"
    )
    rail_height: Positive | None = Field(
        None, description="floor to the middle of a stretcher or of a trestle's rail; left out: a third of the height"
    )
    corners: Literal["mitred", "butted"] = Field(
        "mitred", description="how the corners of closed loops and U legs are cut"
    )
    plate: BasePlate = Field(BasePlate(), description="the plates that hold the top")
    feet: BaseFeet = Field(BaseFeet(), description="what stands on the floor")
    loads: BaseLoads = Field(BaseLoads(), description="what the table has to bear")
    nodes: list[BaseNode] = Field(default_factory=list, max_length=200, description="a free frame's nodes")
    members: list[BaseMember] = Field(default_factory=list, max_length=400, description="a free frame's members")
    leg_as_made: Positive | None = Field(None, description="foot's seat to the plate's underside, measured")
    plate_as_made: Positive | None = Field(None, description="thickness of the plates with their paint, measured")
    height_tolerance: NotNegative = Field(2.0, description="by which the finished height may be off")

    @model_validator(mode="after")
    def _free_frame_is_whole(self) -> Self:
        if bool(self.nodes) != bool(self.members):
            raise ValueError("a free frame needs nodes and members; leave out both for the base of the picture")
        names = [node.name for node in self.nodes]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise ValueError(f"two nodes are called {twice!r}; give each a name of its own")
        if self.nodes and not any(node.stands for node in self.nodes):
            raise ValueError("no node of the free frame stands: state stands = true where it meets the floor")
        return self
