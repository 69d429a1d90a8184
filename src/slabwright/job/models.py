"""What the maker states: the job file's and the shop file's models.

Lengths are millimetres once read; a plain number is in the file's own units (`units = "metric"`: mm, `"inch"`: inches).
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Annotated, Literal, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationInfo, WithJsonSchema, model_validator

from slabwright.quantities import Units, parse_length


def _length(value: object, info: ValidationInfo) -> float:
    units: Units = (info.context or {}).get("units", "metric")
    return parse_length(value, "in" if units == "inch" else "mm")


def _above(least: float, *, itself: bool, word: str = "") -> Callable[[object, ValidationInfo], float | str]:
    """A length of at least, or more than, `least`; or one word that may stand in its place."""

    def check(value: object, info: ValidationInfo) -> float | str:
        if word and value == word:
            return word
        length = _length(value, info)
        if length < least or (length == least and not itself):
            raise ValueError(
                f"must be {'at least' if itself else 'more than'} {least:g}" + f', or "{word}"' * bool(word)
            )
        return length

    return check


def _number(value: object) -> object:
    """A number is a number: neither true nor a text in quotes."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("must be a number, without quotes")
    if isinstance(value, int) and abs(value) > 10**15:
        raise ValueError("must be a number of a reasonable size")
    return value


def _words(value: object) -> object:
    """A date or a whole number that was typed without quotes is meant as it is written."""
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return str(value) if isinstance(value, int) and not isinstance(value, bool) and abs(value) < 10**15 else value


def _published(name: str) -> WithJsonSchema:
    """A kind of value that the published schema describes once, by its name."""
    return WithJsonSchema({"published": name})


Length = Annotated[float, BeforeValidator(_length), _published("Length")]
"""A length as people type it: `1200`, `1.2 m`, `7' 6 1/2"`, `2 1/4 in`, `8/4`; held in mm."""
Positive = Annotated[float, BeforeValidator(_above(0.0, itself=False)), _published("LengthAboveZero")]
NotNegative = Annotated[float, BeforeValidator(_above(0.0, itself=True)), _published("LengthFromZero")]
PositiveOrMax = Annotated[
    Literal["max"] | float, BeforeValidator(_above(0.0, itself=False, word="max")), _published("LengthOrMax")
]
PositiveOrThrough = Annotated[
    Literal["through"] | float,
    BeforeValidator(_above(0.0, itself=False, word="through")),
    _published("LengthOrThrough"),
]
Number = Annotated[float, BeforeValidator(_number)]
Whole = Annotated[int, BeforeValidator(_number)]
Words = Annotated[str, BeforeValidator(_words, json_schema_input_type=str | int)]
Moistures = list[Annotated[Number, Field(gt=0, lt=150)]]
Point = tuple[Length, Length]
FaceName = Literal["A", "B"]
ReadingUnit = Literal["mm", "cm", "m", "in", "ft"]


class Stated(BaseModel):
    """A table of the job or the shop file: unknown keys are errors, values do not change."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


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
    date: Words = Field("", description="of this revision, as it is to be printed")
    revision: Words = Field("1", description="printed on every sheet")


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
    """`[[slab.defects]]`: a knot, check, void, bark inclusion or metal, as a circle or an outline, with a depth."""

    kind: Literal["knot", "check", "void", "bark", "metal"] = Field(description="what it is")
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
        None, ge=0, description="of fill in place: resin, waste and the time that goes with volume"
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


class Clamp(Stated):
    """`[[clamps]]`: a clamp, stop or wedge on the bed; the cutter keeps clear of it."""

    name: str = Field("", description="as it is called on the sheets; left out: its kind and number")
    kind: Literal["clamp", "stop", "wedge"] = Field("clamp", description="what it is")
    at: Point = Field(description="x, y of its lower left corner, from the bed's near left corner")
    size: tuple[Positive, Positive] = Field(description="its size along and across the bed")
    height: Positive = Field(description="of its top above the bed")
    face: Literal["A", "B", "both"] = Field("both", description="the face that is up when it stands there")
    setting: Whole | None = Field(
        None, ge=1, le=2, description="of a slab longer than the travel: 1 or 2; left out: both"
    )


class Check(Stated):
    """`[[checks]]`: what was found while working, after a face was cut."""

    face: FaceName = Field(description="the face that was cut")
    after: Literal["rough", "skim"] = Field("skim", description="after which cut")
    kind: Literal["straightedge", "winding sticks", "thickness"] = Field(description="what was used")
    value: Length = Field(
        description="largest gap under the straightedge, wind over the length, or thickness at the place"
    )
    at: Point | None = Field(None, description="x, y of the place, in the slab's frame")
    date: Words = Field("", description="when it was checked")


class Rereading(Stated):
    """`[[rereadings]]`: the slab read again after a rest; the same job goes on from it."""

    survey: str = Field(description="readings, as [slab] survey")
    after: Literal["rough A", "rough B", "skim A"] = Field(description="the last cut before it was read again")
    date: Words = Field("", description="when it was read")


class AsMade(Stated):
    """`[as_made]`: what came out."""

    thickness: Positive | None = Field(None, description="of the finished board, least measured")
    length: Positive | None = Field(None, description="of the finished top")
    width: Positive | None = Field(None, description="of the finished top, at its widest")


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
    survey_units: ReadingUnit = Field("mm", description="of every survey file")
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
    room: Room | None = Field(None, description="where it will stand")
    slab: Slab | None = Field(None, description="the slab and its readings")
    fill: Fill = Field(Fill(), description="whether dips may be filled, and at what price")
    clamps: list[Clamp] = Field(default_factory=list, description="clamps, stops and wedges on the bed")
    checks: list[Check] = Field(default_factory=list, description="what was found after a face was cut")
    rereadings: list[Rereading] = Field(default_factory=list, description="the slab read again after a rest")
    as_made: AsMade | None = Field(None, description="what came out")

    @model_validator(mode="after")
    def _reread_what_was_read(self) -> Self:
        if self.rereadings and self.slab is None:
            raise ValueError("[[rereadings]] want a [slab]: its species at least")
        return self


class Machine(Stated):
    """`[machine]`: the gantry router or router sled, and its surfacing cutter."""

    name: str = Field("Gantry router", description="as it is called on the sheets")
    kind: Literal["gantry", "sled"] = Field(
        "gantry", description="gantry: programs are written; sled: rail heights and depth steps are told"
    )
    travel_x: Positive = Field(
        2600.0, description="of the cutter's middle along the bed, from the bed's near left corner"
    )
    travel_y: Positive = Field(
        1250.0, description="of the cutter's middle across the bed, from the bed's near left corner"
    )
    travel_z: Positive = Field(150.0, description="highest that the cutter's end is lifted above the bed")
    cutter_diameter: Positive = Field(50.0, description="of the surfacing cutter")
    corner_radius: NotNegative = Field(1.0, description="of its inserts")
    flutes: Whole = Field(3, ge=1, le=24, description="insert edges that cut in one turn")
    stepover: Positive = Field(35.0, description="between strips")
    greatest_depth: Positive = Field(3.0, description="that one pass may take")
    depth_most: Positive | None = Field(None, description="deepest bite that the cutter's maker allows")
    first_depth: Positive | None = Field(
        None, description="of the first pass on a face that was never cut; left out: half of greatest_depth"
    )
    last_depth: Positive = Field(0.8, description="of the last, thin pass")
    last_depth_figured: Positive = Field(0.4, description="of the last pass in figured wood")
    feed: Positive = Field(6000.0, description="per minute")
    feed_most: Positive | None = Field(None, description="per minute, the fastest that the machine feeds")
    plunge_feed: Positive = Field(1500.0, description="per minute, straight down")
    rapid: Positive = Field(10000.0, description="per minute, moves in the air")
    acceleration: Number = Field(400.0, gt=0, description="mm/s2, of each axis")
    safe_height: Positive = Field(15.0, description="above all wood and clamps, for moves in the air")
    spindle_speed: Number = Field(16000.0, gt=0, description="rpm")
    spindle_speed_most: Number | None = Field(None, gt=0, description="rpm, the spindle's fastest")
    spindle_power: Number | None = Field(None, gt=0, description="W; left out: power is not checked")
    cutter_speed_most: Number | None = Field(None, gt=0, description="rpm, the fastest that the cutter's maker allows")
    chip_load_low: Positive | None = Field(None, description="least feed a tooth, from the cutter's maker")
    chip_load_high: Positive | None = Field(None, description="greatest feed a tooth, from the cutter's maker")
    cutting_energy: Number | None = Field(
        None,
        gt=0,
        description="J to cut a cubic centimetre of this wood (the same as N/mm2); left out: power is not checked",
    )
    insert_life: Number | None = Field(
        None, gt=0, description="metres that an insert edge goes through wood, on its own circle, before it is turned"
    )
    holder_diameter: Positive | None = Field(None, description="of what carries the cutter, above it")
    stick_out: Positive | None = Field(None, description="from the cutter's end up to its holder")
    direction: Literal["along", "across", "quicker"] = Field(
        "quicker", description="of the strips to the grain; quicker: whichever takes less time"
    )
    program_units: Literal["mm", "in"] = Field("mm", description="that the programs are written in")
    block_height: NotNegative = Field(
        0.0, description="of the fixed block on the bed where z is zeroed; 0: z is zeroed on the bed itself"
    )
    down_force: Number = Field(60.0, ge=0, description="N, the most that the cutter pushes down or up at its edge")
    z_zero_error: NotNegative = Field(0.1, description="standard error of setting z zero")
    tram: Number = Field(0.02, ge=0, lt=10, description="degrees that the spindle may lean")

    @model_validator(mode="after")
    def _cuts_clean(self) -> Self:
        if self.stepover >= self.cutter_diameter:
            raise ValueError("stepover must be less than cutter_diameter, or ridges stay between the strips")
        if self.corner_radius * 2 >= self.cutter_diameter:
            raise ValueError("corner_radius must be less than half of cutter_diameter, or the cutter has no flat end")
        if self.last_depth > self.greatest_depth:
            raise ValueError("last_depth can be at most greatest_depth")
        if self.first_depth is not None and self.first_depth > self.greatest_depth:
            raise ValueError("first_depth can be at most greatest_depth")
        if (self.chip_load_low is None) != (self.chip_load_high is None):
            raise ValueError("chip_load_low and chip_load_high go together: state both, as the cutter's maker does")
        if (
            self.chip_load_low is not None
            and self.chip_load_high is not None
            and self.chip_load_low >= self.chip_load_high
        ):
            raise ValueError("chip_load_low must be less than chip_load_high")
        return self


class Sled(Stated):
    """`[sled]`: rails along both sides of the slab, for a router sled; used where `[machine] kind` is sled."""

    supports: list[Length] | None = Field(
        None,
        min_length=2,
        description="x on the bed of the supports that carry each rail; left out: five, evenly along the bed",
    )
    near_rail: Length = Field(0.0, description="y on the bed of the near rail's middle")
    far_rail: Length | None = Field(
        None, description="y on the bed of the far rail's middle; left out: the bed's width"
    )
    rail_height: NotNegative = Field(50.0, description="of a rail's top above the bed, with nothing packed under it")
    bit_reach_least: NotNegative = Field(5.0, description="least that the cutter's end stands below the rails' tops")
    bit_reach_most: Positive = Field(60.0, description="most that the cutter's end stands below the rails' tops")
    clearance: NotNegative = Field(3.0, description="kept between the highest wood and the sled")

    @model_validator(mode="after")
    def _stands(self) -> Self:
        if self.supports is not None and len(set(self.supports)) < 2:
            raise ValueError("supports needs at least two different x, such as [100, 1300, 2500]")
        if self.bit_reach_least >= self.bit_reach_most:
            raise ValueError("bit_reach_least must be less than bit_reach_most")
        if self.far_rail is not None and self.far_rail <= self.near_rail:
            raise ValueError("far_rail must be more than near_rail")
        return self


class Bed(Stated):
    """`[bed]`: what the slab lies on for its first cut."""

    length: Positive = Field(2600.0, description="of the bed, along the grain")
    width: Positive = Field(1250.0, description="of the bed, across the grain")
    pad_diameter: Positive = Field(60.0, description="of a support pad or shim stack")
    pads_along: Whole = Field(4, ge=2, le=12, description="rows of places where a stack may stand, along the grain")
    pads_across: Whole = Field(2, ge=2, le=6, description="places in a row")
    pads: list[Point] | None = Field(
        None, min_length=3, description="the places themselves, in the slab's frame, where they are fixed"
    )
    greatest_sag: Positive = Field(0.3, description="of the slab between supports")
    origin: Point | None = Field(
        None,
        description="x, y on the bed of the lower left corner of the box round the slab; left out: the slab lies in the middle",
    )


class Shims(Stated):
    """`[shims]`: what shims there are."""

    thicknesses: list[Positive] = Field(
        [0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0],
        min_length=1,
        description="thickness of each kind of shim",
    )
    most_pieces: Whole = Field(5, ge=1, le=12, description="in one stack")
    error: NotNegative = Field(0.1, description="standard error of one stack's height")


class Allowance(Stated):
    """`[allowance]`: what comes off after milling."""

    marks_and_sanding: NotNegative = Field(0.8, description="a face, for milling marks and sanding")
    rest: NotNegative = Field(2.0, description="left on each face after roughing, for the skim")
    rest_days: Number = Field(10.0, ge=0, description="that a roughed slab lies before the skim")
    movement: NotNegative = Field(1.0, description="that a slab may bow when it is opened (default: from memory)")


class Epoxy(Stated):
    """`[epoxy]`: the casting resin, from its data sheet."""

    name: str = Field("casting epoxy", description="as it is called on the sheets")
    resin_parts: Number = Field(100.0, gt=0, description="by mass")
    hardener_parts: Number = Field(50.0, gt=0, description="by mass")
    density: Number = Field(1.1, gt=0, description="of the mix, kg per litre")
    greatest_pour: Positive = Field(20.0, description="depth of one pour")
    hours_between_pours: Number = Field(12.0, ge=0, description="at least")
    hours_before_machining: Number = Field(72.0, ge=0, description="at least, after the last pour")
    waste: Number = Field(0.15, ge=0, lt=5, description="share mixed beyond what is filled")


class Prices(Stated):
    """`[prices]`: what things cost the shop, in the job's currency."""

    wood_per_cubic_metre: Number | None = Field(None, ge=0, description="of rough slab")
    hour: Number | None = Field(None, ge=0, description="of the maker's time")
    machine_hour: Number | None = Field(None, ge=0, description="of the machine's time")
    insert_per_piece: Number | None = Field(None, ge=0, description="a let-in piece of wood, in place")


class ShopFile(Stated):
    """The shop file: stated once, used by every job."""

    units: Units | None = Field(
        None,
        description="how plain numbers in this file are read: metric (if left out) or inch; inch jobs want it stated",
    )
    machine: Machine = Field(Machine(), description="the gantry router or router sled, and its cutter")
    bed: Bed = Field(Bed(), description="what the slab lies on for its first cut")
    sled: Sled = Field(Sled(), description="rails of a router sled")
    shims: Shims = Field(Shims(), description="what shims there are")
    allowance: Allowance = Field(Allowance(), description="what comes off after milling")
    epoxy: Epoxy = Field(Epoxy(), description="the casting resin, from its data sheet")
    prices: Prices = Field(Prices(), description="what things cost the shop")
