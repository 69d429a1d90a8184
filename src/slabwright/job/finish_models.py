"""`[[coatings]]` of the shop file and `[finish]` of the job: what is put on, as its data sheet says, and when.

Times of a data sheet are hours, pot life and touch dry minutes; other units are those of `coating_fields`.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from slabwright.job.coating_fields import (
    Air,
    CanSize,
    Celsius,
    Clock,
    Coverage,
    Film,
    Hours,
    Humidity,
    Moment,
    Parts,
)
from slabwright.job.fields import Number, Stated, Whole


class CoatWindow(Stated):
    """`least` and `greatest` hours from the end of one coat to the next."""

    least: Hours = Field(description="hours, at least")
    greatest: Hours | None = Field(None, description="hours, at most; left out: none")

    @model_validator(mode="after")
    def _ends_after_it_begins(self) -> Self:
        if self.greatest is not None and self.greatest <= self.least:
            raise ValueError(
                f"the window ends ({self.greatest:g} h) before it begins ({self.least:g} h): greatest is more than least;"
                " leave greatest out where the sheet has none"
            )
        return self


class OilCoverage(Stated):
    """`[coatings.oil]`: area that a litre covers, by coat; oils soak in and leave no film to count with."""

    first: Coverage = Field(description="the first coat, along the grain; m2/l, inch files sq ft/gal")
    second: Coverage = Field(description="the second coat and those after it")
    end_grain: Coverage = Field(description="end grain, each coat")


class Can(Stated):
    """`[[coatings.cans]]`: a size that it is sold in; of two components, both together."""

    size: CanSize = Field(description="litres, inch files gallons; or '750 ml', '1 qt'")
    price: Number | None = Field(None, ge=0, description="of one, in the job's currency")


class CoatingPoint(Stated):
    """`[[coatings.more.at]]`: what the sheet says at one temperature."""

    temperature: Celsius = Field(description="degrees Celsius")
    without_sanding: CoatWindow | None = Field(None, description="to the next coat, without sanding, hours")
    after_scuffing: CoatWindow | None = Field(None, description="to the next coat, after scuffing, hours")
    time_to_sand: Hours | None = Field(None, description="hours until it can be sanded")
    pot_life: Number | None = Field(None, gt=0, le=100_000, description="minutes")
    touch_dry: Number | None = Field(None, gt=0, le=100_000, description="minutes")
    cure: Hours | None = Field(None, description="hours until it may be used")


class CoatingMore(Stated):
    """`[coatings.more]`: the rest of the data sheet."""

    solids: Number | None = Field(None, gt=0, le=100, description="volume solids of the mix, %")
    film: Film | None = Field(None, description="dry film of one coat: micrometres, inch files mils")
    thinner: Number = Field(0.0, ge=0, le=1, description="thinner, as a share of the volume of the mix")
    transfer_loss: Number | None = Field(
        None, ge=0, lt=1, description="share that does not end up on the piece; left out: by the way it is put on"
    )
    induction: Number = Field(0.0, ge=0, le=1000, description="minutes between mixing and use")
    touch_dry: Number | None = Field(None, gt=0, le=100_000, description="minutes")
    time_to_sand: Hours | None = Field(None, description="hours until it can be sanded")
    coldest: Celsius | None = Field(None, description="degrees Celsius, least of air and piece")
    warmest: Celsius | None = Field(None, description="degrees Celsius, greatest of air and piece")
    driest: Humidity | None = Field(None, description="relative humidity, least, %")
    dampest: Humidity | None = Field(None, description="relative humidity, greatest, %")
    stated_at: Celsius = Field(20.0, description="degrees Celsius that the sheet's times hold for")
    temperature_factor: Number | None = Field(
        None, ge=1, le=5, description="by which times shorten for 10 degrees more; left out: halved, the usual rule"
    )
    at: list[CoatingPoint] = Field(
        default_factory=list, max_length=12, description="the sheet's own times at other temperatures"
    )
    density: Number | None = Field(None, gt=0, le=5, description="of the mix, kg per litre")
    density_a: Number | None = Field(None, gt=0, le=5, description="of component A, kg per litre")
    density_b: Number | None = Field(None, gt=0, le=5, description="of component B, kg per litre")
    square_metres_per_hour: Number | None = Field(
        None, gt=0, le=1000, description="that one person coats; left out: by the way it is put on"
    )

    @model_validator(mode="after")
    def _limits_in_order(self) -> Self:
        for least, greatest in (("coldest", "warmest"), ("driest", "dampest")):
            low, high = getattr(self, least), getattr(self, greatest)
            if low is not None and high is not None and low >= high:
                raise ValueError(f"{least} must be less than {greatest}")
        known = [point.temperature for point in self.at]
        if len(set(known)) < len(known):
            raise ValueError("two points are at the same temperature; state each once")
        if self.stated_at in known:
            raise ValueError(
                f"the point at {self.stated_at:g} degrees is what the sheet's times hold for already (stated_at); leave it out"
            )
        return self


class Coating(Stated):
    """`[[coatings]]`: a coating as its data sheet says, once for every job."""

    name: str = Field(min_length=1, max_length=60, description="as jobs call it; no two alike")
    kind: Literal["paint", "oil"] = Field("paint", description="paint: leaves a film; oil: soaks in")
    put_on: Literal["spray", "brush", "wipe"] = Field("spray", description="how it is put on")
    isocyanate: bool = Field(
        False, description="true for two-part urethanes: supplied air, nobody else in the building"
    )
    epoxy: bool = Field(False, description="true for epoxies: skin sensitises")
    mix: Parts | None = Field(
        None, description="parts A and B: [4, 1], '4:1', or ['80 %', '20 %']; left out: it comes ready to use"
    )
    mix_by: Literal["volume", "mass"] = Field("volume", description="what the parts are measured by")
    pot_life: Number | None = Field(
        None, gt=0, le=100_000, description="minutes after mixing that it can be used; left out: it keeps"
    )
    coverage: Coverage | None = Field(
        None, description="of a paint, without losses: m2/l, inch files sq ft/gal; left out: from solids and film"
    )
    oil: OilCoverage | None = Field(None, description="of an oil: coverage by coat")
    without_sanding: CoatWindow = Field(description="hours to the next coat, without sanding")
    after_scuffing: CoatWindow | None = Field(
        None, description="hours to the next coat, after scuffing; left out: least of the other, no greatest"
    )
    cure: Hours = Field(description="hours until the piece may be used")
    coats: Whole = Field(1, ge=1, le=12, description="as the sheet says; a job may state more")
    cans: list[Can] = Field(default_factory=list, max_length=8, description="sizes that it is sold in")
    more: CoatingMore = Field(CoatingMore(), description="the rest of the data sheet")

    @model_validator(mode="after")
    def _covers(self) -> Self:
        if self.kind == "oil":
            if self.oil is None:
                raise ValueError(
                    "an oil needs [coatings.oil]: first, second and end_grain, the area that a litre covers"
                )
            if self.coverage is not None:
                raise ValueError("coverage is a paint's; an oil's stands in [coatings.oil]")
        elif self.oil is not None:
            raise ValueError('[coatings.oil] goes with kind = "oil" only')
        elif self.coverage is None and (self.more.solids is None or self.more.film is None):
            raise ValueError("a paint needs coverage, or solids and film in [coatings.more]")
        return self

    @model_validator(mode="after")
    def _mixes(self) -> Self:
        if self.two_parts and self.pot_life is None:
            raise ValueError("what is mixed of two parts has a pot life: state pot_life, in minutes")
        more = self.more
        if (
            self.mix_by == "mass"
            and self.two_parts
            and more.density is None
            and not (more.density_a and more.density_b)
        ):
            raise ValueError("parts by mass need [coatings.more] density of the mix, or density_a and density_b")
        if more.density is None or more.density_a is None or more.density_b is None or not self.two_parts:
            return self
        low, high = sorted((more.density_a, more.density_b))
        if not low - 1e-9 <= more.density <= high + 1e-9:
            raise ValueError("density of the mix must lie between density_a and density_b")
        return self

    @model_validator(mode="after")
    def _points_go_together(self) -> Self:
        for name in ("without_sanding", "after_scuffing"):
            own = getattr(self, name)
            for point in self.more.at:
                there = getattr(point, name)
                if there is None:
                    continue
                if own is None:
                    raise ValueError(
                        f"the point at {point.temperature:g} degrees states {name}; state the coating's own too"
                    )
                if (own.greatest is None) != (there.greatest is None):
                    raise ValueError(
                        f"{name} has a greatest at some temperatures and none at others: state it at {point.temperature:g}"
                        f" and at {self.more.stated_at:g} degrees, or at neither"
                    )
        return self

    @property
    def two_parts(self) -> bool:
        """Whether it is mixed of two components."""
        return self.mix is not None and len(self.mix) == 2

    @model_validator(mode="after")
    def _scuffing_waits(self) -> Self:
        if self.more.time_to_sand is not None and self.more.time_to_sand > self.cure:
            raise ValueError("time_to_sand can be at most cure")
        return self


def _names_differ(coatings: list[Coating]) -> list[Coating]:
    names = [" ".join(coating.name.lower().split()) for coating in coatings]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise ValueError(f"two coatings are called {twice!r}; give each a name of its own")
    return coatings


Coatings = Annotated[list[Coating], AfterValidator(_names_differ)]


class FinishCoat(Stated):
    """`[[finish.wood]]` and `[[finish.steel]]`: one coating of a system, in the order in which they go on."""

    coating: str = Field(min_length=1, max_length=60, description="name of a coating of the shop file")
    coats: Whole | None = Field(None, ge=1, le=12, description="left out: as its sheet says")
    then: Literal["coat", "scuff", "sand"] = Field(
        "coat", description="what is done to each of its coats before the next: nothing, scuffing, or sanding flat"
    )


Weekday = Literal["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]


class Finish(Stated):
    """`[finish]`: what the piece is finished with, and when."""

    wood: list[FinishCoat] = Field(
        default_factory=list, max_length=8, description="on the top; left out: what [piece] finish names"
    )
    steel: list[FinishCoat] = Field(default_factory=list, max_length=8, description="on the base")
    start: Moment | None = Field(None, description="when the first coat goes on the wood: '2026-12-01T09:00'")
    steel_start: Moment | None = Field(None, description="when the first coat goes on the steel; left out: as start")
    temperature: Air | None = Field(None, description="of the shop's air, degrees Celsius; left out: 20, not checked")
    humidity: Humidity | None = Field(None, description="of the shop's air, %; left out: not checked")
    steel_temperature: Air | None = Field(None, description="of the steel; left out: as the air")
    opens: Clock | None = Field(None, description="when somebody is in the shop; left out: '08:00'")
    closes: Clock | None = Field(None, description="until then; left out: '20:00'")
    closed: list[Weekday] = Field(default_factory=list, max_length=6, description="days on which nobody is in the shop")
    wood_grit: Whole | None = Field(
        None, ge=40, le=1000, description="finest grit on the faces; left out: as usual for the finish"
    )
    steel_grit: Whole = Field(120, ge=24, le=1000, description="finest grit on the steel, before the primer")

    @property
    def hours(self) -> tuple[float, float]:
        """When somebody is in the shop [hours of the day]; defaults are common practice."""
        return (8.0 if self.opens is None else self.opens, 20.0 if self.closes is None else self.closes)

    @model_validator(mode="after")
    def _open_some_time(self) -> Self:
        opens, closes = self.hours
        if closes - opens < 1.0:
            raise ValueError("closes must be at least an hour after opens, on the same day")
        return self
