"""Results of coating: each coat of a system, its amounts, its batches and when the next one goes on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure, working
from slabwright.finish.batches import Batches, CanOrder
from slabwright.finish.coating_film import PartAmount
from slabwright.finish.windows import Window
from slabwright.job.finish_models import Coating

_SHEET = ("shop:coatings",)
_SURE = "as sure as the sheet and the loss; on a first piece have a quarter more at hand (from memory)"


@dataclass(frozen=True)
class CoatPlan:
    """One coat."""

    number: int = figure("1", "of the system's coats, in order")
    coating: str = figure("", "what goes on", rests_on=("job:finish", "shop:coatings"))
    put_on: str = figure("", "how")
    area: float = figure("mm2", "that it covers", rests_on=("finish.areas",))
    film: float | None = figure(
        "um", "dry film; empty where it leaves none or none is stated", rests_on=_SHEET, change="[coatings.more] film"
    )
    wet_film: float | None = figure(
        "um",
        "wet film that dries to it; what a comb gauge reads",
        how="dry film x (1 + thinner) / volume solids",
        rests_on=_SHEET,
    )
    coverage: float = figure(
        "m2/l",
        "area that a litre covers without losses",
        how="10 x volume solids in % / dry film in micrometres; or as the sheet says; of oils the area over the litres",
        rests_on=_SHEET,
        change="[coatings] coverage, or solids and film",
    )
    loss: float = figure(
        "1",
        "share that does not end up on the piece",
        rests_on=_SHEET,
        source="where the sheet states none: reference/coatings.toml, common practice",
        change="[coatings.more] transfer_loss, measured on a piece of your own",
    )
    amount: float = figure(
        "l",
        "of the mix, before thinner",
        how="area / (coverage x (1 - loss)); of an oil for first, later coats and end grain each at its own coverage",
        rests_on=("finish.areas", "shop:coatings"),
        sure=_SURE,
    )
    parts: tuple[PartAmount, ...] = figure("", "what the whole coat takes of each component")
    minutes: float = figure(
        "min",
        "that putting it on takes",
        how="area / area coated in an hour",
        rests_on=("finish.areas", "shop:coatings"),
        source="where the sheet states no rate: reference/coatings.toml, common practice",
    )
    pot_life: float | None = figure(
        "min",
        "after mixing, at the shop's temperature; empty: it keeps",
        how="the sheet's own at that temperature; between its temperatures even in the logarithm; beyond, halved for 10 degrees"
        " more",
        rests_on=("shop:coatings", "job:finish.temperature"),
        sure="the sheet's is for a small cup: a large one goes off sooner",
    )
    batches: Batches = figure("", "how it is mixed")
    starts: str | None = figure(
        "", "when it is planned to go on; empty: no start is stated", rests_on=("job:finish.start",)
    )
    ends: str | None = figure("", "when it is on")
    touch_dry: float | None = figure("min", "until it is dry to the touch", rests_on=_SHEET)
    next: Window | None = figure("", "when the next coat goes on; empty after the last")
    sheet: Coating = working()


@dataclass(frozen=True)
class SystemPlan:
    """A system of coats on the wood or on the steel."""

    on: Literal["wood", "steel"] = figure("", "what it is put on")
    coats: tuple[CoatPlan, ...] = figure("", "in the order in which they go on")
    film: float | None = figure(
        "um", "dry film of all coats; empty where one leaves none or states none", how="sum of the coats"
    )
    cans: tuple[CanOrder, ...] = figure("", "cans to buy; none where no sizes are stated")
    temperature: float = figure("degC", "of the shop, at which times are told", rests_on=("job:finish.temperature",))
    humidity: float | None = figure("%", "of the shop's air", rests_on=("job:finish.humidity",))
    dew_point: float | None = figure(
        "degC",
        "of the shop's air; empty: its humidity is not stated",
        how="Magnus formula",
        rests_on=("job:finish.temperature", "job:finish.humidity"),
        source="reference/coatings.toml, from memory",
    )
    cure: float = figure(
        "hour",
        "from the last coat until it may be used",
        how="the last coat's, at the shop's temperature",
        rests_on=_SHEET,
    )
    usable: str | None = figure("", "when it may be used; empty: no start is stated")
    invented: tuple[str, ...] = figure("", "coats whose figures are invented examples: state your data sheet's")
