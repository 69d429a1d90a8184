"""What the maker states about one piece: the job file's models, and with them those of the shop file.

Lengths are millimetres once read; a plain number is in the file's own units (`units = "metric"`: mm, `"inch"`: inches).
"""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, ValidationInfo, field_validator, model_validator

from slabwright.geometry.faces import FaceName
from slabwright.job.base_models import Base
from slabwright.job.brief_models import Brief
from slabwright.job.cable_models import Cable
from slabwright.job.calendar_models import Day
from slabwright.job.carry_models import Delivery
from slabwright.job.epoxy_models import Epoxy
from slabwright.job.fields import (
    Length,
    Mass,
    MisplacedError,
    Moistures,
    NotNegative,
    Number,
    Point,
    Positive,
    PositiveOrMax,
    PositiveOrThrough,
    ReadingUnit,
    Stated,
    Whole,
    Words,
)
from slabwright.job.finish_models import Finish
from slabwright.job.hands_models import Hands
from slabwright.job.hours_models import LogEntry, OperationChange
from slabwright.job.likely_units import meant_otherwise
from slabwright.job.mend_models import Mend
from slabwright.job.money_models import Quote, Received
from slabwright.job.shop_models import Allowance, Bed, Machine, Prices, Shims, ShopFile, Sled
from slabwright.job.top_models import Top
from slabwright.job.work_models import AsMade, Check, Clamp, Rereading
from slabwright.quantities import Units

__all__ = [
    "Allowance",
    "Bed",
    "Defect",
    "Epoxy",
    "FaceName",
    "Fill",
    "JobFile",
    "JobHead",
    "Lay",
    "Length",
    "Machine",
    "Mark",
    "Moisture",
    "NotNegative",
    "Number",
    "Piece",
    "PlannedSlab",
    "Point",
    "Positive",
    "Prices",
    "ReadingUnit",
    "Room",
    "Season",
    "Shims",
    "ShopFile",
    "Slab",
    "Sled",
    "Stated",
    "Top",
    "Whole",
    "Words",
]


class JobHead(Stated):
    """`[job]`: who and what."""

    title: str = Field(min_length=1, description="what the piece is called on every sheet")
    client: str = Field("", description="for whom")
    units: Units = Field("metric", description="metric or inch: how plain numbers are read and figures are shown")
    currency: str = Field(
        "EUR", min_length=3, max_length=3, pattern="^[A-Z]{3}$", description="three letters, ISO 4217"
    )
    paper: Literal["A4", "Letter"] | None = Field(
        None, description="A4 (default for metric) or Letter (default for inch)"
    )
    projection: Literal["first-angle", "third-angle"] | None = Field(
        None,
        description="how views lie beside each other: first-angle (default for metric) or third-angle (default for inch)",
    )
    date: Words = Field("", description="of this revision, as it is to be printed")
    promised: Day | None = Field(None, description="the day that the client was promised it, such as 2027-01-22")
    revision: Words = Field("1", description="printed on every sheet")

    @property
    def first_angle(self) -> bool:
        """Whether a view is drawn on the side away from where it is looked from."""
        if self.projection is not None:
            return self.projection == "first-angle"
        return self.units == "metric"


class Piece(Stated):
    """`[piece]`: the six answers: length, width, height, a picture of the base, finish (species stands in `[slab]`)."""

    length: Positive | None = Field(None, description="finished length of the top, along the grain")
    width: Positive | None = Field(None, description="finished width; leave out where both long edges stay live")
    height: Positive | None = Field(None, description="finished height above the floor")
    thickness: PositiveOrMax = Field(
        "max", description="finished thickness of the top, or max: the most the slab gives"
    )
    live_edges: Literal["none", "both"] = Field("both", description="which long edges keep their natural shape")
    base: Literal["U legs", "closed loops", "inverted U", "four legs", "trestles"] | None = Field(
        None, description="the picture of the base"
    )
    finish: str | None = Field(None, description="what the wood is finished with, in the maker's words")

    @field_validator("length", "width", "height")
    @classmethod
    def _of_a_table(cls, value: float | None, info: ValidationInfo) -> float | None:
        """A size that no table has was meant in another unit: which is asked."""
        units: Units = (info.context or {}).get("units", "metric")
        asked = None if value is None else meant_otherwise(value, *_TABLES[str(info.field_name)], units)
        if asked is not None:
            raise ValueError(f"no table has such a {info.field_name}: {asked}")
        return value


_TABLES = {"length": (200.0, 8000.0), "width": (100.0, 3000.0), "height": (150.0, 1500.0)}
"""Least and most of a table's sizes [mm]: common practice."""


class Season(Stated):
    """Air of one season."""

    temperature: Number = Field(ge=-20, le=60, description="degrees Celsius")
    humidity: Number = Field(ge=1, le=98, description="relative humidity, %")


class Room(Stated):
    """`[room]`: where the piece will stand. A kind, or the air of two seasons."""

    kind: Literal["heated house", "air-conditioned", "church"] | None = Field(None, description="the kind of room")
    dry: Season | None = Field(None, description="air of the driest season")
    damp: Season | None = Field(None, description="air of the dampest season")

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if self.kind and (self.dry or self.damp):
            raise ValueError("state kind, or dry and damp, not both")
        if bool(self.dry) != bool(self.damp):
            raise ValueError("dry and damp go together: state both, or kind instead")
        return self


class Moisture(Stated):
    """`[slab.moisture]`: meter readings of the slab, % moisture content."""

    shell: Moistures = Field(default_factory=list, description="pin or pad readings near the surface, %")
    core: Moistures = Field(default_factory=list, description="readings at half the thickness, %")
    days_in_shop: Number | None = Field(None, ge=0, description="days it has lain stickered in the shop")


class Lay(Stated):
    """`[slab.lay]`: how the slab lay when it was read, for its sag."""

    face_down: FaceName = Field(
        "B", description="the face that was underneath while face A (and B, from below) was read"
    )
    supports: list[Length] | None = Field(
        None, description="x of each bearer across the grain when it was read; leave out if not known"
    )
    full_support: bool = Field(False, description="true where it lay all over on a flat bed")

    @model_validator(mode="after")
    def _stands(self) -> Self:
        if self.full_support and self.supports:
            raise ValueError("state supports, or full_support = true, not both")
        if self.supports is not None and len(set(self.supports)) < 2:
            raise ValueError("supports needs at least two different x, such as [300, 2100]")
        return self


class Mark(Stated):
    """`[[slab.marks]]`: a mark that can be read on both faces (a through hole, a nail in an edge), for two set-ups."""

    a: Point = Field(description="x, y read with face A up")
    b: Point = Field(description="x, y read with face B up")


class Defect(Stated):
    """`[[slab.defects]]`: a knot, check, void, bark inclusion, soft pith or metal, as a circle or an outline, with a depth."""

    kind: Literal["knot", "check", "void", "bark", "pith", "metal"] = Field(
        description="what it is; pith: soft wood about it"
    )
    face: Literal["A", "B", "both"] = Field("A", description="the face on which it is seen")
    at: Point | None = Field(None, description="centre of a round defect")
    diameter: Positive | None = Field(None, description="of a round defect")
    outline: list[Point] | None = Field(
        None, description="corners of any other shape (two points and a width: a line)", min_length=2
    )
    width: Positive | None = Field(None, description="of a check given as a line")
    depth: PositiveOrThrough | None = Field(None, description="from its face; through; or leave out if not known")
    note: str = Field("", description="anything to remember")

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        if self.outline is not None and (self.at or self.diameter is not None):
            raise ValueError("state at and diameter, or outline, not both")
        if self.outline is None and (self.at is None or self.diameter is None):
            raise ValueError("needs at and diameter (round), or outline (any other shape)")
        if self.outline is not None and len(self.outline) == 2 and self.width is None:
            raise ValueError("an outline of two points is a line: state its width too")
        if self.width is not None and (self.outline is None or len(self.outline) != 2):
            raise ValueError("width goes with an outline of two points only")
        return self


class PlannedSlab(Stated):
    """`[slab.planned]`: a slab that is not bought or read yet."""

    length: Positive = Field(description="rough length")
    width: Positive = Field(description="rough width")
    thickness: Positive = Field(description="rough thickness as sold: 8/4, 2 1/4 in, 54")


class Fill(Stated):
    """`[fill]`: whether dips may be filled, and at what price; without a price nothing is filled."""

    price_per_litre: Number | None = Field(
        None, ge=0, description="of fill in place: epoxy, waste and the time that goes with volume"
    )
    price_per_visible_area: Number | None = Field(
        None, ge=0, description="per square metre of fill that is seen on the show face"
    )
    least_depth: NotNegative = Field(3.0, description="thin edges chip; shallower fill is undercut to this depth")
    client_agrees: bool | None = Field(None, description="true once the client has signed; leave out while open")
    underside_price_per_litre: Number | None = Field(
        None, ge=0, description="what a litre of skip left on the underside is worth; leave out: no skips"
    )
    choose: Whole | None = Field(None, ge=0, description="which point of thickness against fill is taken; 0: no fill")
    way: Literal["epoxy", "let in wood"] = Field(
        "epoxy", description="what its dips are filled with; let-in wood is glued and waits for no pour"
    )


class Slab(Stated):
    """`[slab]`: the slab and its readings."""

    species: str = Field(description="as the reference table names it: 'ash, white'")
    show_face: Literal["A", "B", "either"] = Field(
        "A", description="the face that will be seen; either: the better one"
    )
    survey: str | None = Field(
        None, description="readings of both faces in one frame: CSV (face,x,y,z), or a scan (PLY, STL, OBJ)"
    )
    survey_a: str | None = Field(None, description="readings of face A, first set-up (x,y,z or a wide grid)")
    survey_b: str | None = Field(
        None, description="readings of face B, second set-up, after turning the slab over about its length"
    )
    survey_units: ReadingUnit | None = Field(
        None, description="of every survey file; the job's own units, mm or in, if left out"
    )
    callipers: str | None = Field(None, description="CSV x,y,thickness: ties two set-ups; x, y as in face A's frame")
    marks: list[Mark] = Field(default_factory=list, description="marks that can be read on both faces")
    outline: str | None = Field(
        None, description="outline of both faces: CSV x,y, or a closed polyline of a DXF or SVG"
    )
    outline_a: str | None = Field(None, description="outline of face A alone")
    outline_b: str | None = Field(None, description="outline of face B alone, in face A's frame")
    outline_units: ReadingUnit | None = Field(None, description="of every outline file; as survey_units if left out")
    edge_margin: NotNegative = Field(
        10.0, description="left out of the flat along a live edge, for bark, wane and chips"
    )
    end_trim: NotNegative = Field(25.0, description="cut off each end, for checks")
    cut_from: Length | None = Field(None, description="use the slab from this x")
    cut_to: Length | None = Field(None, description="use the slab up to this x")
    moisture: Moisture | None = Field(None, description="meter readings")
    lay: Lay | None = Field(None, description="how the slab lay when it was read")
    defects: list[Defect] = Field(default_factory=list, description="knots, checks, voids, bark and metal")
    planned: PlannedSlab | None = Field(None, description="a slab that is not bought or read yet")
    figured: bool = Field(False, description="curly, quilted or interlocked grain: the last pass is shallower")
    procedure: Literal["one go", "rough, rest, skim"] = Field(
        "rough, rest, skim", description="cut both faces in one go, or rough both, let the slab rest, and skim both"
    )
    reading_error: NotNegative = Field(0.1, description="standard error of one reading of the gauge")
    weighed: Mass | None = Field(None, description="of the rough slab on scales, as it was read; it rules every weight")

    @model_validator(mode="after")
    def _one_survey(self) -> Self:
        if self.survey and (self.survey_a or self.survey_b):
            raise ValueError("state survey (both faces in one frame), or survey_a and survey_b (two set-ups), not both")
        if bool(self.survey_a) != bool(self.survey_b):
            raise ValueError("survey_a and survey_b go together: one face alone tells no thickness")
        if self.outline and (self.outline_a or self.outline_b):
            raise ValueError("state outline (both faces), or outline_a and outline_b, not both")
        if self.cut_from is not None and self.cut_to is not None and self.cut_from >= self.cut_to:
            raise ValueError("cut_from must be less than cut_to")
        return self


class JobFile(Stated):
    """The job file: what the maker states about one piece, as far as it is known."""

    job: JobHead = Field(description="who and what")
    piece: Piece = Field(Piece(), description="what is to be made")
    brief: Brief | None = Field(None, description="who sits at it, on what, and where it stands")
    room: Room | None = Field(None, description="where it will stand")
    slab: Slab | None = Field(None, description="the slab and its readings")
    fill: Fill = Field(Fill(), description="whether dips may be filled, and at what price")
    clamps: list[Clamp] = Field(default_factory=list, description="clamps, stops and wedges on the bed")
    checks: list[Check] = Field(default_factory=list, description="what was found after a face was cut")
    rereadings: list[Rereading] = Field(default_factory=list, description="the slab read again after a rest")
    as_made: AsMade | None = Field(None, description="what came out")
    mends: list[Mend] = Field(default_factory=list, description="how each defect that stays in the top is mended")
    base: Base | None = Field(None, description="the welded steel base")
    top: Top | None = Field(None, description="what is cut into the finished top")
    delivery: Delivery | None = Field(None, description="the way in, step by step")
    finish: Finish | None = Field(None, description="what the piece is finished with, and when")
    hands: Hands | None = Field(None, description="who and what lifts in this job, where it is not as the shop states")
    cables: list[Cable] = Field(
        default_factory=list,
        max_length=40,
        description="cables of listed assemblies, from their outlets to their plugs",
    )
    quote: Quote | None = Field(None, description="what this job's quote says otherwise than the shop's")
    received: list[Received] = Field(default_factory=list, max_length=500, description="what of the orders has come")

    operations: list[OperationChange] = Field(
        default_factory=list, max_length=200, description="the maker's own operations, and changes to the plan's"
    )
    log: list[LogEntry] = Field(default_factory=list, max_length=5000, description="what happened, in any order")

    @model_validator(mode="after")
    def _mend_what_is_there(self) -> Self:
        there = len(self.slab.defects) if self.slab is not None else 0
        told = [mend.defect for mend in self.mends]
        for at, number in enumerate(told):
            if number > there:
                raise MisplacedError(
                    ("mends", at, "defect"), f"[[mends]] defect = {number}, but [[slab.defects]] has {there}"
                )
            if number in told[:at]:
                raise MisplacedError(
                    ("mends", at, "defect"), f"[[mends]] states defect = {number} twice; one of them must go"
                )
        return self

    @model_validator(mode="after")
    def _reread_what_was_read(self) -> Self:
        if self.rereadings and self.slab is None:
            raise ValueError("[[rereadings]] want a [slab]: its species at least")
        return self

    @model_validator(mode="after")
    def _cables_differ(self) -> Self:
        names = [cable.name for cable in self.cables]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise ValueError(f"two cables are called {twice!r}; give each a name of its own")
        return self
