"""`[epoxy]` and `[thin_epoxy]`: what their data sheets say."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from slabwright.job.coating_fields import in_celsius
from slabwright.job.fields import NotNegative, Number, Positive, Stated

RATIOS_AGREE = 0.05
"""Share by which a ratio by volume, turned into masses, may differ from the ratio by mass: sheets round both."""


class Epoxy(Stated):
    """`[epoxy]`: the casting epoxy, from its data sheet."""

    name: str = Field("casting epoxy", description="as it is called on the sheets")
    resin_parts: Number = Field(100.0, gt=0, description="by mass")
    hardener_parts: Number = Field(50.0, gt=0, description="by mass")
    mix_by: Literal["mass", "volume"] = Field(
        "mass", description="which ratio of the sheet is followed; volume wants both volumes and both densities"
    )
    resin_parts_volume: Number | None = Field(None, gt=0, description="by volume")
    hardener_parts_volume: Number | None = Field(None, gt=0, description="by volume")
    resin_density: Number | None = Field(None, gt=0, le=3, description="kg per litre")
    hardener_density: Number | None = Field(None, gt=0, le=3, description="kg per litre")
    density: Number = Field(1.1, gt=0, description="of the mix, kg per litre")
    greatest_pour: Positive = Field(20.0, description="depth of one pour")
    greatest_batch: Number | None = Field(
        None, gt=0, description="kg that may be mixed at once; left out: as can be poured"
    )
    working_minutes: Number = Field(30.0, gt=0, description="that a mix stays pourable (default: from memory)")
    mixing_minutes: Number = Field(5.0, ge=0, description="to weigh and stir one batch (default: common practice)")
    minutes_per_litre: Number = Field(8.0, gt=0, description="to pour and spread a litre (default: common practice)")
    hours_between_pours: Number = Field(12.0, ge=0, description="at least")
    hours_before_machining: Number = Field(72.0, ge=0, description="at least, after the last pour")
    sheet_temperature: Number = Field(
        20.0, ge=-10, le=60, description="degrees Celsius that the sheet's times hold for (default: common practice)"
    )
    shop_temperature: Number | None = Field(
        None,
        ge=-10,
        le=60,
        description="degrees Celsius while it cures; left out: the job's [finish] temperature, else the sheet's",
    )
    temperature_factor: Number | None = Field(
        None,
        ge=1,
        le=5,
        description="by which the sheet's times grow for 10 degrees colder; left out: not reckoned with",
    )
    coldest: Number | None = Field(None, ge=-30, le=60, description="degrees Celsius, least that the sheet allows")
    warmest: Number | None = Field(None, ge=-30, le=80, description="degrees Celsius, most that the sheet allows")
    waste: Number = Field(0.15, ge=0, lt=5, description="share mixed beyond what is filled")
    leak_loss: Number = Field(
        0.4,
        ge=0,
        lt=1,
        description="share of what is poured into through or open cracks and voids that runs off (default: common practice)",
    )
    overfill: NotNegative = Field(
        1.0, description="that a pour stands proud of the finished face (default: common practice)"
    )
    tint: str = Field("", max_length=60, description="colour paste, as it is called; left out: clear")
    tint_share: Number = Field(0.0, ge=0, lt=1, description="of the paste in resin and hardener together, by mass")
    tint_most: Number = Field(
        0.05, ge=0, lt=1, description="greatest share that the sheet allows by mass (default: from memory)"
    )

    @model_validator(mode="after")
    def _goes_together(self) -> Self:
        by_volume = (self.resin_parts_volume, self.hardener_parts_volume)
        densities = (self.resin_density, self.hardener_density)
        if (by_volume[0] is None) != (by_volume[1] is None):
            raise ValueError("resin_parts_volume and hardener_parts_volume go together: state both, as the sheet does")
        if (densities[0] is None) != (densities[1] is None):
            raise ValueError("resin_density and hardener_density go together: state both, as the sheet does")
        if self.mix_by == "volume" and (None in by_volume or None in densities):
            raise ValueError(
                'mix_by = "volume" wants resin_parts_volume, hardener_parts_volume, resin_density and hardener_density'
            )
        masses_stated = {"resin_parts", "hardener_parts"} & self.model_fields_set
        if masses_stated and None not in by_volume and None not in densities:
            ratio, turned = self.resin_parts / self.hardener_parts, self._by_volume()
            if abs(turned / ratio - 1.0) > RATIOS_AGREE:
                raise ValueError(
                    f"the ratios do not agree: by mass {ratio:.3g} of resin to 1 of hardener, by volume with the densities "
                    f"{turned:.3g} to 1; copy both from the sheet again"
                )
        if self.shop_temperature is not None:
            in_celsius(self.shop_temperature)
        if self.tint_share > self.tint_most:
            raise ValueError("tint_share can be at most tint_most, the greatest that the sheet allows")
        if self.coldest is not None and self.warmest is not None and self.coldest >= self.warmest:
            raise ValueError("coldest must be less than warmest")
        return self

    def _by_volume(self) -> float:
        """Mass of resin to one of hardener, from the ratio by volume."""
        return ((self.resin_parts_volume or 0.0) * (self.resin_density or 0.0)) / (
            (self.hardener_parts_volume or 1.0) * (self.hardener_density or 1.0)
        )

    @property
    def resin_to_hardener(self) -> float:
        """Mass of resin to one of hardener, by the ratio that is followed."""
        return self._by_volume() if self.mix_by == "volume" else self.resin_parts / self.hardener_parts

    @property
    def resin_share(self) -> float:
        """Share of resin in resin and hardener together, by mass, by the ratio that is followed."""
        return self.resin_to_hardener / (1.0 + self.resin_to_hardener)

    def in_air_of(self, temperature: float | None) -> Self:
        """The sheet with the job's air where it states none of its own."""
        if self.shop_temperature is not None or temperature is None:
            return self
        return self.model_copy(update={"shop_temperature": temperature})

    @property
    def slower(self) -> float:
        """What the sheet's times are multiplied with at the shop's temperature."""
        if self.shop_temperature is None or self.temperature_factor is None:
            return 1.0
        return float(self.temperature_factor ** ((self.sheet_temperature - self.shop_temperature) / 10.0))


class ThinEpoxy(Epoxy):
    """`[thin_epoxy]`: the thin penetrating epoxy, from its data sheet."""

    name: str = Field("thin epoxy", description="as it is called on the sheets")
    greatest_pour: Positive = Field(3.0, description="depth of one coat standing on the wood (default: from memory)")
    working_minutes: Number = Field(20.0, gt=0, description="that a mix stays thin (default: from memory)")
    minutes_per_litre: Number = Field(40.0, gt=0, description="to brush on a litre (default: common practice)")
    hours_between_pours: Number = Field(4.0, ge=0, description="between coats, and before casting epoxy, at least")
    hours_before_machining: Number = Field(48.0, ge=0, description="at least, after the last coat")
    overfill: NotNegative = Field(0.0, description="that it stands proud of the finished face")
