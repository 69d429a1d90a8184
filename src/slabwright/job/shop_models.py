"""What the maker states once for the shop: the shop file's models."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from slabwright.job.calendar_models import Calendar
from slabwright.job.epoxy_models import Epoxy, ThinEpoxy
from slabwright.job.fields import Length, NotNegative, Number, Point, Positive, Stated, Whole
from slabwright.job.finish_models import Coatings
from slabwright.job.hands_models import Hands
from slabwright.job.hours_models import History, Hours
from slabwright.job.money_models import Held, Money, Supplier
from slabwright.quantities import Units


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
    bit_diameter: Positive = Field(12.0, description="of the bit that cuts pockets, holes and channels")
    bit_speed: Number | None = Field(
        None, gt=0, le=60_000, description="turns per minute of that bit; left out: spindle_speed"
    )
    bit_feed: Positive | None = Field(
        None, description="per minute, of that bit; left out: feed, at most 3000 mm (common practice)"
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
    waste_board: NotNegative = Field(
        0.0, description="thickness of the board of waste wood under the top when holes go through it"
    )
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


INCH_SHIMS = ("1/64 in", "1/32 in", "1/16 in", "1/8 in", "1/4 in", "3/8 in")
"""Shims of a shop in inches that states none: common practice."""


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


class Router(Stated):
    """`[router]`: the hand-held router that follows a template, with its bit."""

    bit_diameter: Positive = Field(12.0, description="of the straight bit (default: from memory)")
    bearing: bool = Field(False, description="true for a bit with a bearing of its own diameter, above its flutes")
    bushing_diameter: Positive = Field(
        24.0, description="outside, of the guide bushing; not used with a bearing bit (default: from memory)"
    )
    bushing_reach: Positive = Field(
        8.0, description="that the guide bushing stands out below the base (default: from memory)"
    )
    flute_length: Positive | None = Field(
        None, description="of a bearing bit, from its end to the bearing; left out: not checked"
    )
    bit_reach: Positive | None = Field(
        None, description="most that the bit's end stands below the base; left out: not checked"
    )
    base_diameter: Positive = Field(150.0, description="of the router's base (default: from memory)")
    greatest_depth: Positive = Field(6.0, description="that one step may take: half the bit, common practice")
    last_depth: Positive = Field(1.0, description="of the last, thin step: common practice")
    template_thickness: Positive = Field(12.0, description="of the sheet that templates are made of")

    @model_validator(mode="after")
    def _goes_together(self) -> Self:
        if self.bearing and "bushing_diameter" in self.model_fields_set:
            raise ValueError("state bearing = true or bushing_diameter, not both: one of them follows the template")
        if not self.bearing and self.bushing_diameter <= self.bit_diameter:
            raise ValueError("bushing_diameter must be more than bit_diameter: the bit goes through the bushing")
        if self.guide_diameter >= self.base_diameter:
            raise ValueError("base_diameter must be more than the guide bushing and the bit")
        if self.last_depth > self.greatest_depth:
            raise ValueError("last_depth can be at most greatest_depth")
        return self

    @property
    def guide_diameter(self) -> float:
        """Of what follows the template: the bushing, or the bit's own bearing [mm]."""
        return self.bit_diameter if self.bearing else self.bushing_diameter


class Prices(Stated):
    """`[prices]`: what things cost the shop, in the job's currency."""

    wood_per_cubic_metre: Number | None = Field(None, ge=0, description="of rough slab")
    hour: Number | None = Field(None, ge=0, description="of the maker's time")
    machine_hour: Number | None = Field(None, ge=0, description="of the machine's time")
    insert_per_piece: Number | None = Field(None, ge=0, description="a let-in piece of wood, in place")


class MetalSaw(Stated):
    """`[saw]`: the saw that cuts the steel. Defaults are common practice."""

    kerf: NotNegative = Field(2.5, description="that its blade takes")
    greatest_mitre: Number = Field(45.0, ge=0, le=75, description="degrees from square")
    reach: Positive = Field(150.0, description="widest that it cuts square in one pass")
    out_of_square: Number = Field(0.25, ge=0, le=5, description="degrees that its cut may be off")


class SteelOffcut(Stated):
    """`[[steel.offcuts]]`: a length on the rack."""

    section: str = Field(min_length=1, max_length=60, description="such as 60x60x4")
    length: Positive = Field(description="of it")
    count: Whole = Field(1, ge=1, le=1000, description="how many")


class Steel(Stated):
    """`[steel]`: how steel is bought."""

    lengths: list[Positive] = Field(
        [],
        max_length=20,
        description="lengths that the yard sells; left out: as steel is usually sold",
    )
    van: Positive | None = Field(None, description="longest length that the van takes")
    price_per_cut: Number = Field(0.0, ge=0, description="that the yard asks for a cut")
    keep: Positive = Field(300.0, description="shortest offcut that is kept")
    offcuts: list[SteelOffcut] = Field([], max_length=500, description="on the rack")


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
    router: Router = Field(Router(), description="the hand-held router that follows a template")
    epoxy: Epoxy = Field(Epoxy(), description="the casting epoxy, from its data sheet")
    thin_epoxy: ThinEpoxy = Field(ThinEpoxy(), description="the thin penetrating epoxy, from its data sheet")
    prices: Prices = Field(Prices(), description="what things cost the shop")
    saw: MetalSaw = Field(MetalSaw(), description="the saw that cuts the steel")
    steel: Steel = Field(Steel(), description="how steel is bought")
    calendar: Calendar = Field(Calendar(), description="when the shop works")
    hours: Hours = Field(Hours(), description="how the shop's hours are reckoned")
    history: History = Field(History(), description="hours that were logged in earlier jobs")
    hands: Hands = Field(Hands(), description="who and what lifts")
    coatings: Coatings = Field(
        default_factory=list, max_length=60, description="paints and oils, from their data sheets"
    )
    money: Money = Field(Money(), description="how the shop makes its price")
    suppliers: list[Supplier] = Field([], max_length=100, description="who sells what, and how long it takes")
    stock: list[Held] = Field([], max_length=1000, description="what is on the shelf")

    @model_validator(mode="after")
    def _suppliers_differ(self) -> Self:
        names = [" ".join(supplier.name.lower().split()) for supplier in self.suppliers]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise ValueError(f"two suppliers are called {twice!r}; give each a name of its own")
        return self

    @model_validator(mode="before")
    @classmethod
    def _inch_shims(cls, stated: object) -> object:
        """A shop in inches that does not state its shims is taken to have them in fractions of an inch."""
        if isinstance(stated, dict) and stated.get("units") == "inch":
            shims = stated.get("shims", {})
            if isinstance(shims, dict) and "thicknesses" not in shims:
                return {**stated, "shims": {**shims, "thicknesses": list(INCH_SHIMS)}}
        return stated
